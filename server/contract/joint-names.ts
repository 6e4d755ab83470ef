import type { Report, ReportJoint } from './report.js';

/** A joint by the name that people read of it everywhere. */
export interface NamedJoint {
  readonly joint: ReportJoint;
  /** `Gap 2` where it is open, else `Joint 5`. */
  readonly name: string;
}

/** Joints run by run, along the run, open ones first; those whose pieces are not known keep the report's order. */
export function namedJoints(report: Report): NamedJoint[] {
  const place = (joint: ReportJoint): number =>
    report.runs.findIndex((run) => run.id === joint.run) * 10000 + (joint.pieces?.[0] ?? 0);
  const inOrder = (open: boolean): ReportJoint[] =>
    report.joints.filter((joint) => joint.open === open).sort((a, b) => place(a) - place(b));
  return [
    ...inOrder(true).map((joint, i) => ({ joint, name: `Gap ${i + 1}` })),
    ...inOrder(false).map((joint, i) => ({ joint, name: `Joint ${i + 1}` })),
  ];
}

/** What a joint is called; its id where the report has no such joint. */
export function jointName(report: Report, id: string): string {
  return namedJoints(report).find(({ joint }) => joint.id === id)?.name ?? id;
}
