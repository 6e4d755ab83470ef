import { failed, ok, type Result } from '../../server/base/result.js';
import { noConnection, strangeAnswer, type Trouble, troubleFromBody } from './trouble.js';

/** An answer, or the trouble and, where the server sends it along, the body it came with. */
export type Answer<T> = Result<T, Trouble & { readonly body?: unknown }>;

/** A browser lets no more than 64 KiB outlive the page, all such requests together (Fetch standard; from memory). */
const mostKeptChars = 16_000;

/**
 * Asks the server and reads its JSON answer. Never throws for what the server or the connection does.
 * @param path below the page's own origin, such as `/api/tables`
 */
export async function request<T>(method: string, path: string, body?: unknown): Promise<Answer<T>> {
  const sent = body === undefined ? undefined : JSON.stringify(body);
  let response: Response;
  try {
    response = await fetch(path, {
      method,
      headers: body === undefined ? {} : { 'content-type': 'application/json' },
      body: sent,
      // What is sent as the page is closed still arrives.
      keepalive: sent !== undefined && sent.length <= mostKeptChars,
    });
  } catch {
    return failed(noConnection);
  }
  if (response.status === 204) return ok(undefined as T);
  const read: unknown = await response.json().catch(() => undefined);
  if (response.ok) return read === undefined ? failed(strangeAnswer) : ok(read as T);
  return failed({ ...troubleFromBody(read), body: read });
}
