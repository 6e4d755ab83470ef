import { type FileHandle, open, rm } from 'node:fs/promises';
import { failed, ok, type Result } from '../base/result.js';
import { type Plan, planSchema } from '../contract/plan.js';
import { planViewSchema } from '../contract/plan-view.js';
import { type Problem, problem } from '../contract/problems.js';
import { reportSchema } from '../contract/report.js';
import type { StoredPhoto, TableDocument } from '../contract/tables.js';
import { parseStock } from '../planner/parse-inputs.js';
import { parseTrackProfile } from '../scene/parse-track-profile.js';
import {
  type BesideFiles,
  idsIn,
  type Measured,
  planFrom,
  planFromFile,
  saveMeasured,
  savePlan,
} from './measured-store.js';
import { acceptPhoto, mostPhotoBytes, mostPhotos, receivePhoto } from './photo-store.js';
import type { PhotoOpener } from './sample-tables.js';
import { isPhotoId, parseTable, type StoredTable } from './table-document.js';
import type { TableStore } from './table-store.js';
import { unusedName } from './unused-name.js';
import { readZipDirectory, readZipEntry, type ZipEntry, ZipFault } from './zip-reader.js';

/** Greatest size of a text or of the plan picture in an archive. */
const mostPartBytes = 64 * 2 ** 20;

/**
 * Makes a new table from a packed one, with a number behind its name where another table has that. Nothing in the archive is believed: only files of a table are looked at, each
 * photo is opened as if it had been sent by a device, texts are checked against their forms. On any problem nothing is
 * left behind.
 * @param zipPath the archive as a file
 * @param name how the archive is called, for the sentence
 * @returns the table; or not-a-table-zip, newer-format, table-damaged, bad-track-profile, bad-field and what can happen
 *   to a photo that is sent
 */
export async function unpackTable(
  store: TableStore,
  zipPath: string,
  name: string,
  openPhoto: PhotoOpener,
): Promise<Result<TableDocument, Problem>> {
  const file = await open(zipPath);
  let made: string | null = null;
  const undo = async (why: Problem): Promise<Result<TableDocument, Problem>> => {
    if (made !== null) await store.remove(made);
    return failed(why);
  };
  try {
    const archive = await openArchive(file);
    const packed = parseTable('packed', await archive.text('table.json'));
    if (!packed.ok) return packed;
    const track = parseTrackProfile(packed.value.settings.track);
    if (!track.ok) return track;
    const stocked = parseStock(packed.value.stock);
    if (!stocked.ok) return stocked;
    if (packed.value.photos.length > mostPhotos) return failed(problem('too-many-photos', { most: mostPhotos }));
    const created = await store.create(await unusedName(store, packed.value.name), packed.value.sample);
    if (!created.ok) return created;
    made = created.value.id;
    for (const photo of packed.value.photos) {
      const added = await addPhoto(store, made, photo, archive, openPhoto);
      if (!added.ok) return undo(added.problem);
    }
    const { settings, wishes, stock, corrections } = packed.value;
    const changed = await store.change(made, created.value.version, { settings, wishes, stock, corrections });
    if (!changed.ok) return undo(changed.problem.problem);
    const measured = await addMeasured(store, made, packed.value, archive);
    return measured.ok ? store.read(made) : undo(measured.problem);
  } catch (error) {
    if (!(error instanceof ZipFault)) throw error;
    return undo(problem('not-a-table-zip', { name, why: error.message }));
  } finally {
    await file.close();
  }
}

/** The files of one table within an archive, below whatever folder they lie in. */
interface Archive {
  has(name: string): boolean;
  read(name: string, mostBytes: number): AsyncIterable<Uint8Array>;
  bytes(name: string): Promise<Buffer>;
  text(name: string): Promise<string>;
}

async function openArchive(file: FileHandle): Promise<Archive> {
  const entries = await readZipDirectory(file);
  const document = entries.find((e) => /^(?:[^/\\]+\/)?table\.json$/.test(e.name));
  if (document === undefined) throw new ZipFault('there is no table.json in it');
  const folder = document.name.slice(0, -'table.json'.length);
  const find = (name: string): ZipEntry | undefined => entries.find((e) => e.name === `${folder}${name}`);
  const read = (name: string, mostBytes: number): AsyncIterable<Uint8Array> => {
    const entry = find(name);
    if (entry === undefined) throw new ZipFault(`${name} is missing`);
    if (entry.bytes > mostBytes) throw new ZipFault(`${name} is too large`);
    return readZipEntry(file, entry);
  };
  const bytes = async (name: string): Promise<Buffer> => {
    const chunks: Uint8Array[] = [];
    for await (const chunk of read(name, mostPartBytes)) chunks.push(chunk);
    return Buffer.concat(chunks);
  };
  return {
    has: (name) => find(name) !== undefined,
    read,
    bytes,
    text: async (name) => (await bytes(name)).toString('utf8'),
  };
}

/** Puts a packed photo through everything that a photo sent by a device goes through. */
async function addPhoto(
  store: TableStore,
  tableId: string,
  { id: photoId, name, format }: StoredPhoto,
  archive: Archive,
  openPhoto: PhotoOpener,
): Promise<Result<void, Problem>> {
  if (!isPhotoId(photoId)) throw new ZipFault('a photo has no proper id');
  const chunks = archive.read(`photos/${photoId}.${format}`, mostPhotoBytes);
  let fault: unknown = null;
  const received = await receivePhoto(
    store,
    tableId,
    photoId,
    name,
    remembering(chunks, (error) => {
      fault = error;
    }),
  );
  if (!received.ok) {
    if (fault instanceof ZipFault) throw fault;
    return received;
  }
  const { partPath, bytes } = received.value;
  const size = await openPhoto(tableId, photoId, name, partPath);
  if (!size.ok) {
    await rm(partPath, { force: true });
    return size;
  }
  const accepted = await acceptPhoto(store, tableId, { ...size.value, partPath, photoId, name, bytes });
  return accepted.ok ? ok(undefined) : accepted;
}

/** Hands chunks on and tells of the fault that ended them. */
async function* remembering(
  chunks: AsyncIterable<Uint8Array>,
  tell: (error: unknown) => void,
): AsyncGenerator<Uint8Array> {
  try {
    yield* chunks;
  } catch (error) {
    tell(error);
    throw error;
  }
}

/** Takes over the measurement and its plans where they are whole; else the table is simply not measured yet. */
async function addMeasured(
  store: TableStore,
  tableId: string,
  packed: StoredTable,
  archive: Archive,
): Promise<Result<void, Problem>> {
  const folder = packed.measuredInputs;
  const digest = /^([0-9a-f]{8,40})-[0-9a-f]+$/.exec(folder ?? '')?.[1];
  if (digest === undefined) return ok(undefined);
  const at = (file: string): string => `measured/${folder}/${file}`;
  if (!archive.has(at('report.json')) || !archive.has(at('plan-view.json')) || !archive.has(at('plan-view.jpg')))
    return ok(undefined);
  const report = reportSchema.safeParse(await jsonOf(archive, at('report.json')));
  const planView = planViewSchema.safeParse(await jsonOf(archive, at('plan-view.json')));
  const planViewJpeg = await archive.bytes(at('plan-view.jpg'));
  if (!report.success || !planView.success || planViewJpeg.readUIntBE(0, 3) !== 0xffd8ff) return ok(undefined);
  const measured: Measured = { report: report.data, planView: planView.data, planViewJpeg };
  const table = await saveMeasured(store, tableId, digest, measured, await besideIn(archive, at));
  if (!table.ok) return table;
  const plan = await planIn(archive, at('plan.json'));
  if (plan === null) return ok(undefined);
  // A plan of other wishes than those packed beside it is worked out again when it is next looked at.
  const from = at(planFromFile);
  const current = archive.has(from) && (await archive.text(from)) === planFrom(packed);
  return savePlan(store, table.value, plan, current);
}

/** What is packed beside a measurement, as far as it is what it should be. */
async function besideIn(archive: Archive, at: (file: string) => string): Promise<BesideFiles> {
  const ids = async (file: string): Promise<string | null> => {
    const found = archive.has(at(file)) ? idsIn(await archive.bytes(at(file))) : null;
    return found && JSON.stringify(found);
  };
  const planned = await planIn(archive, at('planned.json'));
  const before = archive.has(at('report-before.json'))
    ? reportSchema.safeParse(await jsonOf(archive, at('report-before.json')))
    : null;
  return {
    'photos.json': await ids('photos.json'),
    'planned.json': planned && JSON.stringify(planned),
    'planned-photos.json': await ids('planned-photos.json'),
    'report-before.json': before?.success ? JSON.stringify(before.data) : null,
  };
}

async function planIn(archive: Archive, name: string): Promise<Plan | null> {
  if (!archive.has(name)) return null;
  const plan = planSchema.safeParse(await jsonOf(archive, name));
  return plan.success ? plan.data : null;
}

async function jsonOf(archive: Archive, name: string): Promise<unknown> {
  try {
    return JSON.parse(await archive.text(name));
  } catch (error) {
    if (error instanceof SyntaxError) return undefined;
    throw error;
  }
}
