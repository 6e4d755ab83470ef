import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import type { Report } from '../../../server/contract/report.js';
import { annotatedPlanPng, overlaySvg } from '../../../server/exports/annotated-plan.js';
import { layoutDrawing } from '../../../server/exports/layout-drawing.js';
import { layoutDxf, layoutSvg } from '../../../server/exports/layout-files.js';
import { reportCsv } from '../../../server/exports/report-csv.js';
import { textPath } from '../../../server/exports/text-paths.js';
import { gapPlan, gapReport, ruledPlan } from '../../support/bench-plans.js';
import { readCsv } from '../../support/read-csv.js';
import { canReadDxf, type DxfEntity, readDxf } from '../../support/read-dxf.js';

const lengths = [50.8, 101.6];
const report = gapReport(lengths);
const plan = gapPlan(lengths);
const accessories = [{ name: 'tower & shed', centre: [1100, 600], widthMm: 90, depthMm: 60, angleRad: 0.4 }] as const;
const inches = { style: { unit: 'in', denominator: 16 }, accessories } as const;
const mm = { style: { unit: 'mm', denominator: 16 }, accessories } as const;

describe('report as CSV', () => {
  it('keeps what the photos say, with a row of its own for each gap in which a rule counts', () => {
    const ruled = readCsv(reportCsv(report, inches.style, ruledPlan(plan, 'J2', 103)));
    const of = (what: string) => ruled.filter((r) => r[0] === what && r[1] === 'J2').map((r) => r[4]);
    expect([of('open gap'), of('open gap by the rule')]).toEqual([['101.9'], ['103']]);
    const checked = readCsv(reportCsv(report, mm.style, ruledPlan(plan, 'J2', 102.3)));
    const row = checked.find((r) => r[0] === 'open gap checked with the rule') ?? [];
    // Weights 4 : 9 of 102.3 and 101.9.
    expect([row[1], Number(row[4]).toFixed(2)]).toEqual(['J2', '102.02']);
    expect(row.at(-1)).toContain('the rule, which says 102.3 ± 0.6 mm');
    expect(checked.some((r) => r[0] === 'open gap by the rule')).toBe(false);
    expect(ruled).toHaveLength(readCsv(reportCsv(report, inches.style, plan)).length + 1);
  });

  const [head, ...rows] = readCsv(reportCsv(report, inches.style));

  it('reads back every joint, clearance and piece within 0.01 mm, with ± at 95 %', () => {
    const gap = rows.find((r) => r[0] === 'open gap' && r[1] === 'J2') as string[];
    expect(Math.abs(Number(gap[head.indexOf('length_mm')]) - 101.9)).toBeLessThan(0.01);
    expect(Number(gap[head.indexOf('plus_minus_mm_95')])).toBeCloseTo(1.96 * 0.2, 3);
    expect(gap[head.indexOf('length')]).toBe('4 in ± 0.03 in');
    const count = (what: string) => rows.filter((r) => r[0] === what).length;
    expect(count('side')).toBe(4);
    expect(count('straight') + count('curve radius')).toBe(report.runs[0].pieces.length);
    expect(count('clearance')).toBe(report.clearances.length);
  });

  it('keeps what was not seen as its own row, with an empty length', () => {
    expect(rows.find((r) => r[0] === 'not seen')).toEqual([
      'not seen',
      '',
      'R1',
      '',
      '',
      '',
      '',
      '580',
      '942',
      'covered',
    ]);
  });
});

describe('layout as DXF', () => {
  const layer = (entities: readonly DxfEntity[], name: string) => entities.filter((e) => e.layer === name);
  const span = (e: DxfEntity) => Math.hypot(e.points[1][0] - e.points[0][0], e.points[1][1] - e.points[0][1]);

  it.skipIf(!canReadDxf)('carries the layers, the unit, and the planned fillers within 0.01 mm', () => {
    const file = readDxf(layoutDxf(report, plan, inches));
    expect(file.errors).toEqual([]);
    expect(file.unit).toBe(1);
    for (const name of ['table-edge', 'rails', 'centre-lines', 'fillers', 'accessories'])
      expect(file.layers).toContain(name);
    const fillers = layer(file.entities, 'fillers').map((e) => span(e) * 25.4);
    expect(fillers).toHaveLength(2);
    fillers.forEach((found, i) => {
      expect(Math.abs(found - lengths[i])).toBeLessThan(0.01);
    });
  });

  it.skipIf(!canReadDxf)('draws table, curves and gauge as measured', () => {
    const { entities, unit } = readDxf(layoutDxf(report, null, mm));
    expect(unit).toBe(4);
    expect(layer(entities, 'table-edge')[0].points).toEqual(report.table.outline);
    const arcs = layer(entities, 'centre-lines').filter((e) => e.type === 'ARC');
    expect(arcs).toHaveLength(8);
    for (const arc of arcs) {
      expect(arc.radius).toBeCloseTo(381, 2);
      const [from, to] = arc.angles as readonly [number, number];
      expect((to - from + 360) % 360).toBeCloseTo(45, 6);
    }
    const radii = [...new Set(layer(entities, 'rails').flatMap((e) => (e.radius === null ? [] : [e.radius])))].sort();
    // Middles of the outer rail heads: gauge 31.75 + head 4.6 apart.
    expect(radii[1] - radii[0]).toBeCloseTo(36.35, 2);
    expect(layer(entities, 'open-gaps').map(span)).toEqual([expect.closeTo(51.1, 2), expect.closeTo(101.9, 2)]);
  });
});

describe('layout as SVG', () => {
  it('is at true size with a group for each layer, and opens in librsvg', async () => {
    const svg = layoutSvg(report, plan, mm);
    const [width, viewWidth] = (/width="([\d.]+)mm".*viewBox="0 0 ([\d.]+)/.exec(svg) ?? []).slice(1).map(Number);
    expect(width).toBe(viewWidth);
    expect(width).toBeGreaterThan(2440);
    for (const id of ['table-edge', 'rails', 'centre-lines', 'fillers', 'accessories'])
      expect(svg).toContain(`<g id="${id}"`);
    expect(svg).toContain('tower &amp; shed');
    const drawn = await sharp(Buffer.from(svg), { density: 20 }).metadata();
    expect(Number(drawn.width) / Number(drawn.height)).toBeCloseTo(aspect(svg), 1);
  });

  it('has the fillers as long as planned within 0.01 mm', () => {
    const inside = /<g id="fillers"[^>]*>([\s\S]*?)<\/g>/.exec(layoutSvg(report, plan, mm))?.[1] ?? '';
    const found = [...inside.matchAll(/points="([^"]+)"/g)].map((m) => {
      const [a, b] = m[1].split(' ').map((p) => p.split(',').map(Number));
      return Math.hypot(b[0] - a[0], b[1] - a[1]);
    });
    expect(found).toEqual([expect.closeTo(50.8, 2), expect.closeTo(101.6, 2)]);
  });

  it('draws a hidden curve bent, and says beside it, on the inner side, what it is', () => {
    const curve = report.runs[0].pieces.find((p) => p.kind === 'curve');
    if (curve?.kind !== 'curve') throw new Error('an oval has curves');
    const hidden = { run: 'R1', from: curve.from, to: curve.to, why: 'covered' };
    const { shapes } = layoutDrawing({ ...report, notSeen: [hidden] }, null, mm);
    const [line] = shapes.filter((s) => s.layer === 'not-seen');
    if (line.kind !== 'polyline') throw new Error('not drawn as a line through points');
    for (const p of line.points) expect(Math.hypot(p[0] - curve.centre[0], p[1] - curve.centre[1])).toBeCloseTo(381, 0);
    const words = shapes.flatMap((s) => (s.kind === 'text' && s.text === 'not seen' ? [s.at] : []));
    expect(words).toHaveLength(1);
    expect(Math.hypot(words[0][0] - curve.centre[0], words[0][1] - curve.centre[1])).toBeLessThan(381 - 22);
  });

  it('turns curves the right way: the middle of each drawn arc lies on its circle outside of the straights', async () => {
    const svg = layoutSvg(report, null, mm);
    const density = 30;
    const { data, info } = await sharp(Buffer.from(svg), { density })
      .flatten({ background: '#fff' })
      .greyscale()
      .raw()
      .toBuffer({ resolveWithObject: true });
    const pxPerMm = info.width / Number(/width="([\d.]+)mm"/.exec(svg)?.[1]);
    const [ox, oy] = originOnPage(svg);
    const inkNear = (x: number, y: number) => {
      let least = 255;
      for (let dy = -3; dy <= 3; dy++)
        for (let dx = -3; dx <= 3; dx++) {
          const px = Math.round((ox + x) * pxPerMm) + dx;
          const py = Math.round((oy - y) * pxPerMm) + dy;
          least = Math.min(least, data[(py * info.width + px) * info.channels]);
        }
      return least < 235;
    };
    for (const piece of report.runs[0].pieces) {
      if (piece.kind !== 'curve') continue;
      const a = Math.atan2(piece.from[1] - piece.centre[1], piece.from[0] - piece.centre[0]) + piece.sweepRad / 2;
      expect(inkNear(piece.centre[0] + 381 * Math.cos(a), piece.centre[1] + 381 * Math.sin(a))).toBe(true);
      expect(inkNear(piece.centre[0] + 320 * Math.cos(a), piece.centre[1] + 320 * Math.sin(a))).toBe(false);
    }
  });
});

describe('annotated plan view', () => {
  const view = {
    widthPx: 640,
    heightPx: 340,
    mmPerPx: 4,
    originInTable: [-60, 1290] as [number, number],
    heightMm: 17.5,
  };
  const grey = { create: { width: 640, height: 340, channels: 3 as const, background: '#808080' } };

  it('draws the table edge and the gaps where the plan view shows them, and leaves the rest as it was', async () => {
    const picture = await sharp(grey).jpeg({ quality: 95 }).toBuffer();
    const png = await annotatedPlanPng(report, plan, view, picture, { ...inches, accessories: [] });
    const { data, info } = await sharp(png).removeAlpha().raw().toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([640, 340]);
    const at = (x: number, y: number) => {
      const px = Math.round((x - view.originInTable[0]) / view.mmPerPx);
      const py = Math.round((view.originInTable[1] - y) / view.mmPerPx);
      return [...data.subarray((py * info.width + px) * 3, (py * info.width + px) * 3 + 3)];
    };
    const [red, green, blue] = at(2440, 1000);
    expect(blue).toBeGreaterThan(red + 40);
    expect(blue).toBeGreaterThan(green + 40);
    const gapEdge = at(report.joints[0].at[0] - report.joints[0].gap.value / 2, 180);
    expect(gapEdge[0]).toBeGreaterThan(gapEdge[1] + 60);
    for (const c of at(1400, 560)) expect(Math.abs(c - 128)).toBeLessThan(6);
  });

  it('names the gaps with what was measured, and with what the rule says where that counts', () => {
    const svg = overlaySvg(report, ruledPlan(plan, 'J2', 103.1875), view, { ...inches, accessories: [] });
    for (const text of ['Gap 1: 2 in ± 0.03 in → F1 2 in', 'Gap 2 by the rule: 4 1/16 in ± 0.03 in → F2 4 in'])
      expect(svg).toContain(textPath(text, 11).data);
    const checked = overlaySvg(report, ruledPlan(plan, 'J2', 102.3), view, { ...inches, accessories: [] });
    expect(checked).toContain(textPath('Gap 2 checked with the rule: 4 1/64 in ± 0.02 in → F2 4 in', 11).data);
  });

  it('draws the table edge where the one photo shows it: seen from the camera, at the height of the rails', () => {
    const rotation = [
      [1, 0, 0],
      [0, -1, 0],
      [0, 0, -1],
    ];
    // 1750 mm above (1000, 600): the edge 1000 mm away shows 10 mm nearer to the camera's foot.
    const camera = {
      fx: 1,
      fy: 1,
      cx: 0,
      cy: 0,
      k1: 0,
      k2: 0,
      p1: 0,
      p2: 0,
      rotation,
      translation: [-1000, 600, 1750],
    };
    const photo = { file: 'a.jpg', widthPx: 10, heightPx: 10, camera, rmsResidualPx: 0.1, markers: [] };
    const one = { ...report, photos: [photo as unknown as Report['photos'][number]] };
    const edgeOf = (of: Report): number[] =>
      (/<path d="M ([\d.-]+) ([\d.-]+)/.exec(overlaySvg(of, null, view, { ...inches, accessories: [] })) ?? [])
        .slice(1)
        .map(Number);
    const [from, seen] = [edgeOf(report), edgeOf(one)];
    // The corner at the origin: 1 % of (1000, 600) towards the camera's foot, in picture elements of 4 mm.
    expect(seen[0] - from[0]).toBeCloseTo(10 / 4, 1);
    expect(seen[1] - from[1]).toBeCloseTo(-6 / 4, 1);
  });

  it('draws only the sides that are known, never a line across the table', () => {
    const known = report.table.sides.slice(0, 2);
    const outline = [known[0].from, known[0].to, known[1].to];
    const partly = { ...report, table: { outline, sides: known } };
    const edges = layoutDrawing(partly, null, { ...inches, accessories: [] }).shapes.filter(
      (s) => s.layer === 'table-edge',
    );
    expect(edges.filter((s) => s.kind !== 'text').map((s) => s.kind)).toEqual(['line', 'line']);
    const whole = layoutDrawing(report, null, { ...inches, accessories: [] }).shapes.filter(
      (s) => s.layer === 'table-edge',
    );
    expect(whole.some((s) => s.kind === 'polyline' && s.closed)).toBe(true);
  });

  it('writes its labels as outlines, so that no font is needed', () => {
    const svg = overlaySvg(report, plan, view, inches);
    expect(svg).not.toContain('<text');
    expect(svg.match(/fill="#111111"/g)?.length).toBe(2 + 4 + 4 + 1);
  });
});

function aspect(svg: string): number {
  const [w, h] = (/viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg) ?? []).slice(1).map(Number);
  return w / h;
}

/** Where the table's origin lies on the page: the first corner of the outline. */
function originOnPage(svg: string): [number, number] {
  const [x, y] = (/<g id="table-edge"[^>]*>\s*<polygon points="([\d.]+),([\d.]+)/.exec(svg) ?? []).slice(1).map(Number);
  return [x, y];
}
