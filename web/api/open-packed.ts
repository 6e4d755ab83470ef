import { failed, ok } from '../../server/base/result.js';
import type { TableDocument } from '../../server/contract/tables.js';
import type { Answer } from './request.js';
import { noConnection, strangeAnswer, troubleFromBody } from './trouble.js';

/** Sends a ZIP file of a whole table; the server makes a table of its own of it. */
export async function openPacked(file: File): Promise<Answer<TableDocument>> {
  let response: Response;
  try {
    response = await fetch(`/api/tables/packed?name=${encodeURIComponent(file.name)}`, { method: 'POST', body: file });
  } catch {
    return failed(noConnection);
  }
  const body: unknown = await response.json().catch(() => undefined);
  if (!response.ok) return failed(troubleFromBody(body));
  return body === undefined ? failed(strangeAnswer) : ok(body as TableDocument);
}
