import type { Chain, CurveElement, Stretch } from './chain.js';
import type { Gap } from './chain-links.js';
import type { Vec } from './plane-vectors.js';

/**
 * Runs cut into parts that move as wholes. Only segments change length, so every point of a planned layout is its
 * measured place + the run's shift + Σ (change of segment k) · (direction of segment k) over the segments before it.
 */
export interface Layout {
  readonly chains: readonly ChainParts[];
  readonly segments: readonly Segment[];
}

export interface ChainParts {
  readonly chain: Chain;
  readonly parts: readonly Part[];
  readonly segments: readonly Segment[];
}

/** `after`: how many of the run's segments lie before this part. */
export type Part =
  | { readonly kind: 'curve'; readonly curve: CurveElement; readonly after: number; readonly stays: boolean }
  | { readonly kind: 'fixed'; readonly group: FixedGroup; readonly after: number }
  | { readonly kind: 'segment'; readonly segment: Segment; readonly after: number };

/** Joined straights that are kept together. */
export interface FixedGroup {
  readonly stretch: Stretch;
  /** Places within the stretch's `pieces`. */
  readonly pieces: readonly number[];
  readonly stays: boolean;
}

/** Part of a stretch, mostly all of it, whose sections may be taken out and put in. */
export interface Segment {
  /** Place among all segments of the layout. */
  readonly index: number;
  readonly chain: number;
  readonly stretch: Stretch;
  /** Places within the stretch's `pieces`. */
  readonly pieces: readonly number[];
  readonly openGaps: readonly Gap[];
  /** Measured pieces + open gaps + what closed joints count for. */
  readonly nowMm: number;
  /** n sections that make up the segment have n + this many joints with the allowance. */
  readonly jointsBeside: number;
  readonly start: Vec;
  readonly end: Vec;
}

export interface PartOptions {
  readonly jointAllowanceMm: number;
  readonly stays: (run: string, piece: number) => boolean;
  /** Keep every group of joined straights whole, so that each open gap is a segment of its own? */
  readonly keepsGroups: (stretch: Stretch) => boolean;
  /** Keep this piece in its run, wherever that moves? */
  readonly keepsPiece: (run: string, piece: number) => boolean;
}

export function layoutParts(chains: readonly Chain[], options: PartOptions): Layout {
  const segments: Segment[] = [];
  const built = chains.map((chain, chainIndex): ChainParts => {
    const first = segments.length;
    const parts: Part[] = [];
    for (const element of chain.elements) {
      if (element.kind === 'curve') {
        const stays = options.stays(chain.run, element.piece);
        parts.push({ kind: 'curve', curve: element, after: segments.length - first, stays });
        continue;
      }
      for (const span of spansOf(element.stretch, options)) {
        const after = segments.length - first;
        if (span.fixed) {
          const { pieces, stays } = span;
          parts.push({ kind: 'fixed', group: { stretch: element.stretch, pieces, stays }, after });
          continue;
        }
        const segment = segmentOf(element.stretch, span, options, { index: segments.length, chain: chainIndex });
        parts.push({ kind: 'segment', segment, after });
        segments.push(segment);
      }
    }
    return { chain, parts, segments: segments.slice(first) };
  });
  return { chains: built, segments };
}

/** Row of neighbours within a stretch: gaps firstGap…lastGap and the pieces between them. */
interface Span {
  readonly fixed: boolean;
  readonly stays: boolean;
  readonly pieces: number[];
  readonly gaps: number[];
}

function spansOf(stretch: Stretch, options: PartOptions): Span[] {
  const count = stretch.pieces.length;
  const keeps = options.keepsGroups(stretch);
  const fixed = stretch.pieces.map(
    (piece) => keeps || options.stays(stretch.run, piece) || options.keepsPiece(stretch.run, piece),
  );
  const spans: Span[] = [];
  let free: Span = { fixed: false, stays: false, pieces: [], gaps: [] };
  const closeFree = () => {
    if (free.pieces.length > 0 || free.gaps.some((g) => stretch.gaps[g].open)) spans.push(free);
    free = { fixed: false, stays: false, pieces: [], gaps: [] };
  };
  for (let k = 0; k <= count; k++) {
    free.gaps.push(k);
    if (k === count) break;
    if (!fixed[k]) {
      free.pieces.push(k);
      continue;
    }
    const previous = spans[spans.length - 1];
    const joins = previous?.fixed && free.pieces.length === 0 && !free.gaps.some((g) => stretch.gaps[g].open);
    const stays = options.stays(stretch.run, stretch.pieces[k]);
    if (joins && previous.stays === stays) {
      free = { fixed: false, stays: false, pieces: [], gaps: [] };
      previous.pieces.push(k);
    } else {
      closeFree();
      spans.push({ fixed: true, stays, pieces: [k], gaps: [] });
    }
  }
  closeFree();
  return spans;
}

function segmentOf(
  stretch: Stretch,
  span: Span,
  options: PartOptions,
  place: { index: number; chain: number },
): Segment {
  const count = stretch.pieces.length;
  const firstGap = span.gaps[0];
  const lastGap = span.gaps[span.gaps.length - 1];
  const gaps = span.gaps.map((g) => stretch.gaps[g]);
  const startJoins = firstGap > 0 || stretch.gaps[0].open;
  const endJoins = lastGap < count || stretch.gaps[count].open;
  return {
    ...place,
    stretch,
    pieces: span.pieces,
    openGaps: gaps.filter((g) => g.open),
    nowMm: lengthNow(
      span.pieces.map((k) => stretch.lengths[k].value),
      gaps,
      options.jointAllowanceMm,
    ),
    jointsBeside: (startJoins ? 1 : 0) + (endJoins ? 1 : 0) - 1,
    start: firstGap === 0 ? stretch.start : stretch.ends[firstGap - 1].to,
    end: lastGap === count ? stretch.end : stretch.ends[lastGap].from,
  };
}

/**
 * Length as it lies: pieces and open gaps. A closed joint counts with its gap, but with no more than the allowance that
 * planned joints get: pushing the sections together takes the rest away.
 */
function lengthNow(lengthsMm: readonly number[], gaps: readonly Gap[], jointAllowanceMm: number): number {
  const pieces = lengthsMm.reduce((a, b) => a + b, 0);
  return gaps.reduce((sum, gap) => sum + gapNow(gap, jointAllowanceMm), pieces);
}

function gapNow(gap: Gap, jointAllowanceMm: number): number {
  if (gap.open) return gap.length.value;
  return gap.inside ? Math.min(Math.max(0, gap.length.value), jointAllowanceMm) : 0;
}
