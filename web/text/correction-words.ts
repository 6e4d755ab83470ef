import type { Correction } from '../../server/contract/corrections.js';

/** What a person finds wrong, each a way of pointing on a photo. */
export const correctionTools = [
  'corner-moved',
  'side-moved',
  'corner-added',
  'corner-removed',
  'track-drawn',
  'run-false',
  'part-false',
  'area-false',
  'run-split',
  'runs-joined',
  'gap-missed',
  'end-moved',
  'gap-false',
] as const;
export type CorrectionTool = (typeof correctionTools)[number];

export interface ToolText {
  /** What is wrong, as it stands in the list. */
  readonly name: string;
  /** What to touch. */
  readonly hint: string;
  /** How many places make it; null: as many as wanted, then “Done”. */
  readonly touches: number | null;
}

export const toolTexts: Record<CorrectionTool, ToolText> = {
  'corner-moved': { name: 'A corner is in the wrong place', hint: 'Touch where that corner really is.', touches: 1 },
  'side-moved': {
    name: 'A side is in the wrong place',
    hint: 'Touch two places on the true edge, far apart.',
    touches: 2,
  },
  'corner-added': { name: 'A corner is missing', hint: 'Touch the corner that is missing.', touches: 1 },
  'corner-removed': { name: 'There is no corner', hint: 'Touch the corner that is none.', touches: 1 },
  'track-drawn': {
    name: 'Track was missed',
    hint: 'Touch along its centre rail, from one end to the other: a place every two sections will do.',
    touches: null,
  },
  'run-false': { name: 'A run is no track', hint: 'Touch the run that is none.', touches: 1 },
  'part-false': {
    name: 'Part of a run is no track',
    hint: 'Touch the run where that part begins and where it ends.',
    touches: 2,
  },
  'area-false': { name: 'An area holds no track', hint: 'Touch all around the area.', touches: null },
  'run-split': { name: 'One run is really two', hint: 'Touch where the one ends and the other begins.', touches: 1 },
  'runs-joined': { name: 'Two runs are really one', hint: 'Touch the two ends that belong together.', touches: 2 },
  'gap-missed': { name: 'A gap was missed', hint: 'Touch both rail ends, on the centre rail.', touches: 2 },
  'end-moved': {
    name: 'A rail end is in the wrong place',
    hint: 'Touch where the centre rail really ends.',
    touches: 1,
  },
  'gap-false': { name: 'A gap is none', hint: 'Touch the gap; the rails go on there.', touches: 1 },
};

export const toolGroups: readonly { readonly title: string; readonly tools: readonly CorrectionTool[] }[] = [
  { title: 'Gaps', tools: ['gap-missed', 'end-moved', 'gap-false'] },
  { title: 'Track', tools: ['track-drawn', 'run-false', 'part-false', 'area-false', 'run-split', 'runs-joined'] },
  { title: 'Table edge', tools: ['corner-moved', 'side-moved', 'corner-added', 'corner-removed'] },
];

/** What a correction says, in the list of those made. */
export const correctionTexts: Record<Correction['kind'], string> = {
  'table-outline': 'Corners of the table',
  'track-here': 'Track drawn',
  'no-track-along': 'No track along a line',
  'not-track': 'No track in an area',
  split: 'Runs parted',
  join: 'Runs joined',
  'open-gap': 'Gap marked',
  'rail-end': 'Rail end marked',
  'no-gap': 'No gap',
};
