import { createHash, randomBytes } from 'node:crypto';
import { mkdir, readFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import { z } from 'zod';
import { ok, type Result } from '../base/result.js';
import type { Problem } from '../contract/problems.js';
import { writeDurably, writing } from './durable-write.js';

/** A device is let in for so long after it was paired, milliseconds. */
const validMs = 90 * 24 * 3600_000;
/** More devices than a home has; the one paired first goes. */
const mostDevices = 20;

const deviceSchema = z.object({
  id: z.string(),
  name: z.string(),
  /** Digest of the device's token: the file does not tell how to get in. */
  tokenDigest: z.string(),
  paired: z.string(),
});

type StoredDevice = z.infer<typeof deviceSchema>;

/** A device as it is shown. */
export type Device = Pick<StoredDevice, 'id' | 'name' | 'paired'>;

/** The devices that were paired, kept in one file so that they stay paired when the program starts anew. */
export class DeviceStore {
  readonly #file: string;
  #devices: readonly StoredDevice[] = [];

  constructor(file: string) {
    this.#file = file;
  }

  async open(): Promise<void> {
    try {
      this.#devices = z.array(deviceSchema).parse(JSON.parse(await readFile(this.#file, 'utf8')));
    } catch {
      // Missing, or not readable any more: then devices are paired anew.
      this.#devices = [];
    }
  }

  list(): Device[] {
    return this.#devices.map(({ id, name, paired }) => ({ id, name, paired }));
  }

  /** @returns the token that the device shows from now on; it is kept nowhere here */
  async add(name: string): Promise<Result<string, Problem>> {
    const token = randomBytes(32).toString('base64url');
    const device = {
      id: randomBytes(4).toString('hex'),
      name,
      tokenDigest: digest(token),
      paired: new Date().toISOString(),
    };
    const saved = await this.#save([...this.#devices, device].slice(-mostDevices));
    return saved.ok ? ok(token) : saved;
  }

  async remove(id: string): Promise<Result<void, Problem>> {
    return this.#save(this.#devices.filter((d) => d.id !== id));
  }

  /** Whether a token belongs to a device that is still let in. Digests are compared, so time tells nothing of a token. */
  knows(token: string): boolean {
    const device = this.#devices.find((d) => d.tokenDigest === digest(token));
    return device !== undefined && Date.now() - Date.parse(device.paired) < validMs;
  }

  async #save(devices: readonly StoredDevice[]): Promise<Result<void, Problem>> {
    const saved = await writing(async () => {
      await mkdir(dirname(this.#file), { recursive: true });
      await writeDurably(this.#file, JSON.stringify(devices));
    });
    if (saved.ok) this.#devices = devices;
    return saved;
  }
}

function digest(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}
