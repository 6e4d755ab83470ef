import type { Plan } from '../contract/plan.js';
import type { PlanView } from '../contract/plan-view.js';
import type { Report } from '../contract/report.js';
import type { LengthStyle } from '../units/format-length.js';
import { annotatedPlanPng } from './annotated-plan.js';
import { checkSheetPdf } from './check-sheet-pdf.js';
import { cutSheetCsv } from './cut-sheet-csv.js';
import { cutSheetDxf } from './cut-sheet-dxf.js';
import { cutSheetPdf } from './cut-sheet-pdf.js';
import { cutSheetSvg } from './cut-sheet-svg.js';
import type { Accessory } from './layout-drawing.js';
import { layoutDxf, layoutSvg } from './layout-files.js';
import type { Paper } from './paper.js';
import { reportCsv } from './report-csv.js';
import { settingOutPdf } from './setting-out-pdf.js';

/** Everything that can be printed or handed on, by file name. Layout and setting-out are as planned where there is a plan. */
export const documentNames = [
  'cut-sheet.pdf',
  'cut-sheet.csv',
  'cut-sheet.svg',
  'cut-sheet.dxf',
  'setting-out.pdf',
  'check-sheet.pdf',
  'layout.svg',
  'layout.dxf',
  'plan-view.png',
  'report.csv',
  'report.json',
] as const;

export type DocumentName = (typeof documentNames)[number];

/** What there is of a table; a document that needs what is missing is not made. */
export interface DocumentSources {
  readonly tableName: string;
  readonly report: Report | null;
  readonly plan: Plan | null;
  /** Report of photos taken after the cuts. */
  readonly reportAfter: Report | null;
  readonly planView: { readonly view: PlanView; readonly picture: Uint8Array } | null;
  readonly accessories: readonly Accessory[];
}

export interface DocumentOptions {
  readonly paper: Paper;
  readonly style: LengthStyle;
  readonly created?: Date;
}

export type DocumentNeed = 'report' | 'plan' | 'reportAfter' | 'planView';

const needs: Record<DocumentName, readonly DocumentNeed[]> = {
  'cut-sheet.pdf': ['plan'],
  'cut-sheet.csv': ['plan'],
  'cut-sheet.svg': ['plan'],
  'cut-sheet.dxf': ['plan'],
  'setting-out.pdf': ['report'],
  'check-sheet.pdf': ['plan', 'reportAfter'],
  'layout.svg': ['report'],
  'layout.dxf': ['report'],
  'plan-view.png': ['report', 'planView'],
  'report.csv': ['report'],
  'report.json': ['report'],
};

const mediaTypes: Record<string, string> = {
  pdf: 'application/pdf',
  csv: 'text/csv; charset=utf-8; header=present',
  svg: 'image/svg+xml',
  dxf: 'image/vnd.dxf',
  png: 'image/png',
  json: 'application/json',
};

/** What has to be there first; empty when the document can be made. */
export function missingFor(name: DocumentName, sources: DocumentSources): DocumentNeed[] {
  return needs[name].filter((need) => sources[need] === null);
}

export function mediaTypeOf(name: DocumentName): string {
  return mediaTypes[name.slice(name.lastIndexOf('.') + 1)];
}

/** Makes one document. Ask `missingFor` first: what is missing there throws here. */
export async function makeDocument(
  name: DocumentName,
  sources: DocumentSources,
  options: DocumentOptions,
): Promise<Uint8Array> {
  const { report, plan, accessories, tableName } = sources;
  const page = { ...options, tableName };
  const drawing = { style: options.style, accessories };
  switch (name) {
    case 'cut-sheet.pdf':
      return cutSheetPdf(there(plan), report, page);
    case 'cut-sheet.csv':
      return utf8(cutSheetCsv(there(plan), options.style));
    case 'cut-sheet.svg':
      return utf8(cutSheetSvg(there(plan), options.style));
    case 'cut-sheet.dxf':
      return utf8(cutSheetDxf(there(plan), options.style));
    case 'setting-out.pdf':
      return settingOutPdf(there(report), plan, { ...page, accessories });
    case 'check-sheet.pdf':
      return checkSheetPdf(there(plan), there(sources.reportAfter), page);
    case 'layout.svg':
      return utf8(layoutSvg(there(report), plan, drawing));
    case 'layout.dxf':
      return utf8(layoutDxf(there(report), plan, drawing));
    case 'plan-view.png': {
      const { view, picture } = there(sources.planView);
      return annotatedPlanPng(there(report), plan, view, picture, drawing);
    }
    case 'report.csv':
      return utf8(reportCsv(there(report), options.style));
    case 'report.json':
      return utf8(`${JSON.stringify(there(report), null, 2)}\n`);
  }
}

function there<T>(value: T | null): T {
  if (value === null) throw new Error('a document was asked for without what it is made from');
  return value;
}

function utf8(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}
