import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A printed page as a grey picture, one byte a pixel, rows from the top. */
export interface PrintedPage {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly mmPerPx: number;
  readonly grey: Uint8Array;
}

/** Whether the poppler programs are there; tests that print pages skip without them. */
export const canPrint = spawnSync('pdftoppm', ['-v']).status === 0 && spawnSync('pdftotext', ['-v']).status === 0;

/** Draws one page (1 is the first) with pdftoppm, an independent reader of PDF. */
export function printPage(pdf: Uint8Array, page: number, dotsPerInch: number): PrintedPage {
  return inFolder((folder) => {
    const file = join(folder, 'in.pdf');
    writeFileSync(file, pdf);
    const args = ['-r', String(dotsPerInch), '-gray', '-f', String(page), '-l', String(page), '-singlefile', file];
    execFileSync('pdftoppm', [...args, join(folder, 'out')]);
    return readPgm(readFileSync(join(folder, 'out.pgm')), 25.4 / dotsPerInch);
  });
}

/** The text of all pages as pdftotext reads it, pages parted by form feeds; no-break spaces as plain ones. `raw` keeps the order of drawing. */
export function printedText(pdf: Uint8Array, order: 'layout' | 'raw' = 'layout'): string {
  return inFolder((folder) => {
    const file = join(folder, 'in.pdf');
    writeFileSync(file, pdf);
    const text = execFileSync('pdftotext', [`-${order}`, file, '-'], { encoding: 'utf8' });
    return text.replaceAll('\u00a0', ' ');
  });
}

/** What pdfinfo says of the file: title, tagged or not, page size. */
export function documentFacts(pdf: Uint8Array): string {
  return inFolder((folder) => {
    const file = join(folder, 'in.pdf');
    writeFileSync(file, pdf);
    return execFileSync('pdfinfo', [file], { encoding: 'utf8' });
  });
}

export function pageCount(pdf: Uint8Array): number {
  return printedText(pdf).split('\f').length - 1;
}

function inFolder<T>(use: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'gapwright-page-'));
  try {
    return use(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function readPgm(bytes: Buffer, mmPerPx: number): PrintedPage {
  const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(bytes.subarray(0, 60).toString('latin1'));
  if (head === null) throw new Error('not a PGM picture');
  return {
    widthPx: Number(head[1]),
    heightPx: Number(head[2]),
    mmPerPx,
    grey: new Uint8Array(bytes.subarray(head[0].length)),
  };
}
