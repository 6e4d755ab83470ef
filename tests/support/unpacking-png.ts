import { crc32, deflateSync } from 'node:zlib';

/**
 * A PNG of two colours, all black: a hundred kilobytes that unpack to any number of pixels.
 * Made from the PNG specification (W3C, Portable Network Graphics, third edition, 5.3 and 11.2).
 */
export function unpackingPng(widthPx: number, heightPx: number): Uint8Array {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(widthPx, 0);
  header.writeUInt32BE(heightPx, 4);
  header[8] = 1; // bits a pixel, grey
  const rows = Buffer.alloc((Math.ceil(widthPx / 8) + 1) * heightPx);
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', header),
    chunk('IDAT', deflateSync(rows, { level: 1 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

function chunk(name: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
  const whole = Buffer.alloc(body.length + 8);
  whole.writeUInt32BE(data.length, 0);
  body.copy(whole, 4);
  whole.writeUInt32BE(crc32(body), body.length + 4);
  return whole;
}
