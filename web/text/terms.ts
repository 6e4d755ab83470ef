/**
 * The trade words that the page uses, each with the short phrase that explains it where it first appears on a screen.
 * Words and meanings are those of the glossary in DEVELOPERS.md.
 */
export const terms = {
  marker: 'a printed black square that the camera can read; it gives the scale',
  'dry fit': 'all of the track laid down loose, nothing fastened',
  section: 'one piece of track as sold or as cut',
  filler: 'a short straight cut to a length that is not sold',
  donor: 'the section that a filler is cut from',
  offcut: 'what remains of a donor after the cuts',
  kerf: 'the width that the blade removes',
  rail: 'one of three tubes; trains run on the outer two, the centre one carries the current',
  gauge: 'the distance between the inside faces of the outer rail heads',
  joint: 'the place where two sections meet',
  'joint gap': 'how far apart the rail ends stand at a joint',
  kink: 'the angle between two sections at a joint',
  run: 'a chain of joined sections; closed when it comes back to its start',
  'rail-to-edge clearance': 'from the outside face of the nearest outer rail head straight to the table edge',
  spacing: 'from centre rail to centre rail of two neighbouring tracks',
  misclosure: 'what is left over when a loop is laid out from its sections',
} as const;

export type Term = keyof typeof terms;
