import sharp, { type Sharp } from 'sharp';

/** Widths to which a photo is reduced before it is spoiled: small, so that many can be measured. */
const widthsPx = [1000, 1200, 1600] as const;

/** A photo as it comes off a camera that lies or a finger that was in the way: still a picture, but not of a usable table. */
export async function spoilPhoto(original: Uint8Array, other: Uint8Array, random: () => number): Promise<Uint8Array> {
  const pick = (count: number): number => Math.floor(random() * count);
  const widthPx = widthsPx[pick(widthsPx.length)] ?? 1000;
  let { data, info } = await sharp(original).resize(widthPx).toBuffer({ resolveWithObject: true });
  const times = pick(4);
  for (let i = 0; i < times; i++) {
    const whole = { data, width: info.width, height: info.height };
    ({ data, info } = await spoilOnce(whole, other, pick).jpeg({ quality: 90 }).toBuffer({ resolveWithObject: true }));
  }
  const focalLengths = ['0/1', '1/1000', '26/1', '9999/1', '4294967295/1'];
  const [focal, focal35] = [focalLengths[pick(5)] ?? '1/1', ['0', '1', '26', '65535'][pick(4)] ?? '1'];
  const exif = {
    IFD0: { Orientation: String(pick(10)) },
    IFD2: { FocalLength: focal, FocalLengthIn35mmFilm: focal35 },
  };
  return pick(3) === 0 ? data : sharp(data).withExif(exif).jpeg({ quality: 92 }).toBuffer();
}

interface Picture {
  readonly data: Buffer;
  readonly width: number;
  readonly height: number;
}

function spoilOnce({ data, width, height }: Picture, other: Uint8Array, pick: (count: number) => number): Sharp {
  const picture = sharp(data);
  const part = () => {
    const [w, h] = [1 + pick(width >> 1), 1 + pick(height >> 1)];
    return { left: pick(width - w + 1), top: pick(height - h + 1), width: w, height: h };
  };
  // What leaves no marker to be read ends early: half of all cases are of the first three kinds, which leave most of it.
  switch (pick(2) === 0 ? pick(3) : 3 + pick(8)) {
    case 0: {
      const { left, top, width: w, height: h } = part();
      const background = ['#000', '#fff', '#7a5a3a'][pick(3)] ?? '#000';
      return picture.composite([{ input: { create: { width: w, height: h, channels: 3, background } }, left, top }]);
    }
    case 1:
      return picture.resize(width, height - pick(height >> 2), { fit: 'fill' });
    case 2:
      return picture.linear(0.4 + pick(16) / 10, pick(80) - 40);
    case 3:
      return picture.extract({
        left: pick(width >> 1),
        top: pick(height >> 1),
        width: width >> 1,
        height: height >> 1,
      });
    case 4:
      return picture.flop();
    case 5:
      return picture.blur(0.5 + pick(8));
    case 6:
      return picture.negate();
    case 7:
      return picture.composite([{ input: Buffer.from(other), left: pick(width >> 1), top: pick(height >> 1) }]);
    case 8:
      return picture.composite([{ input: Buffer.from(other), tile: true, blend: 'overlay' }]);
    case 9:
      // The same markers stand in the picture twice.
      return picture.extend({ right: width, extendWith: 'repeat' });
    default:
      return picture.rotate(pick(360), { background: '#444' });
  }
}
