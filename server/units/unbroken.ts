/**
 * A text whose lengths stay on one line, however it is wrapped: no-break spaces between a whole number and its fraction,
 * before a unit, after ± and ≈. For what people read; files that programs read keep plain spaces.
 */
export function unbroken(text: string): string {
  return text.replace(/(\d) (?=(?:mm|in|%|°)(?![\p{L}])|\d+\/\d)|([±≈]) (?=\d)/gu, '$1$2\u00a0');
}
