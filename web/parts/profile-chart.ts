import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { mmPerInch } from '../../server/units/inches.js';
import {
  type ProfilePoint,
  type ProfileStretch,
  profileOfSide,
  profilePointAt,
  scaleSteps,
} from '../canvas/profile-curve.js';
import { formatEstimate, formatLength } from '../text/lengths.js';
import { spokenEstimate } from '../text/spoken-length.js';
import { sharedStyle } from './shared-style.js';

const height = 220;
const pad = { left: 66, right: 14, top: 14, bottom: 34 };

/**
 * The room between rail and edge along one table side: distance over position, the shaded band is ± at 95 %.
 * Fires `choose` with `profile:INDEX` as a pointer or the arrow keys move along.
 */
@customElement('gw-profile-chart')
export class ProfileChart extends LitElement {
  @property({ attribute: false }) report: Report | null = null;
  @property() side = '';
  @property() chosen: string | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  @state() private width = 480;
  private readonly sizes = new ResizeObserver(() => (this.width = Math.max(240, this.clientWidth)));

  override connectedCallback(): void {
    super.connectedCallback();
    this.sizes.observe(this);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.sizes.disconnect();
  }

  static override styles = [
    sharedStyle,
    css`
      svg {
        background: var(--sheet);
        border: 1px solid var(--line);
        cursor: crosshair;
        display: block;
        height: auto;
        touch-action: pan-y;
        width: 100%;
      }
      .grid {
        stroke: var(--line);
        stroke-opacity: 0.5;
      }
      .band {
        fill: var(--accent);
        fill-opacity: 0.22;
      }
      .curve {
        fill: none;
        stroke: var(--ink);
        stroke-width: 2.5;
      }
      .here {
        stroke: var(--accent);
        stroke-width: 2;
      }
      circle {
        fill: var(--accent);
        stroke: var(--sheet);
        stroke-width: 2;
      }
      text {
        fill: var(--ink);
        font: 14px var(--text);
      }
      .edge {
        stroke: var(--ink);
        stroke-width: 3;
      }
    `,
  ];

  override render() {
    const side = this.report?.table.sides.find((s) => s.name === this.side);
    if (!this.report || !side) return nothing;
    const stretches = profileOfSide(this.report, this.side);
    const points = stretches.flatMap((s) => s.points);
    if (points.length === 0) return html`<p class="quiet">No track was measured nearest to side ${this.side}.</p>`;
    const current = points.find((p) => `profile:${p.index}` === this.chosen) ?? null;
    const unit = this.lengthStyle.unit === 'mm' ? 1 : mmPerInch;
    const steps = scaleSteps(Math.max(...points.map((p) => p.distanceMm + p.halfMm)), 4, unit);
    const scale = new Scale(side.length.value, steps[steps.length - 1], this.width);
    const at = current ?? lowest(points);
    const distance = { value: at.distanceMm, u: at.halfMm / 1.96 };
    return html`
      <svg
        viewBox="0 0 ${this.width} ${height}"
        tabindex="0"
        role="slider"
        aria-label="Rail to edge along side ${this.side}. Arrow keys move along the side."
        aria-valuemin="0"
        aria-valuemax=${Math.round(side.length.value)}
        aria-valuenow=${Math.round(at.alongMm)}
        aria-valuetext="${formatLength(at.alongMm, this.lengthStyle)} along the side: ${spokenEstimate(distance, this.lengthStyle)}"
        @pointerdown=${(e: PointerEvent) => this.point(e, stretches, scale)}
        @pointermove=${(e: PointerEvent) => e.buttons && this.point(e, stretches, scale)}
        @keydown=${(e: KeyboardEvent) => this.key(e, stretches, at, side.length.value)}
      >
        ${steps.map((mm) => svg`<path class="grid" d="M${pad.left} ${scale.y(mm)}H${this.width - pad.right}" /><text x=${pad.left - 6} y=${scale.y(mm) + 5} text-anchor="end">${formatLength(mm, this.lengthStyle).replace('.0', '')}</text>`)}
        <path class="edge" d="M${scale.x(0)} ${scale.y(0)}H${scale.x(side.length.value)}" />
        <text x=${scale.x(0)} y=${height - 8}>start of side ${this.side}</text>
        <text x=${scale.x(side.length.value)} y=${height - 8} text-anchor="end">${formatLength(side.length.value, this.lengthStyle)}</text>
        ${stretches.map((s) => svg`<path class="band" d=${band(s, scale)} /><path class="curve" d=${curve(s, scale)} />`)}
        <path class="here" d="M${scale.x(at.alongMm)} ${scale.y(0)}V${scale.y(at.distanceMm)}" />
        <circle cx=${scale.x(at.alongMm)} cy=${scale.y(at.distanceMm)} r="6" />
      </svg>
      <p>
        ${current ? '' : 'Smallest: '}<span class="number">${formatEstimate(distance, this.lengthStyle)}</span>,
        <span class="number">${formatLength(at.alongMm, this.lengthStyle)}</span> from the start of side ${this.side}
      </p>
    `;
  }

  private point(event: PointerEvent, stretches: readonly ProfileStretch[], scale: Scale): void {
    const box = (event.currentTarget as Element).getBoundingClientRect();
    this.tell(profilePointAt(stretches, scale.along(((event.clientX - box.left) / box.width) * this.width)));
  }

  private key(event: KeyboardEvent, stretches: readonly ProfileStretch[], at: ProfilePoint, lengthMm: number): void {
    const step = lengthMm / 60;
    const goals: Record<string, number> = {
      ArrowLeft: at.alongMm - step,
      ArrowDown: at.alongMm - step,
      ArrowRight: at.alongMm + step,
      ArrowUp: at.alongMm + step,
      Home: 0,
      End: lengthMm,
    };
    const goal = goals[event.key];
    if (goal === undefined) return;
    event.preventDefault();
    this.tell(profilePointAt(stretches, goal));
  }

  private tell(point: ProfilePoint | null): void {
    if (point) this.dispatchEvent(new CustomEvent<string>('choose', { detail: `profile:${point.index}` }));
  }
}

/** Chart coordinates from millimetres. */
class Scale {
  constructor(
    private readonly sideMm: number,
    private readonly mostMm: number,
    private readonly width: number,
  ) {}

  x(alongMm: number): number {
    return pad.left + (alongMm / this.sideMm) * (this.width - pad.left - pad.right);
  }

  y(distanceMm: number): number {
    return height - pad.bottom - (distanceMm / this.mostMm) * (height - pad.top - pad.bottom);
  }

  along(x: number): number {
    return ((x - pad.left) / (this.width - pad.left - pad.right)) * this.sideMm;
  }
}

function lowest(points: readonly ProfilePoint[]): ProfilePoint {
  return points.reduce((best, p) => (p.distanceMm < best.distanceMm ? p : best));
}

function curve(stretch: ProfileStretch, scale: Scale): string {
  return stretch.points
    .map((p, i) => `${i ? 'L' : 'M'}${scale.x(p.alongMm).toFixed(1)} ${scale.y(p.distanceMm).toFixed(1)}`)
    .join('');
}

function band(stretch: ProfileStretch, scale: Scale): string {
  const edge = (p: ProfilePoint, sign: number): string =>
    `${scale.x(p.alongMm).toFixed(1)} ${scale.y(Math.max(0, p.distanceMm + sign * p.halfMm)).toFixed(1)}`;
  const upper = stretch.points.map((p) => edge(p, 1));
  const lower = [...stretch.points].reverse().map((p) => edge(p, -1));
  return `M${[...upper, ...lower].join('L')}Z`;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-profile-chart': ProfileChart;
  }
}
