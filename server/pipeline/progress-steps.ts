import { throwIfCancelled } from '../base/cancel.js';
import type { Progress, StageName } from '../contract/stages.js';

export interface MeasureHooks {
  readonly signal?: AbortSignal;
  readonly onProgress?: (progress: Progress) => void;
}

/** Tells progress and lets other work in between steps; each photo goes through the early stages in turn. */
export function progressSteps(
  hooks: MeasureHooks,
  photoCount: number,
): (stage: StageName, photo: string | null) => Promise<void> {
  let done = 0;
  const total = photoCount * 4 + 5;
  return async (stage, photo) => {
    throwIfCancelled(hooks.signal);
    hooks.onProgress?.({ stage, photo, ratio: Math.min(0.99, done++ / total) });
    await new Promise((resolve) => setImmediate(resolve));
  };
}
