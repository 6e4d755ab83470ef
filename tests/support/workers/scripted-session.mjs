// Stores things in a table without end, and says each one on standard output after the store has acknowledged it. The
// test kills it at a random moment and looks whether everything that was said is there.
import { createHash, randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { Readable } from 'node:stream';

const [built, home, tableId, reportFile] = process.argv.slice(2);
const load = (path) => import(`${built}/${path}`);
const { TableStore } = await load('projects/table-store.js');
const { receivePhoto, acceptPhoto, removePhoto } = await load('projects/photo-store.js');
const { saveMeasured, savePlan } = await load('projects/measured-store.js');
const { inputsDigest } = await load('projects/table-document.js');
const { saveWorkRecord } = await load('projects/work-record.js');

const store = new TableStore(home);
const opened = await store.open();
if (!opened.ok) throw new Error(opened.problem.code);
const report = JSON.parse(readFileSync(reportFile, 'utf8'));
const planView = { widthPx: 4, heightPx: 4, mmPerPx: 1, originInTable: [0, 4], heightMm: 17.5 };
const say = (what) => process.stdout.write(`${JSON.stringify(what)}\n`);
const value = (result) => {
  if (!result.ok) throw new Error(JSON.stringify(result.problem));
  return result.value;
};

async function removeOldest() {
  const oldest = value(await store.read(tableId)).photos[0];
  say({ did: 'removing', photoId: oldest.id });
  value(await removePhoto(store, tableId, oldest.id));
  say({ did: 'removed', photoId: oldest.id });
}

say({ did: 'begun' });
for (let n = 0; ; n++) {
  // Before a photo is added, so that sessions killed early one after the other never fill the table.
  while (value(await store.read(tableId)).photos.length > 30) await removeOldest();
  const table = value(await store.read(tableId));
  const mark = randomBytes(6).toString('hex');
  value(await store.change(tableId, table.version, { name: `Table ${mark}` }));
  say({ did: 'name', name: `Table ${mark}` });

  const bytes = randomBytes(20_000);
  const photoId = `photo-${mark}`;
  const { partPath } = value(await receivePhoto(store, tableId, photoId, 'a.jpg', Readable.from([bytes])));
  value(
    await acceptPhoto(store, tableId, {
      partPath,
      photoId,
      name: 'a.jpg',
      format: 'jpeg',
      bytes: bytes.length,
      widthPx: 4,
      heightPx: 3,
    }),
  );
  say({ did: 'photo', photoId, digest: createHash('sha256').update(bytes).digest('hex') });

  value(await saveWorkRecord(store, tableId, { status: 'wanted', since: mark, attempts: n }));
  say({ did: 'work', since: mark });

  const warnings = [{ code: 'mark', message: mark }];
  const now = value(await store.read(tableId));
  const measured = value(
    await saveMeasured(store, tableId, inputsDigest(now), {
      report: { ...report, warnings },
      planView,
      planViewJpeg: bytes,
    }),
  );
  say({ did: 'measured', mark });
  const plan = {
    format: 'gapwright-plan/1',
    stretches: [],
    fillers: [],
    donors: [],
    shift: {},
    predicted: { clearances: [], closing: [] },
    unmet: [],
    warnings,
    alternatives: [],
  };
  value(await savePlan(store, measured, plan));
  say({ did: 'planned', mark });

  if (n % 3 === 2) await removeOldest();
}
