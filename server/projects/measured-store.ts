import { createHash, randomBytes } from 'node:crypto';
import { mkdir, readdir, readFile, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Plan, planSchema } from '../contract/plan.js';
import { type PlanView, planViewSchema } from '../contract/plan-view.js';
import { type Problem, problem } from '../contract/problems.js';
import { type Report, reportSchema } from '../contract/report.js';
import type { TableDocument } from '../contract/tables.js';
import { partName, writeDurably, writing } from './durable-write.js';
import { inputsDigest } from './table-document.js';
import type { TableStore } from './table-store.js';

/** What one measurement leaves. */
export interface Measured {
  readonly report: Report;
  readonly planView: PlanView;
  /** The plan view as JPEG file. */
  readonly planViewJpeg: Uint8Array;
}

/**
 * The folder of the measurement that counts. Each measurement is a folder of its own, named in table.json, so that
 * report and pictures always belong together; a plan lies beside the report it was made from.
 */
function measuredFolder(store: TableStore, table: TableDocument): string | null {
  const name = table.measuredInputs;
  return name !== null && /^[0-9a-f-]{8,64}$/.test(name) ? join(store.folder(table.id), 'measured', name) : null;
}

/**
 * Stores a measurement and makes it the one that counts.
 * @param digest inputsDigest of the table as it was when its photos were measured
 * @param beside what lies beside it; without it, what the table's measurement before leads to
 */
export async function saveMeasured(
  store: TableStore,
  tableId: string,
  digest: string,
  measured: Measured,
  beside?: BesideFiles,
): Promise<Result<TableDocument, Problem>> {
  const all = join(store.folder(tableId), 'measured');
  const name = `${digest}-${randomBytes(3).toString('hex')}`;
  const written = await writing(async () => {
    const folder = partName(join(all, name));
    await mkdir(folder, { recursive: true });
    await writeDurably(join(folder, 'report.json'), JSON.stringify(measured.report));
    await writeDurably(join(folder, 'plan-view.json'), JSON.stringify(measured.planView));
    await writeDurably(join(folder, 'plan-view.jpg'), measured.planViewJpeg);
    const files = beside ?? (await besideNow(store, tableId, digest));
    for (const file of besideFiles) if (files[file]) await writeDurably(join(folder, file), files[file]);
    await rename(folder, join(all, name));
  });
  if (!written.ok) return written;
  const table = await store.update(tableId, (stored) => ok({ ...stored, measuredInputs: name }));
  if (!table.ok) return table;
  for (const old of await readdir(all).catch(() => [] as string[])) {
    if (old !== name && !old.endsWith('.part'))
      await rm(join(all, old), { recursive: true, force: true }).catch(() => undefined);
  }
  return table;
}

/** The photos that a measurement was made from, and those of the measurement that its planned.json was made from. */
const photosFile = 'photos.json';
const plannedPhotosFile = 'planned-photos.json';
/** The measurement before it, for saying what has changed. */
const reportBeforeFile = 'report-before.json';

/** Files beside a measurement that tell what it was made from and what came before it; none of them must be there. */
export const besideFiles = [photosFile, 'planned.json', plannedPhotosFile, reportBeforeFile] as const;
export type BesideFiles = Readonly<Partial<Record<(typeof besideFiles)[number], Uint8Array | string | null>>>;

/** What lies beside a measurement that takes the place of the table's measurement of now. */
async function besideNow(store: TableStore, tableId: string, digest: string): Promise<BesideFiles> {
  const table = await store.read(tableId);
  if (!table.ok) return {};
  const planned = await planBefore(store, table.value);
  const before = await readMeasured(store, table.value, 'report.json');
  return {
    // Photos that came while it was being measured are not in it.
    [photosFile]: inputsDigest(table.value) === digest ? photoIds(table.value) : null,
    'planned.json': planned?.plan ?? null,
    [plannedPhotosFile]: planned?.photos ?? null,
    [reportBeforeFile]: before.ok ? before.value : null,
  };
}

function photoIds({ photos }: TableDocument): string {
  return JSON.stringify(photos.map((p) => p.id));
}

/** The plan that was made from the measurement before, for checking the cuts against it; or the one before that. */
async function planBefore(
  store: TableStore,
  table: TableDocument,
): Promise<{ plan: Buffer; photos: Buffer | null } | null> {
  const folder = measuredFolder(store, table);
  if (folder === null) return null;
  const read = (file: string): Promise<Buffer | null> => readFile(join(folder, file)).catch(() => null);
  const plan = await read('plan.json');
  if (plan !== null) return { plan, photos: await read(photosFile) };
  const planned = await read('planned.json');
  return planned === null ? null : { plan: planned, photos: await read(plannedPhotosFile) };
}

/**
 * Whether the measurement shows photos that came after the plan before was made: measuring the same photos again, as
 * after a correction, says nothing about the cuts. True when it is not known.
 */
export async function showsPhotosSincePlanned(store: TableStore, table: TableDocument): Promise<boolean> {
  const [own, planned] = await Promise.all([
    readMeasured(store, table, photosFile),
    readMeasured(store, table, plannedPhotosFile),
  ]);
  const [now, before] = [own, planned].map((file) => (file.ok ? idsIn(file.value) : null));
  return !now || !before || now.some((id) => !before.includes(id));
}

/**
 * The photos that the fillers were planned from and that are still in the table: they show the track as it lay before the
 * cuts. All of them where it is not known.
 */
export async function photosBeforeCuts(store: TableStore, table: TableDocument): Promise<string[]> {
  const planned = await planBefore(store, table);
  const before = planned?.photos ? idsIn(planned.photos) : null;
  return table.photos.map((p) => p.id).filter((id) => before === null || before.includes(id));
}

/** The photo ids in a file of them; null when it holds something else. */
export function idsIn(file: Buffer): string[] | null {
  try {
    const ids: unknown = JSON.parse(file.toString('utf8'));
    return Array.isArray(ids) ? ids.map(String) : null;
  } catch {
    return null;
  }
}

async function readMeasured(store: TableStore, table: TableDocument, file: string): Promise<Result<Buffer, Problem>> {
  const folder = measuredFolder(store, table);
  if (folder === null) return failed(problem('nothing-measured', {}));
  try {
    return ok(await readFile(join(folder, file)));
  } catch {
    return failed(problem('nothing-measured', {}));
  }
}

/**
 * Reads a stored file and checks its form. It comes back as it was written, with fields that the form does not name. A
 * file that cannot be understood any more counts as not measured: measuring again makes it anew.
 */
async function readParsed<T>(
  store: TableStore,
  table: TableDocument,
  file: string,
  parse: (json: unknown) => { success: true; data: T } | { success: false },
): Promise<Result<T, Problem>> {
  const nothing = failed(problem('nothing-measured', {}));
  const bytes = await readMeasured(store, table, file);
  if (!bytes.ok) return bytes;
  try {
    const json: unknown = JSON.parse(bytes.value.toString('utf8'));
    return parse(json).success ? ok(json as T) : nothing;
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return nothing;
  }
}

export function readReport(store: TableStore, table: TableDocument): Promise<Result<Report, Problem>> {
  return readParsed(store, table, 'report.json', (json) => reportSchema.safeParse(json));
}

/** @returns the measurement before the one that counts; null when there was none */
export async function readReportBefore(store: TableStore, table: TableDocument): Promise<Report | null> {
  const report = await readParsed(store, table, reportBeforeFile, (json) => reportSchema.safeParse(json));
  return report.ok ? report.value : null;
}

export function readPlanView(store: TableStore, table: TableDocument): Promise<Result<PlanView, Problem>> {
  return readParsed(store, table, 'plan-view.json', (json) => planViewSchema.safeParse(json));
}

export function readPlanViewJpeg(store: TableStore, table: TableDocument): Promise<Result<Buffer, Problem>> {
  return readMeasured(store, table, 'plan-view.jpg');
}

/** @returns the stored plan; null when the table is measured but not planned */
export function readPlan(store: TableStore, table: TableDocument): Promise<Result<Plan | null, Problem>> {
  return readPlanFile(store, table, 'plan.json');
}

/** @returns the plan that was made from an earlier measurement; null when there was none */
export function readPlanned(store: TableStore, table: TableDocument): Promise<Result<Plan | null, Problem>> {
  return readPlanFile(store, table, 'planned.json');
}

async function readPlanFile(
  store: TableStore,
  table: TableDocument,
  file: string,
): Promise<Result<Plan | null, Problem>> {
  const report = await readReport(store, table);
  if (!report.ok) return report;
  const plan = await readParsed(store, table, file, (json) => planSchema.safeParse(json));
  return plan.ok ? plan : ok(null);
}

/**
 * Stores a plan beside the report that it was made from.
 * @param table as it was when the plan was made
 * @param current false when it is not known whether the plan was made from the table's wishes and stock
 */
export async function savePlan(
  store: TableStore,
  table: TableDocument,
  plan: Plan,
  current = true,
): Promise<Result<void, Problem>> {
  const folder = measuredFolder(store, table);
  if (folder === null) return failed(problem('nothing-measured', {}));
  return writing(async () => {
    await writeDurably(join(folder, planFromFile), current ? planFrom(table) : '');
    await writeDurably(join(folder, 'plan.json'), JSON.stringify(plan));
  });
}

/** Says from which wishes and stock the plan beside it was made. */
export const planFromFile = 'plan-from.txt';

/** A short digest of the wishes and stock that a plan is made from. */
export function planFrom({ wishes, stock }: Pick<TableDocument, 'wishes' | 'stock'>): string {
  return createHash('sha256')
    .update(JSON.stringify([wishes, stock]))
    .digest('hex')
    .slice(0, 16);
}

/** Whether the stored plan is that of the table's wishes, stock and measurement as they are now. */
export async function isPlanCurrent(store: TableStore, table: TableDocument): Promise<boolean> {
  const from = await readMeasured(store, table, planFromFile);
  return from.ok && from.value.toString('utf8') === planFrom(table);
}
