const upTo19 =
  'zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen'.split(
    ' ',
  );
const tens = 'twenty thirty forty fifty sixty seventy eighty ninety'.split(' ');

/** Writes a whole number from 0 to 999 in words: 306 → `three hundred six`. */
export function numberInWords(n: number): string {
  if (n < 20) return upTo19[n];
  if (n < 100) {
    const ten = tens[Math.floor(n / 10) - 2];
    return n % 10 === 0 ? ten : `${ten}-${upTo19[n % 10]}`;
  }
  const hundreds = `${upTo19[Math.floor(n / 100)]} hundred`;
  return n % 100 === 0 ? hundreds : `${hundreds} ${numberInWords(n % 100)}`;
}
