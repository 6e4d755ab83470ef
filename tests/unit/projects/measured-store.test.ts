import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { Result } from '../../../server/base/result.js';
import type { Plan } from '../../../server/contract/plan.js';
import type { TableDocument } from '../../../server/contract/tables.js';
import { saveMeasured, savePlan, showsPhotosSincePlanned } from '../../../server/projects/measured-store.js';
import { acceptPhoto, receivePhoto } from '../../../server/projects/photo-store.js';
import { inputsDigest } from '../../../server/projects/table-document.js';
import { TableStore } from '../../../server/projects/table-store.js';
import { makeReport } from '../../support/make-report.js';

const home = mkdtempSync(join(tmpdir(), 'gapwright-measured-'));
afterEach(() => rmSync(home, { recursive: true, force: true }));

function value<T>(result: Result<T, { readonly code: string }>): T {
  if (!result.ok) throw new Error(result.problem.code);
  return result.value;
}

const corners = [0, 1, 2, 3].map((i): [number, number] => [i === 1 || i === 2 ? 900 : 0, i > 1 ? 600 : 0]);
const measured = {
  report: makeReport({ runs: [], outline: corners }),
  planView: { widthPx: 9, heightPx: 6, mmPerPx: 100, originInTable: [0, 600] as [number, number], heightMm: 17.5 },
  planViewJpeg: Uint8Array.of(0xff, 0xd8, 0xff),
};
const plan: Plan = {
  format: 'gapwright-plan/1',
  stretches: [],
  shift: {},
  fillers: [],
  donors: [],
  unmet: [],
  predicted: { clearances: [], closing: [] },
  alternatives: [],
  warnings: [],
};

describe('what was measured', () => {
  it('does not claim a photo that came while it was being measured', async () => {
    const store = new TableStore(home);
    await store.open();
    const { id } = value(await store.create('Attic'));
    const addPhoto = async (photoId: string): Promise<TableDocument> => {
      const bytes = (async function* () {
        yield Uint8Array.of(1);
      })();
      const arrived = value(await receivePhoto(store, id, photoId, `${photoId}.jpg`, bytes));
      const photo = { photoId, name: `${photoId}.jpg`, format: 'jpeg', widthPx: 4, heightPx: 3 } as const;
      return value(await acceptPhoto(store, id, { ...arrived, ...photo })).table;
    };
    const begun = await addPhoto('photo-0001');
    const now = await addPhoto('photo-0002');
    const early = value(await saveMeasured(store, id, inputsDigest(begun), measured));
    value(await savePlan(store, early, plan));
    const both = value(await saveMeasured(store, id, inputsDigest(now), measured));
    expect(await showsPhotosSincePlanned(store, both)).toBe(true);
    value(await savePlan(store, both, plan));
    const again = value(await saveMeasured(store, id, inputsDigest(now), measured));
    expect(await showsPhotosSincePlanned(store, again)).toBe(false);
  });
});
