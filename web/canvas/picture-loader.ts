import type { Size } from './view.js';

/** A picture that comes in several widths. */
export interface PictureSource extends Size {
  /** Changes when the picture does. */
  readonly key: string;
  /** Widths that the server makes, ascending; the last one that is at least the picture's own is the finest. */
  readonly widthsPx: readonly number[];
  readonly url: (widthPx: number) => string;
}

/** Fetches a picture as fine as the screen needs it, decoded before it is shown, coarse first. */
export class PictureLoader {
  bitmap: ImageBitmap | null = null;
  failed = false;
  private source: PictureSource | null = null;
  private shownWidthPx = 0;
  private askedWidthPx = 0;
  private stop = new AbortController();

  constructor(private readonly onChange: () => void) {}

  /** @param neededWidthPx device pixels over which the whole picture spreads on the screen now */
  show(source: PictureSource | null, neededWidthPx: number): void {
    if (source?.key !== this.source?.key) this.forget();
    this.source = source;
    if (!source) return;
    const useful = source.widthsPx.filter((_, i) => i === 0 || source.widthsPx[i - 1] < source.width);
    const finest = useful.find((w) => w >= neededWidthPx) ?? useful[useful.length - 1];
    // The coarse picture comes first and at once; the fine one takes its place when it is there.
    const wanted = this.bitmap ? finest : useful[0];
    if (wanted <= this.askedWidthPx) return;
    this.askedWidthPx = wanted;
    void this.load(source, wanted);
  }

  forget(): void {
    this.stop.abort();
    this.stop = new AbortController();
    this.bitmap?.close();
    this.bitmap = null;
    this.failed = false;
    this.shownWidthPx = 0;
    this.askedWidthPx = 0;
    this.source = null;
  }

  private async load(source: PictureSource, widthPx: number): Promise<void> {
    const { signal } = this.stop;
    try {
      const response = await fetch(source.url(widthPx), { signal });
      if (!response.ok) throw new Error(`the picture's answer was ${response.status}`);
      const bitmap = await createImageBitmap(await response.blob());
      if (signal.aborted || widthPx < this.shownWidthPx) return bitmap.close();
      this.bitmap?.close();
      this.bitmap = bitmap;
      this.shownWidthPx = widthPx;
      this.failed = false;
    } catch {
      if (signal.aborted) return;
      // A finer picture may be asked for again; the coarse one stays.
      this.askedWidthPx = this.shownWidthPx;
      this.failed = this.bitmap === null;
    }
    this.onChange();
  }
}
