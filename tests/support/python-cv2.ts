import { spawnSync } from 'node:child_process';

/** Whether Debian's python3-opencv is there, an independent library of vision; tests skip without it. */
export const hasCv2 = spawnSync('/usr/bin/python3', ['-c', 'import cv2; cv2.aruco.DICT_APRILTAG_36h11']).status === 0;

/**
 * Runs a Python program that prints JSON. Its arguments are in `sys.argv[1:]`; cv2, numpy as np, json and sys are
 * imported.
 */
export function runPython<T>(program: string, args: readonly string[]): T {
  const run = spawnSync('/usr/bin/python3', ['-c', `import cv2, json, sys\nimport numpy as np\n${program}`, ...args], {
    encoding: 'utf8',
    maxBuffer: 1 << 26,
  });
  if (run.status !== 0) throw new Error(run.stderr);
  return JSON.parse(run.stdout) as T;
}

/** Markers of the family 36h11 as cv2.aruco reads them in a picture file: id and corners, pixel centres at integers. */
export function markersByCv2(file: string): { id: number; corners: [number, number][] }[] {
  const program = `
grey = cv2.imread(sys.argv[1], cv2.IMREAD_GRAYSCALE)
parameters = cv2.aruco.DetectorParameters_create()
parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
parameters.markerBorderBits = 1
corners, ids, _ = cv2.aruco.detectMarkers(grey, cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11), parameters=parameters)
found = [] if ids is None else [dict(id=int(i), corners=c[0].tolist()) for i, c in zip(ids[:, 0], corners)]
print(json.dumps(found))`;
  return runPython(program, [file]);
}
