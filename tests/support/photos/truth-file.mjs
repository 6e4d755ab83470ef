import { neighbours } from './neighbour-tracks.mjs';
import { PIN_WIDTH, placeOn, profiles } from './track-layout.mjs';

/**
 * The truth of a rendered photo: what was built, in millimetres of the table frame, and where the picture shows it. The
 * format is that of the JSON files in samples (samples/README.md).
 */
export function truthOf(scene, camera, world) {
  const profile = profiles[scene.profile];
  const seen = {
    px: (p) => camera.project(p).map((v) => round(v, 3)),
    inFrame: (p) => camera.depth(p) > 0 && camera.inFrame(camera.project(p)),
    hiddenBy: (p) => world.hiddenBy(p, camera.position),
    behindTrack: (p) => world.behindTrack(p, camera.position),
  };
  const { length: L, width: W, thickness } = scene.table;
  const corners = [
    [0, 0, 0],
    [L, 0, 0],
    [L, W, 0],
    [0, W, 0],
  ];
  const all = scene.chains.flatMap((c) => c.sections);
  const nearest = (sections) => sideClearances(sections, profile, scene.table, seen);
  return {
    format: 'track-scene-truth/1',
    photo: `${scene.id}.jpg`,
    scene: scene.id,
    units: 'mm, degrees, pixels',
    camera: cameraTruth(scene, camera),
    table: {
      length: L,
      width: W,
      thickness,
      corners,
      corners_px: corners.map(seen.px),
      corners_in_frame: corners.map(seen.inFrame),
      finish: scene.table.finish.kind,
    },
    profile: profileTruth(profile),
    markers: world.sheets.map((sheet) => markerTruth(sheet, seen)),
    chains: scene.chains.map((c) => ({ id: c.id, closed: c.closed, sections: c.sections.map((s) => s.id) })),
    sections: all.map((s) => sectionTruth(s, profile, scene.table, seen)),
    joints: scene.chains.flatMap((c) => jointsTruth(c, profile, seen)),
    free_ends: scene.chains.filter((c) => !c.closed).flatMap((c) => freeEnds(c, profile, seen)),
    side_clearances: nearest(all),
    chain_side_clearances: Object.fromEntries(scene.chains.map((c) => [c.id, nearest(c.sections)])),
    spacings: neighbours(scene.chains, profile.railTop),
  };
}

const round = (v, digits) => Number(v.toFixed(digits));
const deg = (rad) => round((((((rad * 180) / Math.PI + 180) % 360) + 360) % 360) - 180, 5);
const point = (p, z) => [round(p.x, 5), round(p.y, 5), z];
const at3 = (section, along, aside, z) => point(placeOn(section, along, aside), z);
const offsets = (profile) => ({ left: profile.headOffset, centre: 0, right: -profile.headOffset });

function cameraTruth(scene, camera) {
  return {
    width: camera.width,
    height: camera.height,
    fx: camera.fx,
    fy: camera.fx,
    cx: camera.cx,
    cy: camera.cy,
    k1: camera.k1,
    k2: camera.k2,
    p1: camera.p1,
    p2: camera.p2,
    R: camera.rotation,
    t: camera.translation,
    position: camera.position,
    f35_true: camera.f35,
    f35_exif: scene.lens.f35Exif,
    orientation_tag: scene.orientation,
  };
}

function profileTruth(p) {
  return {
    name: p.name,
    gauge: 31.75,
    rail_top: p.railTop,
    head_diameter: p.headWidth,
    head_centre_offsets: offsets(p),
    outside_face_offset: p.faceOffset,
    flange_top: p.flangeTop,
    flange_width: p.flangeWidth,
    pin_diameter: PIN_WIDTH,
  };
}

function markerTruth(sheet, seen) {
  const on = ([x, y]) => sheet.toTable(x, y).map((v) => round(v, 5));
  const h = sheet.side / 2;
  const corners = [
    [-h, h],
    [h, h],
    [h, -h],
    [-h, -h],
  ].map(on);
  const grid = Array.from({ length: 121 }, (_, i) =>
    on([(((i % 11) - 5) / 5) * h * 0.999, ((Math.floor(i / 11) - 5) / 5) * h * 0.999]),
  );
  const inFrame = corners.every(seen.inFrame);
  return {
    id: sheet.id,
    side: sheet.side,
    sheet: sheet.paper,
    centre: on([0, 0]),
    rotation_deg: round((sheet.turn * 180) / Math.PI, 5),
    corners,
    sheet_corners: [
      [sheet.left, sheet.top],
      [sheet.right, sheet.top],
      [sheet.right, sheet.bottom],
      [sheet.left, sheet.bottom],
    ].map(on),
    check_bar:
      sheet.bar === null
        ? null
        : {
            length: 2 * sheet.bar.half,
            ends: [
              [-sheet.bar.half, sheet.bar.y],
              [sheet.bar.half, sheet.bar.y],
            ].map(on),
          },
    curled: sheet.lifted !== null,
    corners_px: corners.map(seen.px),
    centre_px: seen.px(on([0, 0])),
    in_frame: inFrame,
    visible_fraction: round(
      grid.filter((p) => seen.inFrame(p) && seen.hiddenBy(p) === null && !seen.behindTrack(p)).length / grid.length,
      5,
    ),
  };
}

function clearanceAt(section, along, profile, table) {
  let best = null;
  for (const [rail, sign] of [
    ['left', 1],
    ['right', -1],
  ]) {
    const p = placeOn(section, along, sign * profile.faceOffset);
    for (const [side, clearance] of Object.entries(distances(p, table)))
      if (best === null || clearance < best.clearance) best = { side, clearance, rail, p };
  }
  return best;
}

const distances = (p, { length, width }) => ({ x0: p.x, xL: length - p.x, y0: p.y, yW: width - p.y });
const headMiddle = (profile) => profile.railTop - profile.headWidth / 2;

function sectionTruth(section, profile, table, seen) {
  const end = (along) => {
    const p = placeOn(section, along);
    return { point: point(p, profile.railTop), heading_deg: deg(p.heading) };
  };
  const steps = section.kind === 'straight' ? 1 : 8;
  const rails = Object.entries(offsets(profile));
  const hidden = hiddenSpans(section, rails, profile.railTop, seen);
  return {
    id: section.id,
    chain: section.chain,
    kind: section.kind,
    length: round(section.length, 5),
    radius: section.radius,
    angle_deg: section.radius === null ? null : round((section.angle * 180) / Math.PI, 5),
    start: end(0),
    middle: end(section.length / 2),
    end: end(section.length),
    pins_at: 'end',
    ties: section.ties.map((t) => round(t, 5)),
    clearances: [
      ['start', 0],
      ['middle', 0.5],
      ['end', 1],
    ].map(([at, share]) => {
      const { side, clearance, rail, p } = clearanceAt(section, share * section.length, profile, table);
      const where = point(p, headMiddle(profile));
      return { at, side, clearance: round(clearance, 5), rail, point: where, point_px: seen.px(where) };
    }),
    occluded: hidden.share > 0,
    visible_fraction: round(1 - hidden.share, 5),
    in_frame_fraction: hidden.inFrame,
    hidden_by: hidden.by,
    hidden_spans: hidden.spans,
    rails_px: Object.fromEntries(
      rails.map(([name, aside]) => [
        name,
        Array.from({ length: steps + 1 }, (_, i) =>
          seen.px(at3(section, (section.length * i) / steps, aside, profile.railTop)),
        ),
      ]),
    ),
  };
}

function hiddenSpans(section, rails, z, seen) {
  const n = Math.max(20, Math.ceil(section.length / 1.5));
  const spans = {};
  const by = new Set();
  let [hidden, inside] = [0, 0];
  for (const [name, aside] of rails) {
    let open = null;
    for (let i = 0; i <= n; i++) {
      const along = (section.length * i) / n;
      const p = at3(section, along, aside, z);
      if (seen.inFrame(p)) inside++;
      const cover = seen.hiddenBy(p);
      if (cover !== null) {
        hidden++;
        by.add(cover);
        open ??= [round(along, 5), 0];
        open[1] = round(along, 5);
      }
      if (open !== null && (cover === null || i === n)) {
        spans[name] = [...(spans[name] ?? []), open];
        open = null;
      }
    }
  }
  const total = rails.length * (n + 1);
  return { share: hidden / total, inFrame: round(inside / total, 5), by: [...by], spans };
}

function jointsTruth(chain, profile, seen) {
  return chain.joints.map((joint, i) => {
    const [a, b] = [chain.sections[i], chain.sections[(i + 1) % chain.sections.length]];
    const middle = a.end.heading + joint.skew / 2;
    const [c, s] = [Math.cos(middle), Math.sin(middle)];
    const rails = {};
    for (const [name, aside] of Object.entries(offsets(profile))) {
      const [p, q] = [placeOn(a, a.length, aside), placeOn(b, 0, aside)];
      const ends = [point(p, profile.railTop), point(q, profile.railTop)];
      const inFrame = ends.every(seen.inFrame);
      rails[name] = {
        gap: round((q.x - p.x) * c + (q.y - p.y) * s, 5),
        lateral: round((q.y - p.y) * c - (q.x - p.x) * s, 5),
        end_a: ends[0],
        end_b: ends[1],
        end_a_px: seen.px(ends[0]),
        end_b_px: seen.px(ends[1]),
        in_frame: inFrame,
        visible: inFrame && ends.every((e) => seen.hiddenBy(e) === null),
      };
    }
    const centre = [0, 1].map((k) => (rails.centre.end_a[k] + rails.centre.end_b[k]) / 2);
    return {
      id: `J-${a.id}-${b.id}`,
      chain: chain.id,
      a: a.id,
      b: b.id,
      open: joint.open,
      nominal_gap: joint.open ? round(joint.gap, 5) : null,
      gap: rails.centre.gap,
      skew_deg: deg(joint.skew),
      centre: [...centre.map((v) => round(v, 5)), profile.railTop],
      centre_px: seen.px([...centre, profile.railTop]),
      heading_deg: deg(middle),
      visible: Object.values(rails).every((r) => r.visible),
      rails,
    };
  });
}

function freeEnds(chain, profile, seen) {
  const last = chain.sections.at(-1);
  return [
    [chain.sections[0], 'start', 0],
    [last, 'end', last.length],
  ].map(([section, at, along]) => {
    const p = placeOn(section, along);
    const where = point(p, profile.railTop);
    return { section: section.id, at, point: where, heading_deg: deg(p.heading), px: seen.px(where) };
  });
}

/** Smallest distance to each side: at the ends, and where an arc runs along the side. */
function sideClearances(sections, profile, table, seen) {
  const found = {};
  for (const section of sections)
    for (const along of [0, section.length, ...turningPlaces(section)])
      for (const [rail, sign] of [
        ['left', 1],
        ['right', -1],
      ]) {
        const p = placeOn(section, along, sign * profile.faceOffset);
        for (const [side, clearance] of Object.entries(distances(p, table)))
          if (found[side] === undefined || clearance < found[side].clearance)
            found[side] = { clearance, section: section.id, rail, p };
      }
  return Object.fromEntries(
    Object.entries(found).map(([side, { clearance, section, rail, p }]) => {
      const where = point(p, headMiddle(profile));
      const px = seen.px(where);
      return [
        side,
        { clearance: round(clearance, 5), section, rail, point: where, point_px: px, in_frame: seen.inFrame(where) },
      ];
    }),
  );
}

function turningPlaces(section) {
  if (section.kind === 'straight') return [];
  const places = [];
  for (let quarter = -12; quarter <= 12; quarter++) {
    const along = ((quarter * Math.PI) / 2 - section.start.heading) * Math.sign(section.angle) * section.radius;
    if (along > 0 && along < section.length) places.push(along);
  }
  return places;
}
