/** What a HEIC file's boxes say of its main picture, before it is decoded (ISO/IEC 23008-12 and 14496-12). */
export interface HeicContainer {
  /** As coded, before any turn. */
  readonly codedWidthPx: number;
  readonly codedHeightPx: number;
  /** Upright size after the turn that the container asks for. */
  readonly widthPx: number;
  readonly heightPx: number;
  /** The container itself asks for a turn or a mirroring, which decoders carry out. */
  readonly turns: boolean;
}

interface Box {
  readonly type: string;
  /** First byte of the content and first byte after it. */
  readonly from: number;
  readonly to: number;
}

/** Reads size and turn of the main picture; null when the boxes make no sense. */
export function readHeicContainer(bytes: Uint8Array): HeicContainer | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  try {
    const meta = find(boxesIn(view, 0, bytes.length), 'meta');
    const inMeta = boxesIn(view, meta.from + 4, meta.to);
    const main = mainItem(view, find(inMeta, 'pitm'));
    const properties = find(inMeta, 'iprp');
    const inProperties = boxesIn(view, properties.from, properties.to);
    const list = find(inProperties, 'ipco');
    const all = boxesIn(view, list.from, list.to);
    const mine = propertiesOf(view, find(inProperties, 'ipma'), main).map((index) => all[index - 1]);
    return describe(
      view,
      mine.filter((box) => box !== undefined),
    );
  } catch (error) {
    if (error instanceof RangeError || error instanceof MissingBox) return null;
    throw error;
  }
}

class MissingBox extends Error {}

function find(boxes: readonly Box[], type: string): Box {
  const box = boxes.find((candidate) => candidate.type === type);
  if (box === undefined) throw new MissingBox(type);
  return box;
}

function boxesIn(view: DataView, from: number, to: number): Box[] {
  const boxes: Box[] = [];
  for (let at = from; at + 8 <= to; ) {
    let length = view.getUint32(at);
    let header = 8;
    if (length === 1) {
      length = Number(view.getBigUint64(at + 8));
      header = 16;
    }
    if (length === 0) length = to - at;
    if (length < header || at + length > to) break;
    const type = String.fromCharCode(...[4, 5, 6, 7].map((i) => view.getUint8(at + i)));
    boxes.push({ type, from: at + header, to: at + length });
    at += length;
  }
  return boxes;
}

function mainItem(view: DataView, pitm: Box): number {
  return view.getUint8(pitm.from) === 0 ? view.getUint16(pitm.from + 4) : view.getUint32(pitm.from + 4);
}

/** Numbers, counted from 1, of the properties that belong to one item (ipma box, 14496-12 8.11.14). */
function propertiesOf(view: DataView, ipma: Box, item: number): number[] {
  const version = view.getUint8(ipma.from);
  const wide = (view.getUint8(ipma.from + 3) & 1) === 1;
  const count = view.getUint32(ipma.from + 4);
  let at = ipma.from + 8;
  for (let i = 0; i < count && at < ipma.to; i++) {
    const id = version < 1 ? view.getUint16(at) : view.getUint32(at);
    at += version < 1 ? 2 : 4;
    const associations = view.getUint8(at++);
    const indexes: number[] = [];
    for (let k = 0; k < associations; k++) {
      indexes.push(wide ? view.getUint16(at) & 0x7fff : view.getUint8(at) & 0x7f);
      at += wide ? 2 : 1;
    }
    if (id === item) return indexes;
  }
  return [];
}

function describe(view: DataView, properties: readonly Box[]): HeicContainer {
  const size = find(properties, 'ispe');
  const codedWidthPx = view.getUint32(size.from + 4);
  const codedHeightPx = view.getUint32(size.from + 8);
  let quarterTurns = 0;
  let turns = false;
  for (const box of properties) {
    if (box.type === 'irot') quarterTurns += view.getUint8(box.from) & 3;
    if (box.type === 'irot' || box.type === 'imir') turns = true;
  }
  const lying = quarterTurns % 2 === 1;
  return {
    codedWidthPx,
    codedHeightPx,
    widthPx: lying ? codedHeightPx : codedWidthPx,
    heightPx: lying ? codedWidthPx : codedHeightPx,
    turns,
  };
}
