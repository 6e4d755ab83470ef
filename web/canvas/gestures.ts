import type { ReactiveController, ReactiveControllerHost } from 'lit';
import type { Point } from './view.js';

/** What fingers, mouse, wheel and keys mean on a picture. All positions in CSS pixels from the element's corner, within its border. */
export interface GestureHandlers {
  readonly onMove: (dx: number, dy: number) => void;
  readonly onZoom: (factor: number, at: Point) => void;
  /** True when something lies there that can be dragged; the moves that follow then drag it. */
  readonly onGrab: (at: Point) => boolean;
  readonly onDrag: (at: Point, finger: boolean) => void;
  /** What was dragged is let go; also when the drag was broken off. */
  readonly onDrop: () => void;
  readonly onTap: (at: Point) => void;
  readonly onFit: () => void;
  /** Enter: what lies in the middle is meant. @returns true when that means something now */
  readonly onEnter: () => boolean;
  /** A finger that rests shows what lies under it; null when it leaves. */
  readonly onLoupe: (at: Point | null) => void;
}

/** A pointer that moves less than this taps, CSS pixels. */
const tapPx = 8;
/** A finger that rests this long calls the magnifier, milliseconds. */
const restMs = 350;
const keyStepPx = 60;
const keyFactor = 1.4;

/** Turns pointer, wheel and key events of an element into moves, zooms and taps. */
export class Gestures implements ReactiveController {
  private readonly pointers = new Map<number, Point>();
  private start: Point | null = null;
  private moved = false;
  private loupe = false;
  private dragging = false;
  private rest: ReturnType<typeof setTimeout> | undefined;

  constructor(
    host: ReactiveControllerHost,
    private readonly target: () => HTMLElement,
    private readonly handlers: GestureHandlers,
  ) {
    host.addController(this);
  }

  hostDisconnected(): void {
    this.pointers.clear();
    clearTimeout(this.rest);
  }

  readonly down = (event: PointerEvent): void => {
    if (event.pointerType === 'mouse' && event.button !== 0) return;
    this.target().setPointerCapture(event.pointerId);
    const at = this.place(event);
    this.pointers.set(event.pointerId, at);
    this.start = at;
    this.moved = this.pointers.size > 1;
    clearTimeout(this.rest);
    this.dragging = this.pointers.size === 1 && this.handlers.onGrab(at);
    if (this.pointers.size === 1 && !this.dragging && event.pointerType !== 'mouse') {
      this.rest = setTimeout(() => this.showLoupe(), restMs);
    }
  };

  readonly move = (event: PointerEvent): void => {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const at = this.place(event);
    if (this.start && Math.hypot(at.x - this.start.x, at.y - this.start.y) > tapPx) {
      this.moved = true;
      clearTimeout(this.rest);
    }
    if (this.dragging) {
      if (this.moved) this.handlers.onDrag(at, event.pointerType !== 'mouse');
    } else if (this.loupe) this.handlers.onLoupe(at);
    else if (this.pointers.size === 1 && this.moved) this.handlers.onMove(at.x - before.x, at.y - before.y);
    else if (this.pointers.size === 2) this.pinch(event.pointerId, before, at);
    this.pointers.set(event.pointerId, at);
  };

  readonly up = (event: PointerEvent): void => {
    if (!this.pointers.delete(event.pointerId)) return;
    clearTimeout(this.rest);
    const at = this.place(event);
    const dragged = this.dragging && this.moved;
    this.dragging = false;
    if (dragged) this.handlers.onDrop();
    else if (this.loupe) {
      this.loupe = false;
      this.handlers.onLoupe(null);
      this.handlers.onTap(at);
    } else if (!this.moved && event.type === 'pointerup') this.handlers.onTap(at);
  };

  readonly wheel = (event: WheelEvent): void => {
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 30 : 1;
    this.handlers.onZoom(Math.exp((-event.deltaY * lines) / 400), this.place(event));
  };

  readonly key = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'Enter') {
      if (this.handlers.onEnter()) event.preventDefault();
      return;
    }
    const { clientWidth, clientHeight } = this.target();
    const middle = { x: clientWidth / 2, y: clientHeight / 2 };
    const moves: Record<string, () => void> = {
      ArrowLeft: () => this.handlers.onMove(keyStepPx, 0),
      ArrowRight: () => this.handlers.onMove(-keyStepPx, 0),
      ArrowUp: () => this.handlers.onMove(0, keyStepPx),
      ArrowDown: () => this.handlers.onMove(0, -keyStepPx),
      '+': () => this.handlers.onZoom(keyFactor, middle),
      '=': () => this.handlers.onZoom(keyFactor, middle),
      '-': () => this.handlers.onZoom(1 / keyFactor, middle),
      '0': () => this.handlers.onFit(),
    };
    const act = moves[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  };

  private showLoupe(): void {
    if (this.pointers.size !== 1 || this.moved) return;
    this.loupe = true;
    this.moved = true;
    this.handlers.onLoupe([...this.pointers.values()][0]);
  }

  private pinch(id: number, before: Point, at: Point): void {
    const other = [...this.pointers.entries()].find(([key]) => key !== id)?.[1];
    if (!other) return;
    const was = Math.hypot(before.x - other.x, before.y - other.y);
    const is = Math.hypot(at.x - other.x, at.y - other.y);
    this.handlers.onMove((at.x - before.x) / 2, (at.y - before.y) / 2);
    if (was > 1) this.handlers.onZoom(is / was, { x: (at.x + other.x) / 2, y: (at.y + other.y) / 2 });
  }

  private place(event: MouseEvent): Point {
    const target = this.target();
    const box = target.getBoundingClientRect();
    // Pictures are drawn within the border.
    return { x: event.clientX - box.left - target.clientLeft, y: event.clientY - box.top - target.clientTop };
  }
}
