import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export interface DxfEntity {
  readonly type: string;
  readonly layer: string;
  /** Vertices, start and end, or the centre: in the drawing's unit. */
  readonly points: readonly (readonly [number, number])[];
  readonly radius: number | null;
  readonly text: string | null;
  readonly angles: readonly [number, number] | null;
}

export interface DxfFile {
  readonly errors: readonly string[];
  readonly unit: number;
  readonly layers: readonly string[];
  readonly entities: readonly DxfEntity[];
}

/** Whether Debian's python3-ezdxf is there, an independent reader of DXF; tests skip without it. */
export const canReadDxf = spawnSync('/usr/bin/python3', ['-c', 'import ezdxf']).status === 0;

const script = `
import json, sys
from ezdxf import recover
doc, audit = recover.readfile(sys.argv[1])
def entity(e):
    kind = e.dxftype()
    points, radius, text, angles = [], None, None, None
    if kind == 'LWPOLYLINE': points = [list(p) for p in e.get_points('xy')]
    elif kind == 'LINE': points = [[e.dxf.start.x, e.dxf.start.y], [e.dxf.end.x, e.dxf.end.y]]
    elif kind in ('ARC', 'CIRCLE'): points, radius = [[e.dxf.center.x, e.dxf.center.y]], e.dxf.radius
    elif kind == 'TEXT': points, text = [[e.dxf.insert.x, e.dxf.insert.y]], e.dxf.text
    if kind == 'ARC': angles = [e.dxf.start_angle, e.dxf.end_angle]
    return dict(type=kind, layer=e.dxf.layer, points=points, radius=radius, text=text, angles=angles)
print(json.dumps(dict(
    errors=[x.message for x in list(audit.errors) + list(audit.fixes)],
    unit=doc.header['$INSUNITS'],
    layers=[l.dxf.name for l in doc.layers],
    entities=[entity(e) for e in doc.modelspace()])))
`;

export function readDxf(text: string): DxfFile {
  const folder = mkdtempSync(join(tmpdir(), 'gapwright-dxf-'));
  try {
    const file = join(folder, 'in.dxf');
    writeFileSync(file, text);
    const run = spawnSync('/usr/bin/python3', ['-c', script, file], { encoding: 'utf8' });
    if (run.status !== 0) throw new Error(run.stderr);
    return JSON.parse(run.stdout);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
