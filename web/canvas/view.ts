/**
 * The screen frame of one picture view: CSS pixels from the view's upper left corner, y down, corner-based as the
 * browser counts. Picture frames (photo, plan) have pixel centres at integers, so the half pixel is added here and
 * nowhere else: screen = (picture + 0.5) · scale + (left, top).
 */
export interface View {
  /** CSS pixels for one picture pixel. */
  readonly scale: number;
  /** Where the picture's upper left corner lies in the view, CSS pixels. */
  readonly left: number;
  readonly top: number;
}

export interface Point {
  readonly x: number;
  readonly y: number;
}

export interface Size {
  readonly width: number;
  readonly height: number;
}

export function screenFromPicture(view: View, p: Point): Point {
  return { x: (p.x + 0.5) * view.scale + view.left, y: (p.y + 0.5) * view.scale + view.top };
}

export function pictureFromScreen(view: View, p: Point): Point {
  return { x: (p.x - view.left) / view.scale - 0.5, y: (p.y - view.top) / view.scale - 0.5 };
}

/** The SVG transform of drawings whose coordinates are picture pixels. */
export function svgTransform(view: View): string {
  const half = view.scale / 2;
  return `translate(${view.left + half} ${view.top + half}) scale(${view.scale})`;
}

/** The whole picture, as large as it fits, in the middle. */
export function fitView(picture: Size, box: Size): View {
  const scale = Math.min(box.width / picture.width, box.height / picture.height);
  return {
    scale,
    left: (box.width - picture.width * scale) / 2,
    top: (box.height - picture.height * scale) / 2,
  };
}

/** How far one may look in: a picture pixel as 8 screen pixels, but at least four times the whole picture. */
export function greatestScale(picture: Size, box: Size): number {
  return Math.max(8, 4 * fitView(picture, box).scale);
}

/** Changes the scale and keeps what lies under the screen point where it is. */
export function zoomAt(view: View, factor: number, at: Point, limits: { least: number; most: number }): View {
  const scale = Math.min(Math.max(view.scale * factor, limits.least), limits.most);
  const real = scale / view.scale;
  return { scale, left: at.x - (at.x - view.left) * real, top: at.y - (at.y - view.top) * real };
}

/** Moves the picture so that it cannot be lost: smaller than the view it stays inside, larger it covers the middle. */
export function keepInSight(view: View, picture: Size, box: Size): View {
  return {
    scale: view.scale,
    left: clampSide(view.left, picture.width * view.scale, box.width),
    top: clampSide(view.top, picture.height * view.scale, box.height),
  };
}

function clampSide(start: number, length: number, room: number): number {
  if (length <= room) return Math.min(Math.max(start, 0), room - length);
  const slack = room / 2;
  return Math.min(Math.max(start, slack - length), room - slack);
}

/** A view in which the picture points fill about the given share of the smaller side, never nearer than `most`. */
export function viewOn(
  points: readonly Point[],
  box: Size,
  share: number,
  limits: { least: number; most: number },
): View {
  const xs = points.map((p) => p.x + 0.5);
  const ys = points.map((p) => p.y + 0.5);
  const width = Math.max(...xs) - Math.min(...xs);
  const height = Math.max(...ys) - Math.min(...ys);
  const wanted = (share * Math.min(box.width, box.height)) / Math.max(width, height, 1);
  const scale = Math.min(Math.max(wanted, limits.least), limits.most);
  const middleX = (Math.max(...xs) + Math.min(...xs)) / 2;
  const middleY = (Math.max(...ys) + Math.min(...ys)) / 2;
  return { scale, left: box.width / 2 - middleX * scale, top: box.height / 2 - middleY * scale };
}
