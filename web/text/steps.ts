/** The one path through the tool, in order. */
export const stepIds = ['sheet', 'photos', 'measured', 'wishes', 'fillers', 'cut', 'check'] as const;
export type StepId = (typeof stepIds)[number];

export interface StepText {
  /** Name on the path, one or two words. */
  readonly name: string;
  /** What is done there, for someone who sees it for the first time. */
  readonly what: string;
}

export const stepTexts: Record<StepId, StepText> = {
  sheet: { name: 'Sheet', what: 'Print a marker sheet and lay it on the table' },
  photos: { name: 'Photos', what: 'Photograph the track as it lies' },
  measured: { name: 'Measured plan', what: 'See what was measured' },
  wishes: { name: 'Wishes', what: 'Say what room you want and what you have' },
  fillers: { name: 'Fillers', what: 'See which pieces to cut' },
  cut: { name: 'Cut', what: 'Print the cut sheet and go to the bench' },
  check: { name: 'Check again', what: 'Photograph the finished fit and compare' },
};

/** The step after this one, or null at the end of the path. */
export function stepAfter(step: StepId): StepId | null {
  return stepIds[stepIds.indexOf(step) + 1] ?? null;
}
