import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));

type Point3 = [number, number, number];
type Point2 = [number, number];

interface TruthEnd {
  point: Point3;
  heading_deg: number;
}

/** What samples/*.json says about a rendered photo, as far as these tests use it. Millimetres, degrees, pixels. */
export interface SceneTruth {
  photo: string;
  camera: {
    width: number;
    height: number;
    fx: number;
    fy: number;
    cx: number;
    cy: number;
    k1: number;
    k2: number;
    p1: number;
    p2: number;
    R: number[][];
    t: number[];
  };
  table: { length: number; width: number; corners: Point3[]; corners_px: Point2[] };
  profile: {
    gauge: number;
    rail_top: number;
    head_diameter: number;
    head_centre_offsets: Record<'left' | 'centre' | 'right', number>;
    outside_face_offset: number;
  };
  markers: { id: number; side: number; centre: Point3; corners: Point3[]; corners_px: Point2[] }[];
  chains: { id: string; closed: boolean; sections: string[] }[];
  sections: {
    id: string;
    kind: 'straight' | 'curve';
    length: number;
    radius: number | null;
    angle_deg: number | null;
    start: TruthEnd;
    middle: TruthEnd;
    end: TruthEnd;
    rails_px: Record<'left' | 'centre' | 'right', Point2[]>;
  }[];
  joints: {
    id: string;
    chain: string;
    a: string;
    b: string;
    open: boolean;
    gap: number;
    skew_deg: number;
    centre: Point3;
    centre_px: Point2;
    heading_deg: number;
    visible: boolean;
    rails: Record<'left' | 'centre' | 'right', { gap: number; end_a_px: Point2; end_b_px: Point2 }>;
  }[];
  side_clearances: Record<
    'x0' | 'xL' | 'y0' | 'yW',
    { clearance: number; section: string; point: Point3; point_px: Point2 }
  >;
  spacings: unknown[];
}

/** Path of a sample photo or its truth. */
export function samplePath(file: string): string {
  return join(root, 'samples', file);
}

/** The truth of a sample photo; null when this copy of the project has no samples. */
export function sceneTruth(name: string): SceneTruth | null {
  const path = samplePath(`${name}.json`);
  return existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as SceneTruth) : null;
}
