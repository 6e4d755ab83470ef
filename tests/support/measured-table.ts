import { readFile } from 'node:fs/promises';
import sharp from 'sharp';
import type { PlanView } from '../../server/contract/plan-view.js';
import type { Report } from '../../server/contract/report.js';
import { photoFromTable } from '../../server/geometry/camera.js';
import { saveMeasured } from '../../server/projects/measured-store.js';
import { acceptPhoto, receivePhoto } from '../../server/projects/photo-store.js';
import { inputsDigest } from '../../server/projects/table-document.js';
import { TableStore } from '../../server/projects/table-store.js';
import { cameraOf } from '../../web/canvas/picture-frame.js';
import { reportFromTruth } from './report-from-truth.js';
import { type SceneTruth, samplePath } from './scene-truth.js';

const mmPerPx = 2;

/**
 * Puts a measured table into a home folder: a sample photo with the report that its truth gives, so that tests of the
 * page need not wait for measuring.
 * @param markerSideMm for tests that measure again; the setting of a new table when it is missing
 * @returns the table's id
 */
export async function putMeasuredTable(
  home: string,
  name: string,
  truth: SceneTruth,
  sample: string,
  markerSideMm?: number,
): Promise<string> {
  const store = new TableStore(home);
  const made = await store.create(name);
  if (!made.ok) throw new Error(made.problem.code);
  const { id } = made.value;
  const bytes = await readFile(samplePath(`${sample}.jpg`));
  const photoId = 'photo-of-truth';
  const file = `${sample}.jpg`;
  const arrived = await receivePhoto(
    store,
    id,
    photoId,
    file,
    (async function* () {
      yield bytes;
    })(),
  );
  if (!arrived.ok) throw new Error(arrived.problem.code);
  const { width: widthPx, height: heightPx } = truth.camera;
  const stored = await acceptPhoto(store, id, {
    ...arrived.value,
    photoId,
    name: file,
    format: 'jpeg',
    widthPx,
    heightPx,
  });
  if (!stored.ok) throw new Error(stored.problem.code);
  if (markerSideMm !== undefined) {
    const { version } = stored.value.table;
    await store.change(id, version, { settings: { markerSideMm } });
  }
  const table = await store.read(id);
  if (!table.ok) throw new Error(table.problem.code);
  const report = reportFromTruth(truth, file);
  const planView = planViewOf(truth);
  const planViewJpeg = await drawPlanView(bytes, report, planView);
  const saved = await saveMeasured(store, id, inputsDigest(table.value), { report, planView, planViewJpeg });
  if (!saved.ok) throw new Error(saved.problem.code);
  return id;
}

function planViewOf(truth: SceneTruth): PlanView {
  const marginMm = 40;
  return {
    widthPx: Math.round((truth.table.length + 2 * marginMm) / mmPerPx),
    heightPx: Math.round((truth.table.width + 2 * marginMm) / mmPerPx),
    mmPerPx,
    originInTable: [-marginMm, truth.table.width + marginMm],
    heightMm: truth.profile.rail_top,
  };
}

/** The photo seen from straight above at rail top, nearest pixel. */
async function drawPlanView(photo: Buffer, report: Report, view: PlanView): Promise<Uint8Array> {
  const { data, info } = await sharp(photo).rotate().removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const camera = cameraOf(report.photos[0].camera);
  const out = Buffer.alloc(view.widthPx * view.heightPx * 3);
  for (let y = 0; y < view.heightPx; y++) {
    for (let x = 0; x < view.widthPx; x++) {
      const at = photoFromTable(
        camera,
        view.originInTable[0] + x * mmPerPx,
        view.originInTable[1] - y * mmPerPx,
        view.heightMm,
      );
      const [px, py] = [Math.round(at.x), Math.round(at.y)];
      if (!(px >= 0 && py >= 0 && px < info.width && py < info.height)) continue;
      data.copy(out, (y * view.widthPx + x) * 3, (py * info.width + px) * 3, (py * info.width + px) * 3 + 3);
    }
  }
  return sharp(out, { raw: { width: view.widthPx, height: view.heightPx, channels: 3 } })
    .jpeg({ quality: 88 })
    .toBuffer();
}
