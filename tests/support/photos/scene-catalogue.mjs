import { seededNumbers } from './noise.mjs';
import { cameraOver } from './scene-camera.mjs';
import { corner, layChain, loopTokens } from './track-layout.mjs';

/** Descriptions of the scenes; every number that is not given here is drawn from the scene's seed. */

const degrees = Math.PI / 180;
export const lamp = (x, y, z, size, colour) => ({ at: [x, y, z], half: [size, size, 0], colour });

const phones = {
  wide: { width: 4032, height: 3024 },
  tall: { width: 3024, height: 4032 },
  fine: { width: 5712, height: 4284 },
  small: { width: 1920, height: 1440 },
};

/** Completes a description: lens, camera, track laid, defaults. @returns { scene, camera } */
export function buildScene(description) {
  const random = seededNumbers(description.seed);
  const size = phones[description.phone ?? 'wide'];
  const f35 = description.f35 ?? random.between(24, 27.5);
  const f35Exif = Math.round(f35 * (1 + 0.01 * (2 * random.next() - 1)));
  const lens = {
    ...size,
    f35,
    cx: Number(((size.width - 1) / 2 + random.between(-12, 12)).toFixed(1)),
    cy: Number(((size.height - 1) / 2 + random.between(-12, 12)).toFixed(1)),
    k1: random.between(-0.07, 0.01),
    k2: random.between(-0.005, 0.02),
    p1: random.between(-3e-4, 3e-4),
    p2: random.between(-3e-4, 3e-4),
    ...description.lens,
  };
  const { length, width } = description.table;
  const corners = [
    [0, 0, 0],
    [length, 0, 0],
    [length, width, 0],
    [0, width, 0],
  ];
  const camera = cameraOver(lens, description.view, description.view.keep ?? corners);
  const scene = {
    profile: 'tall',
    floorZ: -740,
    floor: { kind: 'concrete', seed: description.seed + 40 },
    wall: null,
    rust: 0,
    roughness: 0.12,
    grain: 0.4,
    pinShine: 0.5,
    ceiling: [1.1, 1.08, 1.04],
    ceilingTilt: [0, 0],
    things: [],
    orientation: 1,
    ...description,
    table: {
      thickness: 18,
      sideColour: [
        [0.42, 0.3, 0.18],
        [0.25, 0.16, 0.09],
      ],
      ...description.table,
    },
    lens: { ...lens, f35Exif },
    develop: {
      exposure: 0.85,
      balance: [1.02, 1, 0.96],
      vignette: 0.22,
      blur: 0.4,
      sharpen: 0.55,
      shot: 0.022,
      read: 0.003,
      contrast: 0.25,
      quality: 90,
      ...description.develop,
    },
  };
  scene.chains = description.chains.map((chain) =>
    layChain({ ...chain, start: { ...chain.start, heading: chain.start.headingDeg * degrees } }, random),
  );
  return { scene, camera };
}

/** A row of three straights beside a table corner, small enough to be rendered in a test. */
export const smallRow = {
  id: 'small-row',
  seed: 31,
  phone: 'small',
  table: { length: 1500, width: 900, finish: { kind: 'paint', seed: 3, colour: [0.3, 0.31, 0.33] } },
  view: {
    headingDeg: -2,
    tiltDeg: 9,
    leanDeg: 20,
    margin: 0.03,
    keep: [
      [-50, -50, 0],
      [800, -50, 0],
      [800, 420, 0],
      [-50, 420, 0],
    ],
  },
  chains: [
    {
      id: 'A',
      closed: false,
      start: { x: 45, y: 66, headingDeg: 0.9 },
      tokens: [254, { gap: 12 }, 127, { gap: 45 }, 254],
    },
  ],
  markers: [
    { id: 17, side: 120, x: 250, y: 270, turnDeg: 20, paper: 'A5' },
    { id: 18, side: 120, x: 640, y: 300, turnDeg: -70, paper: 'A5' },
  ],
  lights: [lamp(500, 500, 1700, 200, [0.5, 0.49, 0.46])],
  ambient: [0.4, 0.4, 0.4],
  develop: { shot: 0.016 },
};

export const firstScenes = [
  {
    id: 'E1',
    seed: 101,
    table: { length: 1830, width: 1220, finish: { kind: 'plywood', seed: 11 } },
    view: { headingDeg: 3, tiltDeg: 11, leanDeg: 12, rollDeg: 1, margin: 0.03 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 570, y: 82, headingDeg: 0.7 },
        tokens: loopTokens([[254, { gap: 33 }, 127, 254], [], [127, 254, { gap: 47.5 }, { cut: 240 }], []], 381, 45),
      },
    ],
    markers: [{ id: 7, side: 150, x: 880, y: 600, turnDeg: 24, paper: 'A4' }],
    lights: [lamp(1100, 900, 1650, 160, [0.42, 0.4, 0.37]), lamp(-1800, 300, 1500, 420, [0.2, 0.21, 0.23])],
    ambient: [0.4, 0.39, 0.38],
    things: [
      { what: 'driver', x: 440, y: 560, turn: 0.4 },
      { what: 'tin', x: 1690, y: 1100 },
      { what: 'stool', x: 900, y: -330, z: -740, turn: 0.2 },
    ],
  },
  {
    id: 'E2',
    seed: 202,
    table: { length: 2440, width: 1220, finish: { kind: 'laminate', seed: 21 }, sideColour: [0.6, 0.58, 0.55] },
    view: { headingDeg: -4, tiltDeg: 15, leanDeg: -10, rollDeg: -1, margin: 0.025 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 640, y: 68, headingDeg: -0.2 },
        tokens: loopTokens(
          [[254, 254, { gap: 21 }, 254, 254], [], [254, 254, 254, { gap: 38 }, { cut: 236 }], []],
          520,
          30,
        ),
      },
      {
        id: 'B',
        closed: true,
        start: { x: 660, y: 206, headingDeg: -0.1 },
        tokens: loopTokens(
          [[254, { gap: 12.5 }, 254, 254, 127], [], [{ cut: 130 }, 254, 254, { gap: 55 }, 203], []],
          381,
          45,
        ),
      },
    ],
    markers: [
      { id: 41, side: 120, x: 125, y: 140, turnDeg: 40, paper: 'A5' },
      { id: 42, side: 120, x: 2290, y: 1080, turnDeg: -140, paper: 'A5' },
      { id: 43, side: 120, x: 950, y: 640, turnDeg: 95, paper: 'A5' },
      { id: 44, side: 120, x: 1640, y: 560, turnDeg: 12, paper: 'A5' },
    ],
    lights: [lamp(900, 700, 1700, 110, [0.5, 0.48, 0.44]), lamp(2300, 400, 1750, 110, [0.25, 0.24, 0.22])],
    ambient: [0.36, 0.36, 0.37],
    floor: { kind: 'boards', seed: 5, boardWidth: 140 },
    things: [
      { what: 'pencil', x: 1240, y: 820, turn: 0.6 },
      { what: 'mug', x: 1250, y: 420 },
      { what: 'carton', x: 2500, y: -350, z: -740, turn: 0.3, length: 420, width: 320, height: 300 },
    ],
    develop: { balance: [1.0, 1, 1.0], exposure: 0.9, shot: 0.03 },
  },
  {
    id: 'E3',
    seed: 303,
    table: {
      length: 1830,
      width: 1220,
      finish: { kind: 'foam', seed: 31, colour: [0.62, 0.38, 0.4] },
      sideColour: [0.6, 0.4, 0.42],
    },
    view: { headingDeg: 186, tiltDeg: 21, leanDeg: 6, rollDeg: 1.5, margin: 0.035 },
    chains: [
      {
        id: 'A',
        closed: false,
        start: { x: 150, y: 120, headingDeg: 1.4 },
        tokens: [
          254,
          { gap: 26 },
          254,
          127,
          ...corner(520, 30, 1, 1),
          ...corner(686, 22.5, 1, 2),
          { gap: 15 },
          127,
          { gap: 58 },
          160,
        ],
      },
    ],
    markers: [
      { id: 51, side: 120, x: 480, y: 760, turnDeg: 205, paper: 'A5' },
      { id: 52, side: 120, x: 1600, y: 260, turnDeg: 150, paper: 'A5' },
    ],
    lights: [{ at: [2900, 1900, 900], half: [100, 500, 450], colour: [0.5, 0.53, 0.58] }],
    ambient: [0.42, 0.4, 0.38],
    floor: { kind: 'boards', seed: 8, boardWidth: 110, light: [0.36, 0.2, 0.09] },
    pinShine: 0.9,
    things: [
      { what: 'wagon', x: 590, y: 131, turn: 1.4 * degrees, load: [0.03, 0.03, 0.035] },
      { what: 'house', x: 280, y: 420, turn: 0.3, colour: [0.04, 0.14, 0.05] },
      { what: 'house', x: 640, y: 480, turn: -0.5, colour: [0.06, 0.08, 0.3] },
      { what: 'tree', x: 900, y: 700, size: 1 },
      { what: 'tree', x: 1000, y: 850, size: 0.8 },
      { what: 'mug', x: 1700, y: 1080 },
      {
        what: 'wire',
        points: [
          [260, 1080],
          [480, 1000],
          [700, 980],
          [930, 1030],
          [1080, 1140],
        ],
      },
      { what: 'driver', x: 800, y: 320, turn: 2.2, colour: [0.6, 0.15, 0.02] },
      { what: 'carton', x: 1700, y: 700, turn: 0.5 },
      { what: 'carton', x: -350, y: 500, z: -740, turn: 0.1, length: 420, width: 380, height: 350 },
    ],
    develop: { balance: [0.99, 1, 1.02], shot: 0.025 },
  },
  {
    id: 'E4',
    seed: 404,
    table: {
      length: 2000,
      width: 860,
      thickness: 40,
      finish: {
        kind: 'door',
        seed: 41,
        gloss: 0.05,
        spread: 0.16,
        panels: [
          { x0: 120, y0: 110, x1: 900, y1: 750 },
          { x0: 1020, y0: 110, x1: 1880, y1: 750 },
        ],
      },
      sideColour: [0.2, 0.07, 0.03],
    },
    view: { headingDeg: 9, tiltDeg: 17, leanDeg: -20, rollDeg: -2, margin: 0.03 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 480, y: 52, headingDeg: 0.5 },
        tokens: loopTokens(
          [[254, 254, { gap: 28 }, 254, 254], [], [254, { gap: 41 }, 254, 254, { cut: 240 }], []],
          381,
          45,
        ),
      },
    ],
    markers: [{ id: 61, side: 150, x: 980, y: 470, turnDeg: -18, paper: 'A4' }],
    lights: [lamp(1150, 420, 900, 45, [0.72, 0.55, 0.34])],
    ambient: [0.13, 0.1, 0.07],
    rust: 0.2,
    roughness: 0.16,
    ceiling: [0.6, 0.46, 0.3],
    floor: { kind: 'boards', seed: 9, boardWidth: 160 },
    things: [
      { what: 'pencil', x: 1350, y: 380, turn: 1.9 },
      { what: 'tree', x: 140, y: 720, size: 0.8 },
      { what: 'carton', x: 620, y: 420, turn: 0.3 },
    ],
    develop: { balance: [1.1, 1, 0.78], exposure: 1.2, shot: 0.035, read: 0.004, quality: 88, blur: 0.7 },
  },
];
