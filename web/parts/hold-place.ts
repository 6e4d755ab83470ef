import type { LitElement, ReactiveController } from 'lit';

/** Less than this is no move that anyone sees, screen pixels. */
const leastMovePx = 0.5;

/**
 * Keeps the field that a person types in where it stands on the screen, while what stands above it grows or shrinks. Some
 * browsers do so by themselves and some do not: theirs is switched off meanwhile, or the page would move twice.
 */
export class HoldPlace implements ReactiveController {
  private held: Element | null = null;
  private topOnPagePx = 0;
  private readonly observer = new ResizeObserver(() => this.settle());

  /** @param within the element with the fields, in the host: a selector */
  constructor(
    private readonly host: LitElement,
    private readonly within: string,
  ) {
    host.addController(this);
  }

  hostDisconnected(): void {
    this.observer.disconnect();
    this.hold(null);
  }

  /** Who goes from field to field is heard inside the part alone: its own root is listened to. */
  hostUpdated(): void {
    const part = this.host.renderRoot.querySelector(this.within);
    for (const element of [this.host, ...(part?.parentElement?.children ?? [])]) this.observer.observe(element);
    const root = part?.shadowRoot;
    root?.addEventListener('focusin', this.focused);
    root?.addEventListener('focusout', this.left);
  }

  private readonly focused = (event: Event): void => {
    const [field] = event.composedPath();
    this.hold(field instanceof Element ? field : null);
  };

  /** What lost the focus to nothing is held on: on a phone a touch beside the field does that. */
  private readonly left = (event: Event): void => {
    const next = event instanceof FocusEvent ? event.relatedTarget : null;
    if (next instanceof Node && !this.held?.getRootNode().contains(next)) this.hold(null);
  };

  private hold(field: Element | null): void {
    this.held = field;
    document.documentElement.style.overflowAnchor = field === null ? '' : 'none';
    if (field !== null) this.topOnPagePx = topOnPagePx(field);
  }

  private settle(): void {
    if (this.held === null || !this.held.isConnected) return;
    const nowPx = topOnPagePx(this.held);
    const byPx = nowPx - this.topOnPagePx;
    if (Math.abs(byPx) < leastMovePx) return;
    this.topOnPagePx = nowPx;
    window.scrollBy({ top: byPx, behavior: 'instant' });
  }
}

function topOnPagePx(element: Element): number {
  return element.getBoundingClientRect().top + window.scrollY;
}
