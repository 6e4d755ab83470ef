# python3 native-way.py PHOTO MARKER-SIDE ROUNDS: what one would write with Debian's python3-opencv to see the table from
# above: decode, find the markers with sub-pixel corners, warp to a plan of 1 mm a pixel by the first one, look for lines.
# Prints the time of each round as one line of JSON. Nothing is measured with it.
import json
import sys
import time

import cv2
import numpy as np

path, side, rounds = sys.argv[1], float(sys.argv[2]), int(sys.argv[3])
data = np.fromfile(path, dtype=np.uint8)
REACH_MM = 3500


def plan_of(picture, corners):
    """The plan that the marker's plane shows of the picture, no farther than REACH_MM from the marker."""
    square = np.float32([[0, 0], [side, 0], [side, side], [0, side]])
    to_plan = cv2.getPerspectiveTransform(corners.astype(np.float32), square)
    height, width = picture.shape[:2]
    rim = np.float32([[0, 0], [width, 0], [width, height], [0, height]]).reshape(-1, 1, 2)
    seen = np.clip(cv2.perspectiveTransform(rim, to_plan).reshape(-1, 2), -REACH_MM, REACH_MM)
    low, high = seen.min(axis=0), seen.max(axis=0)
    shift = np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1]])
    return cv2.warpPerspective(picture, shift @ to_plan, tuple(int(v) for v in np.ceil(high - low)))


def once():
    picture = cv2.imdecode(data, cv2.IMREAD_COLOR)
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    family = cv2.aruco.DICT_APRILTAG_36h11
    if hasattr(cv2.aruco, "DetectorParameters_create"):
        parameters = cv2.aruco.DetectorParameters_create()
        parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
        found = cv2.aruco.detectMarkers(grey, cv2.aruco.Dictionary_get(family), parameters=parameters)
    else:
        parameters = cv2.aruco.DetectorParameters()
        parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
        found = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(family), parameters).detectMarkers(grey)
    if not found[0]:
        raise SystemExit("no marker found")
    plan = plan_of(grey, found[0][0].reshape(4, 2))
    edges = cv2.Canny(plan, 60, 150)
    cv2.HoughLinesP(edges, 1, np.pi / 720, 80, minLineLength=80, maxLineGap=6)


took = []
for _ in range(rounds):
    start = time.perf_counter()
    once()
    took.append((time.perf_counter() - start) * 1000)
print(json.dumps({"ms": took}))
