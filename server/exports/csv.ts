/** One field of a CSV file; null is an empty field. */
export type CsvField = string | number | null;

/**
 * Writes rows as CSV after RFC 4180: CRLF after every row, fields with commas, quotes or line ends in quotes, quotes
 * doubled. Numbers carry at most `decimals` digits after the point, which is always a point.
 */
export function writeCsv(rows: readonly (readonly CsvField[])[], decimals = 3): string {
  return rows.map((row) => `${row.map((field) => csvField(field, decimals)).join(',')}\r\n`).join('');
}

function csvField(field: CsvField, decimals: number): string {
  if (field === null) return '';
  if (typeof field === 'number') return String(Number(field.toFixed(decimals)) + 0);
  const plain = harmless(field);
  return /[",\r\n]/.test(plain) ? `"${plain.replaceAll('"', '""')}"` : plain;
}

/** A spreadsheet would run a name that starts like a formula: an apostrophe in front keeps it text (common practice). */
function harmless(text: string): string {
  return /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
}
