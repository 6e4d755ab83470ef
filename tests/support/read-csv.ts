/** Reads CSV as RFC 4180 says, strictly: CRLF rows, quoted fields, doubled quotes. Throws on anything else. */
export function readCsv(text: string): string[][] {
  const rows: string[][] = [];
  let at = 0;
  while (at < text.length) {
    const row: string[] = [];
    for (;;) {
      const [field, next] = text[at] === '"' ? quoted(text, at + 1) : bare(text, at);
      row.push(field);
      at = next;
      if (text[at] !== ',') break;
      at++;
    }
    if (text.slice(at, at + 2) !== '\r\n') throw new Error(`no CRLF at ${at}`);
    at += 2;
    rows.push(row);
  }
  return rows;
}

function bare(text: string, from: number): [string, number] {
  let at = from;
  while (at < text.length && !',\r\n"'.includes(text[at])) at++;
  if (text[at] === '"') throw new Error(`quote inside a bare field at ${at}`);
  return [text.slice(from, at), at];
}

function quoted(text: string, from: number): [string, number] {
  let field = '';
  let at = from;
  for (;;) {
    const end = text.indexOf('"', at);
    if (end < 0) throw new Error('quote never closed');
    field += text.slice(at, end);
    if (text[end + 1] !== '"') return [field, end + 1];
    field += '"';
    at = end + 2;
  }
}
