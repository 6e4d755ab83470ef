#!/usr/bin/env node
// Renders photos with exact truth, for tests of the measuring on pictures that nobody has tuned it to.
//   node tests/support/photos/make-scene-photos.mjs FOLDER [ID ...]
// An id is one of the catalogue's, or R and a number for a scene drawn from that number (R1, R2, …), or B and a number for
// the same table with tools, wires, paper and cartons about (B1, B2, …).
// Writes FOLDER/<id>.jpg, FOLDER/<id>.json and FOLDER/sets.json; about a minute for a photo of 12 megapixels.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { busyScene } from './busy-scene.mjs';
import { randomScene } from './random-scene.mjs';
import { buildScene, firstScenes, smallRow } from './scene-catalogue.mjs';
import { encodePhoto } from './scene-develop.mjs';
import { renderScene } from './scene-render.mjs';
import { SceneWorld } from './scene-world.mjs';
import { truthOf } from './truth-file.mjs';
import { variedScenes } from './varied-scenes.mjs';

const [folder, ...only] = process.argv.slice(2);
if (folder === undefined) {
  process.stderr.write('Give a folder, and perhaps the ids of scenes.\n');
  process.exit(2);
}
mkdirSync(folder, { recursive: true });
const large = [...firstScenes, ...variedScenes];
const drawn = only
  .filter((id) => /^[RB]\d+$/.test(id))
  .map((id) => (id[0] === 'R' ? randomScene : busyScene)(Number(id.slice(1))));
const wanted = only.length === 0 ? large : [...large, smallRow, ...drawn].filter((d) => only.includes(d.id));
for (const description of wanted) {
  const started = performance.now();
  const { scene, camera } = buildScene(description);
  const world = new SceneWorld(scene);
  const truth = truthOf(scene, camera, world);
  writeFileSync(join(folder, `${scene.id}.json`), JSON.stringify(truth, null, 1));
  const data = renderScene(scene, world, camera);
  writeFileSync(join(folder, `${scene.id}.jpg`), await encodePhoto(data, scene, camera));
  noteSet(scene);
  process.stdout.write(`${scene.id} ${((performance.now() - started) / 1000).toFixed(0)} s\n`);
}

function noteSet(scene) {
  const path = join(folder, 'sets.json');
  const sets = existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : [];
  const set = { id: scene.id, photos: [`${scene.id}.jpg`], track: scene.profile, markerSideMm: scene.markers[0].side };
  const others = sets.filter((s) => s.id !== scene.id);
  writeFileSync(
    path,
    JSON.stringify(
      [...others, set].sort((a, b) => a.id.localeCompare(b.id, 'en', { numeric: true })),
      null,
      1,
    ),
  );
}
