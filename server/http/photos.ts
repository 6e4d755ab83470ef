import { createReadStream } from 'node:fs';
import { readFile, rm, stat } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { Hono } from 'hono';
import { problem } from '../contract/problems.js';
import { photoName } from '../projects/photo-name.js';
import { acceptPhoto, photoPath, receivePhoto, removePhoto } from '../projects/photo-store.js';
import { isPhotoId } from '../projects/table-document.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import type { Services } from './services.js';

/** A photo's bytes never change under its id. */
const forEver = 'private, max-age=31536000, immutable';

/** The photos of a table: store, remove, show reduced, hand out as they came. */
export function photos({ store, views }: Services): Hono {
  return new Hono()
    .put('/:id/photos/:photo', async (c) => {
      const table = orAnswer(await store.read(c.req.param('id')));
      const photoId = c.req.param('photo');
      if (!isPhotoId(photoId)) {
        const why = 'it must be 8 to 40 small letters, digits and hyphens';
        throw new ProblemAnswer(problem('bad-field', { field: 'photo id', why }));
      }
      const there = table.photos.find((p) => p.id === photoId);
      if (there) {
        await drain(c.req.raw.body);
        return c.json(there);
      }
      const name = photoName(c.req.query('name') ?? 'photo', []);
      const chunks = c.req.raw.body ?? Readable.from([]);
      const { partPath, bytes } = orAnswer(await receivePhoto(store, table.id, photoId, name, chunks));
      const size = await views.check(table.id, photoId, name, partPath);
      if (!size.ok) {
        await rm(partPath, { force: true });
        throw new ProblemAnswer(size.problem);
      }
      const arrived = { partPath, photoId, name, bytes, ...size.value };
      const { photo } = orAnswer(await acceptPhoto(store, table.id, arrived));
      return c.json(photo, 201);
    })
    .delete('/:id/photos/:photo', async (c) => {
      orAnswer(await removePhoto(store, c.req.param('id'), c.req.param('photo')));
      return c.body(null, 204);
    })
    .get('/:id/photos/:photo/view', async (c) => {
      const width = Number(c.req.query('width') ?? 1600);
      const path = orAnswer(await views.view(c.req.param('id'), c.req.param('photo'), width > 0 ? width : 1600));
      return c.body(await readFile(path), 200, { 'content-type': 'image/jpeg', 'cache-control': forEver });
    })
    .get('/:id/photos/:photo/look', async (c) =>
      c.json(orAnswer(await views.look(c.req.param('id'), c.req.param('photo')))),
    )
    .get('/:id/photos/:photo/original', async (c) => {
      const table = orAnswer(await store.read(c.req.param('id')));
      const photo = table.photos.find((p) => p.id === c.req.param('photo'));
      if (!photo) throw new ProblemAnswer(problem('unknown-photo', { id: c.req.param('photo').slice(0, 40) }));
      const path = photoPath(store, table.id, photo);
      const length = (await stat(path)).size;
      return c.body(Readable.toWeb(createReadStream(path)) as ReadableStream, 200, {
        // Never shown as a page of this server, whatever the bytes pretend to be.
        'content-type': 'application/octet-stream',
        'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(photo.name)}`,
        'content-length': String(length),
        'cache-control': forEver,
      });
    });
}

/** Reads and forgets a body, so that the connection can go on; a sender that stops is no matter. */
async function drain(body: ReadableStream<Uint8Array> | null): Promise<void> {
  await body?.pipeTo(new WritableStream()).catch(() => undefined);
}
