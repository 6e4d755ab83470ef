import type { Report, ReportJoint } from './report.js';

/** Joints run by run, along the run; those whose pieces are not known keep the report's order. */
function inOrder(report: Report, joints: readonly ReportJoint[]): ReportJoint[] {
  const place = (joint: ReportJoint): number =>
    report.runs.findIndex((run) => run.id === joint.run) * 10000 + (joint.pieces?.[0] ?? 0);
  return [...joints].sort((a, b) => place(a) - place(b));
}

/** Open joints, `Gap 1` first. */
export function gapsInOrder(report: Report): ReportJoint[] {
  return inOrder(
    report,
    report.joints.filter((j) => j.open),
  );
}

/** Closed joints, `Joint 1` first. */
export function closedJointsInOrder(report: Report): ReportJoint[] {
  return inOrder(
    report,
    report.joints.filter((j) => !j.open),
  );
}

/** What a joint is called wherever a person reads of it: `Gap 2`, `Joint 5`. Its id where the report has no such joint. */
export function jointName(report: Report, id: string): string {
  const gap = gapsInOrder(report).findIndex((j) => j.id === id);
  if (gap >= 0) return `Gap ${gap + 1}`;
  const closed = closedJointsInOrder(report).findIndex((j) => j.id === id);
  return closed >= 0 ? `Joint ${closed + 1}` : id;
}
