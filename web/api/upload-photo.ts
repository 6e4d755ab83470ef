import { failed, ok } from '../../server/base/result.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import type { Answer } from './request.js';
import { photoUploadUrl } from './tables-api.js';
import { noConnection, strangeAnswer, troubleFromBody } from './trouble.js';

/**
 * Sends one photo. XMLHttpRequest, because fetch says nothing about how much has been sent.
 * Sending the same id again is harmless, so a broken transfer is simply repeated.
 * @param onSent called with the share sent, 0…1
 */
export function uploadPhoto(
  table: string,
  photo: { readonly id: string; readonly name: string; readonly file: Blob },
  onSent: (ratio: number) => void,
  signal?: AbortSignal,
): Promise<Answer<StoredPhoto>> {
  return new Promise((resolve) => {
    const transfer = new XMLHttpRequest();
    transfer.open('PUT', photoUploadUrl(table, photo.id, photo.name));
    transfer.responseType = 'json';
    transfer.upload.onprogress = (event) => event.lengthComputable && onSent(event.loaded / event.total);
    transfer.onerror = () => resolve(failed(noConnection));
    transfer.onabort = () => resolve(failed(noConnection));
    transfer.onload = () => {
      const body = transfer.response as unknown;
      if (transfer.status >= 200 && transfer.status < 300) {
        resolve(body ? ok(body as StoredPhoto) : failed(strangeAnswer));
      } else {
        resolve(failed(troubleFromBody(body)));
      }
    };
    signal?.addEventListener('abort', () => transfer.abort());
    transfer.send(photo.file);
  });
}

/** An id for a new photo, in the agreed form: 8–40 of [a-z0-9-]. */
export function newPhotoId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(10));
  return `p-${[...bytes].map((b) => b.toString(16).padStart(2, '0')).join('')}`;
}
