import { zipArchive } from '../../server/projects/zip-writer.js';

/** A ZIP of these files by name, as a table is packed. */
export async function zipOf(files: Readonly<Record<string, Uint8Array>>): Promise<Buffer> {
  const sources = Object.entries(files).map(([name, content]) => ({
    name,
    bytes: content.length,
    read: async function* () {
      yield content;
    },
  }));
  const chunks: Uint8Array[] = [];
  for await (const chunk of zipArchive(sources, new Date(0))) chunks.push(chunk);
  return Buffer.concat(chunks);
}
