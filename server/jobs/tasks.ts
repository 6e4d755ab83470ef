import type { Result } from '../base/result.js';
import type { Corrections } from '../contract/corrections.js';
import type { PhotoLook } from '../contract/photo-look.js';
import type { Plan } from '../contract/plan.js';
import type { PlanView } from '../contract/plan-view.js';
import type { Problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import type { Progress } from '../contract/stages.js';
import type { Stock } from '../contract/stock.js';
import type { Settings, StoredPhoto } from '../contract/tables.js';
import type { Wishes } from '../contract/wishes.js';

/** What is done in a process of its own, and what comes back. Photos are named by their path: bytes stay out of messages. */
export interface Tasks {
  /** The whole way from photos to the report. */
  measure: {
    input: {
      readonly photos: readonly { readonly name: string; readonly path: string }[];
      readonly settings: Settings;
      /** Their photos by the name that `photos` gives them. */
      readonly corrections: Corrections;
    };
    output: { readonly report: Report; readonly planView: PlanView; readonly planViewJpeg: Uint8Array };
  };
  /** Fillers for a report, wishes and stock. */
  plan: {
    input: { readonly report: Report; readonly wishes: Wishes; readonly stock: Stock };
    output: Plan;
  };
  /** Loads what planning needs, so that the next plan begins at once. */
  'get-ready-to-plan': { input: Readonly<Record<string, never>>; output: null };
  /** Opens a photo to the last pixel and writes an upright reduced JPEG of it where `viewPath` says. */
  'reduce-photo': {
    input: { readonly name: string; readonly path: string; readonly viewPath: string; readonly mostWidthPx: number };
    output: Pick<StoredPhoto, 'format' | 'widthPx' | 'heightPx'>;
  };
  /** Judges a photo before it is measured. */
  'look-at-photo': {
    input: { readonly name: string; readonly path: string; readonly settings: Settings };
    output: PhotoLook;
  };
}

export type TaskName = keyof Tasks;

/** To the worker. */
export interface TaskMessage<N extends TaskName = TaskName> {
  readonly id: number;
  readonly name: N;
  readonly input: Tasks[N]['input'];
}

/** From the worker: that it took up the task, progress, and then either a result or a fault (an exception, its text). */
export type WorkerMessage =
  | { readonly id: number; readonly begun: true }
  | { readonly id: number; readonly progress: Progress }
  | { readonly id: number; readonly result: Result<unknown, Problem> }
  | { readonly id: number; readonly fault: string };
