import type { Corrections } from '../../server/contract/corrections.js';
import type { PhotoLook } from '../../server/contract/photo-look.js';
import type { Plan } from '../../server/contract/plan.js';
import type { PlanView } from '../../server/contract/plan-view.js';
import type { Problem } from '../../server/contract/problems.js';
import type { Report } from '../../server/contract/report.js';
import type { Stock } from '../../server/contract/stock.js';
import type { Settings, StoredPhoto, TableDocument, WorkState } from '../../server/contract/tables.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { type Answer, request } from './request.js';

/** One row of the list of tables. */
export interface TableSummary {
  readonly id: string;
  readonly name: string;
  readonly version: number;
  readonly changed: string;
  readonly sample: boolean;
  readonly photoCount: number;
  /** Why it cannot be read, when it cannot. */
  readonly problem?: Problem;
}

/** A table with everything that is not in its document. */
export interface OpenedTable {
  readonly table: TableDocument;
  readonly work: WorkState;
  readonly measured: boolean;
  /** True when the report was made from other photos or settings than those of now. */
  readonly stale: boolean;
  /** True when the stored plan is that of the wishes, stock and measurement of now. */
  readonly planCurrent: boolean;
  /** False when the measurement shows only photos from before the plan that a check would compare with. */
  readonly photosSincePlanned: boolean;
  /** Ids of the photos that show the track as it lay before the fillers of the plan were cut. */
  readonly beforeCuts: readonly string[];
}

/** What a person changes in a table; each part is replaced as a whole. */
export interface TableEdits {
  readonly name?: string;
  readonly settings?: Settings;
  readonly wishes?: Wishes;
  readonly stock?: Stock;
  readonly corrections?: Corrections;
}

const at = (id: string): string => `/api/tables/${encodeURIComponent(id)}`;

export const tablesApi = {
  list: (): Promise<Answer<{ tables: TableSummary[] }>> => request('GET', '/api/tables'),
  make: (what: { name?: string; sample?: true }): Promise<Answer<TableDocument>> =>
    request('POST', '/api/tables', what),
  open: (id: string): Promise<Answer<OpenedTable>> => request('GET', at(id)),
  change: (id: string, version: number, edits: TableEdits): Promise<Answer<TableDocument>> =>
    request('PATCH', at(id), { version, ...edits }),
  remove: (id: string): Promise<Answer<unknown>> => request('DELETE', at(id)),
  removePhoto: (id: string, photo: string): Promise<Answer<unknown>> => request('DELETE', photoPath(id, photo)),
  /** What can be told of a photo before it is measured. */
  look: (id: string, photo: string): Promise<Answer<PhotoLook>> => request('GET', `${photoPath(id, photo)}/look`),
  measure: (id: string): Promise<Answer<WorkState>> => request('POST', `${at(id)}/measure`),
  cancel: (id: string): Promise<Answer<WorkState>> => request('DELETE', `${at(id)}/measure`),
  report: (id: string): Promise<Answer<Report>> => request('GET', `${at(id)}/report`),
  /** The measurement before the one that counts, for saying what has changed. */
  reportBefore: (id: string): Promise<Answer<{ report: Report | null }>> => request('GET', `${at(id)}/report-before`),
  planView: (id: string): Promise<Answer<PlanView>> => request('GET', `${at(id)}/plan-view`),
  makePlan: (id: string): Promise<Answer<Plan>> => request('POST', `${at(id)}/plan`),
  /** The plan of before the last measurement: what the cuts were made by; undefined where there is none. */
  planned: (id: string): Promise<Answer<Plan | undefined>> => request('GET', `${at(id)}/planned?or=nothing`),
  /** Undefined where nothing is planned yet. */
  storedPlan: (id: string): Promise<Answer<Plan | undefined>> => request('GET', `${at(id)}/plan?or=nothing`),
};

export type TablesApi = typeof tablesApi;

function photoPath(table: string, photo: string): string {
  return `${at(table)}/photos/${encodeURIComponent(photo)}`;
}

/** Address of a photo upright and reduced to about widthPx. */
export function photoViewUrl(table: string, photo: StoredPhoto['id'], widthPx: number): string {
  return `${photoPath(table, photo)}/view?width=${widthPx}`;
}

/** @param stamp anything that changes when the picture does, so that an old one is not shown from the cache */
export function planPictureUrl(table: string, stamp: string): string {
  return `${at(table)}/plan-view.jpg?of=${encodeURIComponent(stamp)}`;
}

export function photoUploadUrl(table: string, photo: string, name: string): string {
  return `${photoPath(table, photo)}?name=${encodeURIComponent(name)}`;
}

export function eventsUrl(table: string): string {
  return `${at(table)}/events`;
}

/** Every paper and file that the server makes of a table. */
export type SheetName =
  | `cut-sheet.${'pdf' | 'csv' | 'svg' | 'dxf'}`
  | 'setting-out.pdf'
  | `layout.${'svg' | 'dxf'}`
  | 'measurements.csv'
  | 'report.json'
  | 'table.zip'
  | 'plan-view.png'
  | `coverage.${'svg' | 'csv'}`
  | 'check-sheet.pdf';

export function sheetUrl(table: string, name: SheetName, paper: Paper, unit: 'in' | 'mm'): string {
  return `${at(table)}/${name}?paper=${paper}&unit=${unit}`;
}

export type Paper = 'letter' | 'a4';

/** Address of the marker sheets to print. @param sideMm of the black square */
export function markerSheetUrl(paper: Paper, sideMm: number, ids: string): string {
  return `/api/marker-sheet.pdf?ids=${ids}&paper=${paper}&side=${sideMm}`;
}
