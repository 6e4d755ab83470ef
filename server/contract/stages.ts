/** The steps of measuring, in order, as the progress display and the bench name them. */
export const stageNames = [
  'photo',
  'markers',
  'camera',
  'rails',
  'table-edge',
  'joints',
  'measurements',
  'plan-view',
] as const;

export type StageName = (typeof stageNames)[number];

/** What a person reads while the stage works. */
export const stageLabels: Record<StageName, string> = {
  photo: 'Opening the photo',
  markers: 'Looking for markers',
  camera: 'Working out where the camera stood',
  rails: 'Following the rails',
  'table-edge': 'Finding the table edge',
  joints: 'Measuring joints and gaps',
  measurements: 'Working out lengths and clearances',
  'plan-view': 'Drawing the table from above',
};

/** Progress of one measurement: which stage, of which photo, and how far on the whole, 0…1. */
export interface Progress {
  readonly stage: StageName;
  readonly photo: string | null;
  readonly ratio: number;
}
