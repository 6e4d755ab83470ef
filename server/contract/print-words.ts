/** How to tell that the printer kept the size; the page and the printed marker sheet say the same. */
export const checkBarWords =
  'Measure both check bars, 100 mm and 4 in, with a steel rule, across the outer faces of their end strokes. ' +
  'If they are off, print again at 100 %, “actual size”, never “fit to page”.';
