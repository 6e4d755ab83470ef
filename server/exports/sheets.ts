import type { Plan } from '../contract/plan.js';
import type { PlanView } from '../contract/plan-view.js';
import type { Report } from '../contract/report.js';
import type { Wishes } from '../contract/wishes.js';
import { styleForStep } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { annotatedPlanPng } from './annotated-plan.js';
import { checkSheetPdf } from './check-sheet-pdf.js';
import { coverageCsv, coverageSvg } from './coverage-files.js';
import { cutSheetCsv } from './cut-sheet-csv.js';
import { cutSheetDxf } from './cut-sheet-dxf.js';
import { cutSheetPdf } from './cut-sheet-pdf.js';
import { cutSheetSvg } from './cut-sheet-svg.js';
import type { Accessory } from './layout-drawing.js';
import { layoutDxf, layoutSvg } from './layout-files.js';
import type { Paper } from './paper.js';
import { reportCsv } from './report-csv.js';
import { settingOutPdf } from './setting-out-pdf.js';

/** What a sheet may be made from; each sheet says what it needs. */
export interface SheetSources {
  readonly plan?: Plan;
  readonly report?: Report;
  /** The plan made before the cuts, for the check sheet. */
  readonly planned?: Plan;
  readonly planView?: PlanView;
  /** The plan view picture as JPEG or PNG file. */
  readonly picture?: Uint8Array;
}

export interface SheetOptions {
  readonly paper: Paper;
  readonly style: LengthStyle;
  readonly tableName: string;
  /** Places that the wishes keep free: what is to stand beside the track. */
  readonly accessories: readonly Accessory[];
  readonly jointAllowanceMm?: number;
}

type Needed<K extends keyof SheetSources> = SheetSources & Required<Pick<SheetSources, K>>;

interface SheetForm {
  /** Media type (IANA). */
  readonly type: string;
  readonly needs: readonly (keyof SheetSources)[];
  readonly make: (sources: SheetSources, options: SheetOptions) => string | Promise<Uint8Array>;
}

/** A form whose maker gets what it needs as certain. */
function form<K extends keyof SheetSources>(
  type: string,
  needs: readonly K[],
  make: (sources: Needed<K>, options: SheetOptions) => string | Promise<Uint8Array>,
): SheetForm {
  return {
    type,
    needs,
    make: (sources, options) => {
      const style = styleForStep(options.style, (sources.plan ?? sources.planned)?.stepMm);
      return make(sources as Needed<K>, { ...options, style });
    },
  };
}

/** Every paper and file that can be made, by the name of its file. The page and the command line offer the same. */
export const sheetForms = {
  'cut-sheet.pdf': form('application/pdf', ['plan'], (s, o) => cutSheetPdf(s.plan, s.report ?? null, o)),
  'cut-sheet.csv': form('text/csv; charset=utf-8', ['plan'], (s, o) => cutSheetCsv(s.plan, o.style, s.report ?? null)),
  'cut-sheet.svg': form('image/svg+xml', ['plan'], (s, o) => cutSheetSvg(s.plan, o.style)),
  'cut-sheet.dxf': form('image/vnd.dxf', ['plan'], (s, o) => cutSheetDxf(s.plan, o.style)),
  'setting-out.pdf': form('application/pdf', ['report'], (s, o) => settingOutPdf(s.report, s.plan ?? null, o)),
  'layout.svg': form('image/svg+xml', ['report'], (s, o) => layoutSvg(s.report, s.plan ?? null, o)),
  'layout.dxf': form('image/vnd.dxf', ['report'], (s, o) => layoutDxf(s.report, s.plan ?? null, o)),
  'measurements.csv': form('text/csv; charset=utf-8', ['report'], (s, o) =>
    reportCsv(s.report, o.style, s.plan ?? null),
  ),
  'coverage.svg': form('image/svg+xml', ['report'], (s, o) => coverageSvg(s.report, o)),
  'coverage.csv': form('text/csv; charset=utf-8', ['report'], (s) => coverageCsv(s.report)),
  'report.json': form('application/json', ['report'], (s) => `${JSON.stringify(s.report, null, 1)}\n`),
  'plan-view.png': form('image/png', ['report', 'planView', 'picture'], (s, o) =>
    annotatedPlanPng(s.report, s.plan ?? null, s.planView, s.picture, o),
  ),
  'check-sheet.pdf': form('application/pdf', ['report', 'planned'], (s, o) => checkSheetPdf(s.planned, s.report, o)),
} satisfies Readonly<Record<string, SheetForm>>;

export type SheetName = keyof typeof sheetForms;

export function isSheetName(name: string): name is SheetName {
  return Object.hasOwn(sheetForms, name);
}

/** The places that wishes keep free, as things to be drawn. */
export function accessoriesOf({ keepFree }: Pick<Wishes, 'keepFree'>): Accessory[] {
  return keepFree.map(({ name, centre, widthMm, depthMm, angleRad }) => ({ name, centre, widthMm, depthMm, angleRad }));
}
