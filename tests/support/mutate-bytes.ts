/** Ways in which a file goes wrong: bits fall over, parts are lost, doubled, swapped, or lie about sizes. */
export function mutateBytes(original: Uint8Array, other: Uint8Array, random: () => number): Uint8Array {
  let bytes = new Uint8Array(original);
  const pick = (count: number): number => Math.floor(random() * count);
  const times = 1 + pick(4);
  for (let i = 0; i < times; i++) bytes = mutateOnce(bytes, other, pick);
  return bytes;
}

function mutateOnce(
  bytes: Uint8Array<ArrayBuffer>,
  other: Uint8Array,
  pick: (count: number) => number,
): Uint8Array<ArrayBuffer> {
  const at = pick(bytes.length);
  // Headers are short and hold the sizes: half of all mutations go there.
  const early = pick(2) === 0 ? pick(Math.min(300, bytes.length)) : at;
  switch (pick(8)) {
    case 0:
      bytes[early] = (bytes[early] ?? 0) ^ (1 << pick(8));
      return bytes;
    case 1:
      for (let i = 0; i < 1 + pick(40); i++) bytes[(early + i) % bytes.length] = pick(256);
      return bytes;
    case 2:
      return bytes.slice(0, at);
    case 3:
      return concat(bytes.subarray(0, at), bytes.subarray(pick(bytes.length)));
    case 4:
      return concat(bytes.subarray(0, at), other.subarray(pick(other.length)));
    case 5:
      return concat(bytes, other);
    case 6: {
      const value = [0, 1, 0x7fffffff, 0x80000000, 0xffffffff, 0x10000][pick(6)] ?? 0;
      if (early + 4 <= bytes.length) new DataView(bytes.buffer, bytes.byteOffset).setUint32(early, value);
      return bytes;
    }
    default:
      return bytes.fill(pick(256), early, Math.min(bytes.length, early + pick(500)));
  }
}

function concat(a: Uint8Array, b: Uint8Array): Uint8Array<ArrayBuffer> {
  const whole = new Uint8Array(a.length + b.length);
  whole.set(a);
  whole.set(b, a.length);
  return whole;
}
