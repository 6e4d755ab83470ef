import { lamp } from './scene-catalogue.mjs';
import { corner, loopTokens } from './track-layout.mjs';

/** Scenes that vary track, table, light, lens and camera together. */

const degrees = Math.PI / 180;
const S = 222.25;
const H = 111.1;

export const variedScenes = [
  {
    id: 'E5',
    seed: 505,
    phone: 'tall',
    orientation: 6,
    profile: 'low',
    table: { length: 1700, width: 1000, finish: { kind: 'grass', seed: 51 }, sideColour: [0.3, 0.22, 0.12] },
    view: { headingDeg: -93, tiltDeg: 29, leanDeg: 4, rollDeg: 1, margin: 0.04 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 440, y: 92, headingDeg: 0.6 },
        tokens: loopTokens([[S, { gap: 24 }, S, S, H], [], [S, S, { gap: 36.5 }, { cut: 190 }, H], []], 320, 45),
      },
    ],
    markers: [
      { id: 70, side: 100, x: 560, y: 470, turnDeg: -70, paper: 'A5' },
      { id: 71, side: 100, x: 1160, y: 430, turnDeg: 140, paper: 'A5' },
    ],
    lights: [{ at: [600, 2600, 1300], half: [450, 80, 450], colour: [0.4, 0.42, 0.45] }],
    ambient: [0.45, 0.46, 0.47],
    things: [
      { what: 'wagon', x: 1080, y: 98, z: 11, turn: 0.6 * degrees, length: 200, colour: [0.35, 0.12, 0.02] },
      { what: 'wagon', x: 1010, y: 734, z: 11, turn: 0.5 * degrees, length: 170, load: [0.02, 0.02, 0.02] },
      { what: 'house', x: 820, y: 640, turn: 0.7, colour: [0.45, 0.3, 0.03] },
      { what: 'tree', x: 300, y: 480 },
      { what: 'tree', x: 1580, y: 900, size: 1.2 },
      { what: 'stool', x: 1000, y: 1350, z: -740, turn: 1.2 },
    ],
    develop: { shot: 0.02, exposure: 0.95 },
  },
  {
    id: 'E6',
    seed: 606,
    table: {
      length: 2440,
      width: 1220,
      finish: { kind: 'paint', seed: 61, colour: [0.055, 0.13, 0.07] },
      sideColour: [0.3, 0.2, 0.1],
    },
    view: { headingDeg: 178, tiltDeg: 7, leanDeg: 30, rollDeg: 1, margin: 0.025 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 520, y: 32, headingDeg: 0.1 },
        tokens: loopTokens(
          [
            [254, 254, { gap: 17 }, 254, 254, 254],
            [254, { gap: 9 }, 127],
            [254, 254, 254, { gap: 44 }, 254, { cut: 200 }],
            [127, { cut: 240 }],
          ],
          381,
          45,
        ),
      },
    ],
    markers: [
      { id: 80, side: 80, x: 180, y: 610, turnDeg: 60, paper: 'A6' },
      { id: 81, side: 80, x: 2300, y: 130, turnDeg: -40, paper: 'A6' },
      { id: 82, side: 80, x: 1250, y: 620, turnDeg: 190, paper: 'A6' },
      { id: 83, side: 80, x: 700, y: 420, turnDeg: 110, paper: 'A6' },
      { id: 84, side: 80, x: 1850, y: 800, turnDeg: -120, paper: 'A6' },
    ],
    lights: [lamp(700, 200, 1500, 30, [0.62, 0.6, 0.55])],
    ambient: [0.3, 0.3, 0.32],
    floor: { kind: 'carpet', seed: 6 },
    things: [
      { what: 'rule', x: 1250, y: 860, turn: 0.3 },
      { what: 'tin', x: 900, y: 780 },
      { what: 'carton', x: 300, y: -420, z: -740, turn: 0.8, length: 500, width: 350, height: 250 },
    ],
    develop: { contrast: 0.4, sharpen: 0.6, shot: 0.018 },
  },
  {
    id: 'E7',
    seed: 707,
    table: {
      length: 1980,
      width: 1220,
      finish: {
        kind: 'boards',
        seed: 71,
        boardWidth: 145,
        seam: 0.7,
        light: [0.55, 0.4, 0.2],
        dark: [0.4, 0.25, 0.11],
      },
      sideColour: [0.5, 0.33, 0.16],
    },
    view: {
      headingDeg: 2,
      tiltDeg: 6,
      leanDeg: 80,
      rollDeg: -1,
      margin: 0.05,
      keep: [
        [-60, -60, 0],
        [1200, -60, 0],
        [1200, 560, 0],
        [-60, 560, 0],
      ],
    },
    chains: [
      {
        id: 'A',
        closed: false,
        start: { x: 60, y: 58, headingDeg: 0.9 },
        tokens: [254, { gap: 8 }, 127, 254, { gap: 30 }, 254],
      },
      {
        id: 'B',
        closed: false,
        start: { x: 110, y: 190, headingDeg: 0.4 },
        tokens: [127, { gap: 50 }, 254, 254, { gap: 20 }, 127],
      },
      { id: 'C', closed: false, start: { x: 90, y: 330, headingDeg: -0.6 }, tokens: [254, 254, { gap: 14 }, 180] },
    ],
    markers: [
      { id: 90, side: 100, x: 250, y: 460, turnDeg: 175, paper: 'A5' },
      { id: 91, side: 100, x: 1020, y: 440, turnDeg: 8, paper: 'A5' },
    ],
    lights: [lamp(500, 600, 1900, 300, [0.45, 0.44, 0.42])],
    ambient: [0.45, 0.44, 0.43],
    floor: { kind: 'tiles', seed: 12 },
    things: [{ what: 'pencil', x: 560, y: 480, turn: -0.2 }],
    develop: { shot: 0.014, contrast: 0.15 },
  },
  {
    id: 'E8',
    seed: 808,
    table: {
      length: 2440,
      width: 1220,
      finish: { kind: 'laminate', seed: 81, gloss: 0.04, spread: 0.25 },
      sideColour: [0.7, 0.68, 0.66],
    },
    view: { headingDeg: 12, tiltDeg: 22, leanDeg: -35, rollDeg: 2, margin: 0.03 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 700, y: 46, headingDeg: 0.2 },
        tokens: loopTokens(
          [[254, { gap: 9 }, 254, 254, 254], [], [254, 254, { gap: 18 }, 254, { cut: 245 }], []],
          520,
          30,
        ),
      },
    ],
    markers: [
      { id: 100, side: 120, x: 620, y: 500, turnDeg: 33, paper: 'A5' },
      { id: 101, side: 120, x: 1780, y: 640, turnDeg: -62, paper: 'A5' },
    ],
    lights: [{ at: [1100, 3000, 1100], half: [700, 60, 500], colour: [0.62, 0.62, 0.64] }],
    ambient: [0.42, 0.41, 0.4],
    ceilingTilt: [0, 0.9],
    floor: { kind: 'boards', seed: 82, boardWidth: 90, light: [0.09, 0.05, 0.03], dark: [0.04, 0.025, 0.015] },
    wall: { away: 260, colour: [0.34, 0.31, 0.27] },
    things: [
      { what: 'wagon', x: 1000, y: 1086, turn: 0.2 * degrees, length: 230, colour: [0.3, 0.2, 0.02] },
      { what: 'house', x: 240, y: 1080, turn: 0.2, colour: [0.5, 0.1, 0.02] },
      { what: 'tree', x: 1200, y: 640 },
      { what: 'mug', x: 1430, y: 330, colour: [0.02, 0.05, 0.2] },
    ],
    develop: { exposure: 1.12, balance: [1.05, 1, 0.9], shot: 0.03 },
  },
  {
    id: 'E9',
    seed: 909,
    phone: 'fine',
    table: {
      length: 2200,
      width: 1300,
      finish: { kind: 'foam', seed: 91, colour: [0.2, 0.36, 0.5] },
      thickness: 30,
      sideColour: [0.2, 0.36, 0.5],
    },
    view: { headingDeg: -8, tiltDeg: 25, leanDeg: 15, rollDeg: -1, margin: 0.03 },
    chains: [
      {
        id: 'A',
        closed: false,
        start: { x: 110, y: 300, headingDeg: -6 },
        tokens: [
          254,
          { gap: 31 },
          127,
          ...corner(381, 45, 1, 1),
          ...corner(520, 30, -1, 1),
          { gap: 12 },
          254,
          127,
          ...corner(686, 22.5, -1, 2),
          { gap: 60 },
          190,
        ],
      },
    ],
    markers: [
      { id: 110, side: 120, x: 330, y: 900, turnDeg: 15, paper: 'A5' },
      { id: 111, side: 120, x: 1250, y: 300, turnDeg: -100, paper: 'A5' },
      { id: 112, side: 120, x: 1950, y: 1080, turnDeg: 45, paper: 'A5' },
    ],
    lights: [
      lamp(1900, 1500, 1300, 90, [0.45, 0.43, 0.4]),
      { at: [-2200, 500, 1000], half: [60, 500, 400], colour: [0.25, 0.27, 0.3] },
    ],
    ambient: [0.32, 0.33, 0.34],
    floor: { kind: 'concrete', seed: 19 },
    things: [
      { what: 'house', x: 700, y: 1050, turn: 0.4, colour: [0.4, 0.35, 0.25] },
      {
        what: 'wire',
        points: [
          [1000, 180],
          [1150, 120],
          [1400, 150],
          [1560, 100],
          [1700, 160],
        ],
      },
      { what: 'driver', x: 1300, y: 900, turn: 0.2 },
      { what: 'tree', x: 600, y: 150 },
      { what: 'carton', x: 2600, y: 500, z: -740, turn: 0.2, length: 400, width: 400, height: 400 },
    ],
    develop: { blur: 0.8, shot: 0.035, sharpen: 0.5, quality: 85 },
  },
  {
    id: 'E10',
    seed: 1010,
    phone: 'tall',
    table: {
      length: 1830,
      width: 1220,
      finish: { kind: 'plywood', seed: 103, light: [0.62, 0.5, 0.33], dark: [0.5, 0.36, 0.2] },
    },
    view: { headingDeg: 86, tiltDeg: 14, leanDeg: -8, rollDeg: 0.5, margin: 0.025 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 690, y: 54, headingDeg: 0.4 },
        tokens: loopTokens([[254, { gap: 27 }, 127], [], [127, { cut: 230 }, { gap: 11 }], []], 520, 30),
      },
    ],
    markers: [
      { id: 120, side: 60, x: 640, y: 640, turnDeg: -30, paper: 'A6' },
      { id: 121, side: 60, x: 1220, y: 520, turnDeg: 80, paper: 'A6' },
      {
        id: 122,
        side: 60,
        x: 900,
        y: 300,
        turnDeg: 200,
        paper: 'A6',
        lifted: { towardDeg: 40, from: 5, bend: 130 },
      },
    ],
    lights: [lamp(2300, 1400, 900, 35, [0.55, 0.5, 0.42])],
    ambient: [0.28, 0.27, 0.26],
    floor: { kind: 'carpet', seed: 106, colour: [0.2, 0.06, 0.05] },
    things: [
      { what: 'mug', x: 1000, y: 760, colour: [0.5, 0.5, 0.5] },
      { what: 'rule', x: 830, y: 830, turn: 1.2 },
    ],
    develop: { exposure: 1.0, balance: [1.08, 1, 0.85], shot: 0.026, blur: 0.65 },
  },
  {
    id: 'E11',
    seed: 1111,
    orientation: 3,
    profile: 'low',
    table: {
      length: 1830,
      width: 1220,
      finish: { kind: 'paint', seed: 113, colour: [0.36, 0.36, 0.37] },
      sideColour: [0.2, 0.2, 0.2],
    },
    view: { headingDeg: -172, tiltDeg: 18, leanDeg: 22, rollDeg: -1.5, margin: 0.035 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 430, y: 150, headingDeg: -0.5 },
        tokens: loopTokens(
          [[S, S, { gap: 15 }, S, H], [H], [S, { gap: 42 }, S, S, { cut: 150 }], [{ cut: 112 }]],
          320,
          45,
        ),
      },
      { id: 'B', closed: false, start: { x: 420, y: 245, headingDeg: -0.3 }, tokens: [S, { gap: 22 }, S, H] },
    ],
    markers: [
      { id: 130, side: 120, x: 560, y: 600, turnDeg: 160, paper: 'A5' },
      { id: 131, side: 120, x: 1180, y: 600, turnDeg: -20, paper: 'A5' },
    ],
    lights: [lamp(400, 900, 1700, 200, [0.5, 0.49, 0.47])],
    ambient: [0.4, 0.4, 0.41],
    floor: { kind: 'tiles', seed: 114, size: 420, colour: [0.22, 0.2, 0.18] },
    things: [
      { what: 'wagon', x: 1150, y: 876, z: 11, turn: -0.5 * degrees, length: 160, height: 50 },
      { what: 'pencil', x: 800, y: 420, turn: 1 },
    ],
    develop: { quality: 92, shot: 0.02 },
  },
  {
    id: 'E12',
    seed: 1212,
    table: {
      length: 2000,
      width: 1100,
      finish: {
        kind: 'boards',
        seed: 121,
        boardWidth: 110,
        seam: 1.1,
        light: [0.5, 0.33, 0.16],
        dark: [0.33, 0.19, 0.08],
      },
      sideColour: [0.42, 0.27, 0.13],
    },
    view: { headingDeg: 24, tiltDeg: 33, leanDeg: 5, rollDeg: 0, margin: 0.03 },
    chains: [
      {
        id: 'A',
        closed: true,
        start: { x: 520, y: 100, headingDeg: -0.7 },
        tokens: loopTokens(
          [[254, 127, { gap: 8.5 }, 254, 254], [], [254, 254, { gap: 57 }, { cut: 200 }, 127], []],
          381,
          45,
        ),
      },
    ],
    markers: [
      { id: 140, side: 120, x: 700, y: 450, turnDeg: 20, paper: 'A5' },
      { id: 141, side: 120, x: 1420, y: 520, turnDeg: -160, paper: 'A5' },
    ],
    lights: [
      lamp(300, 1300, 1500, 60, [0.5, 0.46, 0.4]),
      { at: [4300, 200, 1200], half: [50, 500, 400], colour: [0.25, 0.26, 0.28] },
    ],
    ambient: [0.3, 0.3, 0.3],
    wall: { away: 300, colour: [0.45, 0.42, 0.36] },
    floor: { kind: 'boards', seed: 122, boardWidth: 120, light: [0.2, 0.12, 0.06], dark: [0.13, 0.075, 0.035] },
    things: [
      { what: 'house', x: 1000, y: 720, turn: 0.1, colour: [0.3, 0.05, 0.04] },
      { what: 'wagon', x: 640, y: 99, turn: -0.7 * degrees, length: 150, colour: [0.02, 0.05, 0.2] },
      { what: 'tree', x: 250, y: 950 },
      { what: 'tin', x: 1100, y: 300 },
    ],
    develop: { shot: 0.024, contrast: 0.35 },
  },
];
