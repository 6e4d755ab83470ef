/** What is said where the table was measured again since its fillers were worked out, the same on every screen. */
export const measuredSince =
  'The table was measured again since these fillers were worked out: they belong to the measurement before, not to the one you see now. Work them out again before you cut. If you have cut already, leave them: “Check again” compares with them.';

/** Over the cuts of that plan. */
export const cutsOfBefore = 'The cuts, by the measurement before';
