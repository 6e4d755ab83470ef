import type { Context } from 'hono';
import type { z } from 'zod';
import { problem } from '../contract/problems.js';
import { ProblemAnswer } from './answer.js';

/** Wishes, stock and settings of a table are a few kilobytes. */
const mostBytes = 256 * 1024;

/** Reads a JSON body, at most 256 kB. An empty one counts as an empty object. Ends the request with not-json or request-too-large. */
export async function readJson(c: Context): Promise<unknown> {
  const text = new TextDecoder().decode(await readBytes(c.req.raw.body));
  if (text.trim() === '') return {};
  try {
    return JSON.parse(text);
  } catch {
    throw new ProblemAnswer(problem('not-json', { name: 'What was sent' }));
  }
}

async function readBytes(body: ReadableStream<Uint8Array> | null): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of body ?? []) {
    length += chunk.length;
    if (length > mostBytes) throw new ProblemAnswer(problem('request-too-large', { mostKilobytes: mostBytes / 1024 }));
    chunks.push(chunk);
  }
  return Buffer.concat(chunks, length);
}

/** Checks a value against a schema; ends the request with the problem bad-field that names the first wrong field. */
export function checked<T>(schema: z.ZodType<T, unknown>, value: unknown, within = ''): T {
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  const field = [...(within === '' ? [] : [within]), ...(issue?.path ?? [])].join('.');
  throw new ProblemAnswer(problem('bad-field', { field: field === '' ? 'the whole request' : field, why: why(issue) }));
}

function why(issue: z.core.$ZodIssue | undefined): string {
  const message = issue?.message ?? 'it is not understood';
  return message.charAt(0).toLowerCase() + message.slice(1);
}
