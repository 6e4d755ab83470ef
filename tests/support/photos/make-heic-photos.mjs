/**
 * Makes the small HEIC files beside this script. Needs heif-enc (Debian package libheif-examples); run by hand:
 *
 *     node tests/support/photos/make-heic-photos.mjs
 *
 * Each holds four quarters of one colour (as coded: red, green; blue, yellow), 240 × 160 pixels as coded.
 * - quarters.heic: no turn stated anywhere
 * - quarters-exif-6.heic: EXIF says orientation 6, the container is silent
 * - quarters-both-6.heic: EXIF says orientation 6 and the container asks for the same turn, as phones write it
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';

const here = import.meta.dirname;
const folder = mkdtempSync(join(tmpdir(), 'heic-'));
const [width, height] = [240, 160];
const colours = [
  [220, 40, 40],
  [40, 200, 60],
  [50, 60, 220],
  [230, 220, 60],
];

async function storedJpeg(orientation) {
  const data = Buffer.alloc(width * height * 3);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++)
      data.set(colours[(y >= height / 2 ? 2 : 0) + (x >= width / 2 ? 1 : 0)], (y * width + x) * 3);
  const stored = sharp(data, { raw: { width, height, channels: 3 } }).withExif({
    IFD0: { Make: 'Invented', Model: 'Sample 1' },
    IFD2: { FocalLengthIn35mmFilm: '26', FocalLength: '57/10' },
  });
  return stored.withMetadata({ orientation }).jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).toBuffer();
}

function encode(jpeg, name) {
  const [from, to] = [join(folder, 'in.jpg'), join(folder, name)];
  writeFileSync(from, jpeg);
  execFileSync('heif-enc', ['-q', '85', from, '-o', to]);
  return readFileSync(to);
}

/** Adds an irot box (quarter turns anticlockwise) for every item to a file as heif-enc 1.15 lays it out. */
function withContainerTurn(file, quarterTurns) {
  const irot = Buffer.from([0, 0, 0, 9, 0x69, 0x72, 0x6f, 0x74, quarterTurns]);
  const at = (type, from = 0) => file.indexOf(type, from, 'latin1') - 4;
  const [meta, iprp, ipco, ipma] = ['meta', 'iprp', 'ipco', 'ipma'].map((type) => at(type));
  const ipcoEnd = ipco + file.readUInt32BE(ipco);
  let properties = 0;
  for (let p = ipco + 8; p < ipcoEnd; p += file.readUInt32BE(p)) properties++;
  const ipmaBody = Buffer.from(file.subarray(ipma, ipma + file.readUInt32BE(ipma)));
  const associations = ipmaBody[18];
  const grownIpma = Buffer.concat([ipmaBody, Buffer.from([0x80 | (properties + 1)])]);
  grownIpma.writeUInt32BE(grownIpma.length, 0);
  grownIpma[18] = associations + 1;
  const grown = irot.length + 1;
  const out = Buffer.concat([
    file.subarray(0, ipcoEnd),
    irot,
    file.subarray(ipcoEnd, ipma),
    grownIpma,
    file.subarray(ipma + ipmaBody.length),
  ]);
  for (const [box, by] of [
    [meta, grown],
    [iprp, grown],
    [ipco, irot.length],
  ])
    out.writeUInt32BE(out.readUInt32BE(box) + by, box);
  shiftItemPlaces(out, grown);
  return out;
}

/** The item data moved: iloc (version 0, offset and length of 4 bytes, no base offset) must say so. */
function shiftItemPlaces(out, by) {
  const iloc = out.indexOf('iloc', 0, 'latin1') - 4;
  if (out[iloc + 8] !== 0 || out[iloc + 12] !== 0x44) throw new Error('iloc is laid out differently');
  const baseBytes = out[iloc + 13] >> 4;
  let p = iloc + 16;
  for (let item = 0; item < out.readUInt16BE(iloc + 14); item++) {
    p += 4 + baseBytes;
    const extents = out.readUInt16BE(p);
    p += 2;
    for (let e = 0; e < extents; e++, p += 8) out.writeUInt32BE(out.readUInt32BE(p) + by, p);
  }
}

const plain = encode(await storedJpeg(1), 'a.heic');
const exifOnly = encode(await storedJpeg(6), 'b.heic');
writeFileSync(join(here, 'quarters.heic'), plain);
writeFileSync(join(here, 'quarters-exif-6.heic'), exifOnly);
// Orientation 6 asks for a quarter turn clockwise: three anticlockwise.
writeFileSync(join(here, 'quarters-both-6.heic'), withContainerTurn(exifOnly, 3));
rmSync(folder, { recursive: true });
