import type { Stretch } from './chain.js';
import type { EndKind } from './pins-and-ties.js';
import type { Case } from './question.js';
import type { SegmentPlan, SolutionPlan } from './read-solution.js';

/** A section in its place; `piece` indexes the run's pieces in the report. */
export type OrderedSection =
  | { readonly piece: number }
  | { readonly lengthMm: number; readonly source: 'layout' | 'stock' }
  | { readonly filler: string; readonly lengthMm: number };

/** The sections of a stretch as planned, in running order: what is put in lies where a gap or a taken-out piece was. */
export function orderOf(stretch: Stretch, solved: SolutionPlan): OrderedSection[] {
  const parts = solved.segments.filter((s) => s.segment.stretch === stretch);
  const partOfPiece = new Map(parts.flatMap((p) => p.segment.pieces.map((k) => [k, p] as const)));
  const ordered: OrderedSection[] = [];
  const slots = new Map(parts.map((p) => [p, slotOf(p)]));
  for (let k = 0; k <= stretch.pieces.length; k++) {
    for (const [part, slot] of slots) {
      if (slot.kind === 'gap' && stretch.gaps[k] === slot.gap) ordered.push(...putIn(part));
    }
    if (k === stretch.pieces.length) break;
    const part = partOfPiece.get(k);
    const slot = part ? slots.get(part) : undefined;
    if (part && slot?.kind === 'piece' && slot.piece === k) ordered.push(...putIn(part));
    if (!part || part.kept.includes(k)) ordered.push({ piece: stretch.pieces[k] });
  }
  return ordered;
}

type Slot =
  | { readonly kind: 'gap'; readonly gap: Stretch['gaps'][number] }
  | { readonly kind: 'piece'; readonly piece: number }
  | { readonly kind: 'end' };

/** The widest open gap, else the place of the first piece taken out, else behind the last piece. */
function slotOf(part: SegmentPlan): Slot {
  const widest = [...part.segment.openGaps].sort((a, b) => b.length.value - a.length.value)[0];
  if (widest) return { kind: 'gap', gap: widest };
  const removed = part.segment.pieces.find((k) => !part.kept.includes(k));
  if (removed !== undefined) return { kind: 'piece', piece: removed };
  const last = part.segment.pieces[part.segment.pieces.length - 1];
  return last === undefined ? { kind: 'end' } : { kind: 'piece', piece: last };
}

function putIn(part: SegmentPlan): OrderedSection[] {
  return [
    ...part.straights.map((s) => ({ lengthMm: s.lengthMm, source: s.source })),
    ...part.fillers.map((f) => ({ filler: f.id, lengthMm: f.lengthMm })),
  ];
}

/**
 * Which kind of end the neighbours turn to a filler. Pieces carry their pins at their `to` end unless the user says they
 * are reversed; straights from the stock are laid like their neighbours; another filler is laid the same way too.
 */
export function neighbourEnds(
  given: Case,
  stretch: Stretch,
  order: readonly OrderedSection[],
  filler: string,
): [EndKind | null, EndKind | null] {
  const at = order.findIndex((o) => 'filler' in o && o.filler === filler);
  const run = given.report.runs.find((r) => r.id === stretch.run);
  const count = run?.pieces.length ?? 0;
  const reversed = new Set((given.wishes.reversed ?? []).filter((r) => r.run === stretch.run).flatMap((r) => r.pieces));
  const endOf = (piece: number, side: 'from' | 'to'): EndKind =>
    (side === 'to') !== reversed.has(piece) ? 'pins' : 'open';
  const first = stretch.pieces[0];
  const last = stretch.pieces[stretch.pieces.length - 1];
  const before = at > 0 ? order[at - 1] : null;
  const after = at + 1 < order.length ? order[at + 1] : null;
  const outerBefore = first === undefined ? null : run?.closed || first > 0 ? (first + count - 1) % count : null;
  const outerAfter = last === undefined ? null : run?.closed || last < count - 1 ? (last + 1) % count : null;
  return [
    before
      ? 'piece' in before
        ? endOf(before.piece, 'to')
        : 'pins'
      : outerBefore === null
        ? null
        : endOf(outerBefore, 'to'),
    after
      ? 'piece' in after
        ? endOf(after.piece, 'from')
        : 'open'
      : outerAfter === null
        ? null
        : endOf(outerAfter, 'from'),
  ];
}
