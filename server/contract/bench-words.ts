/** What page and cut sheet say first of all, before any step of cutting. */
export const ruleFirst =
  'Before you cut, lay a steel rule in each gap and write down what it says; typed in under “Fillers”, it counts. ' +
  'If it is off by more than the ±, do not cut: measure again.';
