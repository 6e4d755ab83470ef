// The process in which pictures are opened, measured and planned. It does one task after the other and knows nothing of
// tables; when it dies, only its task is lost. Started by work-process.ts.
import { readFileSync } from 'node:fs';
import { mkdir, readFile, rename, writeFile } from 'node:fs/promises';
import { totalmem } from 'node:os';
import { dirname } from 'node:path';
import { assert } from '../base/assert.js';
import { compileLess } from '../base/engine-options.js';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Progress } from '../contract/stages.js';
import { fastJpeg, pictureCodec } from '../images/sharp-codec.js';
import { parseTrackProfile } from '../scene/parse-track-profile.js';
import { openPhoto } from '../stages/photo/open-photo.js';
import { sniffPhoto } from '../stages/photo/sniff-photo.js';
import type { TaskMessage, TaskName, Tasks, WorkerMessage } from './tasks.js';

type Work<N extends TaskName> = (
  input: Tasks[N]['input'],
  onProgress: (progress: Progress) => void,
) => Promise<Result<Tasks[N]['output'], Problem>>;

const works: { readonly [N in TaskName]: Work<N> } = {
  async measure({ photos, settings, corrections }, onProgress) {
    const track = parseTrackProfile(settings.track);
    if (!track.ok) return track;
    // Loaded here: the processes that plan and reduce photos need no picture measuring, and start faster without.
    const { measureTable } = await import('../pipeline/measure-table.js');
    // Each is read when its turn comes: forty files of the largest size would not fit into memory together.
    const files = photos.map(({ name, path }) => ({
      name,
      get bytes() {
        return readFileSync(path);
      },
    }));
    const { markerSideMm, tapeChecks, sideChecks, squareCorners } = settings;
    const told = { markerSideMm, tapeChecks, sideChecks, squareCorners };
    const options = { track: track.value, ...told, borderModules: 1, corrections } as const;
    const mostBytes = mostMemoryBytes();
    // What an earlier task used is not given back at once, but used again: only what this one adds counts against it.
    const beforeBytes = process.memoryUsage.rss();
    const controller = new AbortController();
    const watching = (progress: Progress): void => {
      // Each photo adds its picture; a step in between adds less than what is left free.
      const bytes = process.memoryUsage.rss();
      if (bytes > mostBytes && bytes - beforeBytes > mostBytes / 4) controller.abort();
      onProgress(progress);
    };
    try {
      return await measureTable(files, options, { onProgress: watching, signal: controller.signal });
    } catch (error) {
      if (!controller.signal.aborted) throw error;
      return failed(problem('too-much-memory', { megabytes: Math.round(mostBytes / 1e6) }));
    }
  },

  async plan({ report, wishes, stock }) {
    const { planFillers } = await import('../planner/plan-fillers.js');
    return planFillers(report, wishes, stock);
  },

  async 'get-ready-to-plan'() {
    const [, { loadSolver }] = await Promise.all([
      import('../planner/plan-fillers.js'),
      import('../planner/linear-program.js'),
    ]);
    await loadSolver();
    return ok(null);
  },

  async 'reduce-photo'({ name, path, viewPath, mostWidthPx }) {
    const bytes = await readFile(path);
    const photo = await openPhoto(name, bytes);
    if (!photo.ok) return photo;
    const format = sniffPhoto(bytes);
    assert(format !== null, 'an opened photo has a format');
    const { widthPx, heightPx, channels, data } = photo.value.raster;
    const jpeg = await pictureCodec(data, { raw: { width: widthPx, height: heightPx, channels } })
      .resize({ width: mostWidthPx, withoutEnlargement: true })
      .jpeg({ quality: 82, ...fastJpeg })
      .toBuffer();
    await mkdir(dirname(viewPath), { recursive: true });
    const beside = `${viewPath}.${process.pid}-0.part`;
    await writeFile(beside, jpeg);
    await rename(beside, viewPath);
    return ok({ format, widthPx, heightPx });
  },

  async 'look-at-photo'({ name, path, settings }) {
    const track = parseTrackProfile(settings.track);
    if (!track.ok) return track;
    const photo = await openPhoto(name, await readFile(path));
    if (!photo.ok) return photo;
    const { lookAtPhoto } = await import('../pipeline/look-at-photo.js');
    return ok(await lookAtPhoto(photo.value, settings.markerSideMm, track.value));
  },
};

/** Half of the computer's memory, 3 GB at most: the rest of the house goes on working. */
function mostMemoryBytes(): number {
  const asked = Number(process.env['GAPWRIGHT_MEMORY_MB']) * 1e6;
  return asked > 0 ? asked : Math.min(3e9, totalmem() / 2);
}

function send(message: WorkerMessage): void {
  process.send?.(message);
}

async function perform<N extends TaskName>({ id, name, input }: TaskMessage<N>): Promise<void> {
  send({ id, begun: true });
  try {
    const result = await works[name](input, (progress) => send({ id, progress }));
    send({ id, result });
  } catch (error) {
    send({ id, fault: error instanceof Error ? (error.stack ?? error.message) : String(error) });
  }
}

compileLess();
process.on('message', (message: TaskMessage) => void perform(message));
// The server is gone: nobody waits for the result.
process.on('disconnect', () => process.exit(0));
