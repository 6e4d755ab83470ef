/** What a plan calls the wishes that it cannot meet, and how a person reads each; the codes stay as programs know them. */
const words: readonly (readonly [RegExp, string])[] = [
  [/^clearance (\S+)$/, 'Room along side $1'],
  [/^spacing (\S+) (\S+)$/, 'Spacing from run $1 to run $2'],
  [/^room between (\S+) (\S+)$/, 'Room between run $1 and run $2'],
  [/^keep free (.+)$/s, 'The place kept free, “$1”'],
  [/^close (Gap \d+) \(.*\)$/, 'Closing $1'],
  [/^close the gap of (\S+)$/, 'Closing the gap of run $1'],
  [/^closing (\S+)$/, 'Closing the loop of run $1'],
  [/^table edge (\S+)$/, 'Keeping the track on the table at side $1'],
];

/** @param wish as `plan.unmet` says it: `spacing R1 R2` */
export function wishInWords(wish: string): string {
  const [pattern, spoken] = words.find(([p]) => p.test(wish)) ?? [];
  return pattern && spoken ? wish.replace(pattern, spoken) : wish;
}
