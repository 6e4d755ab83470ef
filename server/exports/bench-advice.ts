/** What lies ready before the first cut (common practice, no source). */
export const tools =
  'Steel rule and scriber, clamp or vice with wooden jaws, fine hacksaw (24 to 32 teeth to the inch) or a small cut-off tool, flat and round needle files, pliers, safety glasses, gloves, continuity tester.';
