import { finelyInBoth, inBoth } from '../units/both-units.js';

/**
 * Everything that a user, a photo or a file can cause. Code names a problem by its code and data; the sentence and the
 * next step that a person reads stand here and nowhere else. A code without a sentence does not compile.
 */
export interface ProblemData {
  'not-a-photo': { name: string };
  'photo-damaged': { name: string };
  'photo-too-small': { name: string; widthPx: number; heightPx: number; leastPx: number };
  'photo-too-large': { name: string; megapixels: number; mostMegapixels: number };
  'file-too-large': { name: string; megabytes: number; mostMegabytes: number };
  'file-not-found': { name: string };
  'no-marker': { name: string };
  'camera-not-solved': { name: string };
  'no-track': { name: string };
  'rails-misfit': { name: string; seenMm: number; gaugeMm: number; typedSideMm: number; fittingSideMm: number };
  'no-table-edge': { name: string };
  'photo-left-out': { names: readonly string[] };
  'photos-share-no-marker': { names: string };
  'marker-not-flat': { id: number; aside: boolean };
  'marker-moved': { id: number; names: string };
  'photos-contradict': { ids: string; names: string };
  'track-moved': { names: string; millimetres: number };
  'photo-cropped': { names: string };
  'run-end-unclear': { runs: readonly string[] };
  'run-leaves-picture': { runs: readonly string[] };
  'gauge-differs': { seenMm: number; profileMm: number; typedSideMm: number; fittingSideMm: number };
  'tape-left-out': { which: string };
  'tape-contradicted': { tapes: readonly { name: string; lengthMm: number; photosMm: number }[] };
  'corner-not-square': { corners: readonly { sides: string; offDegrees: number; withinDegrees: number }[] };
  'sides-unequal': { longer: string; shorter: string; byMm: number };
  'sides-differ': { side: string; kept: string; leftOut: string; apartMm: number; byMost: boolean };
  'not-json': { name: string };
  'wrong-format': { name: string; expected: string; found: string };
  'bad-field': { field: string; why: string };
  'no-donors': Record<string, never>;
  'unknown-side': { field: string; side: string; known: string };
  'unknown-run': { field: string; run: string; known: string };
  'unknown-option': { option: string };
  'missing-argument': { what: string };
  'bad-track-profile': { field: string; why: string };
  'nothing-measured': Record<string, never>;
  'nothing-planned': Record<string, never>;
  'nothing-planned-before': Record<string, never>;
  'no-photos': Record<string, never>;
  'unknown-table': { id: string };
  'unknown-photo': { id: string };
  'changed-elsewhere': { yours: number; theirs: number };
  'cannot-write': { why: string };
  'work-failed': { stage: string };
  'took-too-long': { minutes: number };
  'newer-format': { name: string; found: string };
  'table-damaged': { id: string };
  'not-a-table-zip': { name: string; why: string };
  'zip-too-large': { gigabytes: number };
  'too-much-memory': { megabytes: number };
  'unknown-sample': { id: string };
  'unknown-address': { path: string };
  'too-many-photos': { most: number };
  'too-many-tables': { most: number };
  'request-too-large': { mostKilobytes: number };
  'upload-broken-off': { name: string };
  'foreign-host': { host: string };
  'foreign-page': Record<string, never>;
  'not-paired': Record<string, never>;
  'wrong-code': Record<string, never>;
  'pairing-paused': Record<string, never>;
}

export type ProblemCode = keyof ProblemData;

export type Problem = { [C in ProblemCode]: { readonly code: C; readonly data: ProblemData[C] } }[ProblemCode];

export interface ProblemText {
  /** What is wrong. */
  readonly sentence: string;
  /** What to do about it. */
  readonly nextStep: string;
}

type Writers = { [C in ProblemCode]: (data: ProblemData[C]) => ProblemText };

const writers: Writers = {
  'not-a-photo': (d) => ({
    sentence: `${d.name} is not a photo that can be read here.`,
    nextStep: 'Choose a JPEG, PNG, WebP or HEIC file as the phone saved it.',
  }),
  'photo-damaged': (d) => ({
    sentence: `${d.name} is damaged or was only partly copied.`,
    nextStep: 'Copy it from the phone again, or take the photo again.',
  }),
  'photo-too-small': (d) => ({
    sentence: `${d.name} has only ${d.widthPx} × ${d.heightPx} pixels.`,
    nextStep: `Send the original photo, not a preview: at least ${d.leastPx} pixels on the shorter side are needed.`,
  }),
  'photo-too-large': (d) => ({
    sentence: `${d.name} has ${d.megapixels} megapixels; at most ${d.mostMegapixels} can be measured.`,
    nextStep: 'Set the camera to a smaller picture size and take the photo again.',
  }),
  'file-too-large': (d) => ({
    sentence: `${d.name} is ${d.megabytes} MB; at most ${d.mostMegabytes} MB are taken.`,
    nextStep: 'Send the photo as JPEG or HEIC as the phone saved it.',
  }),
  'file-not-found': (d) => ({
    sentence: `There is no file ${d.name}.`,
    nextStep: 'Check the name and the folder.',
  }),
  'no-marker': (d) => ({
    sentence: `No marker was found in ${d.name}.`,
    nextStep:
      'Lay a printed marker sheet flat on the table, all of it in the picture and out of glare, and take the photo again.',
  }),
  'photo-left-out': (d) => ({
    sentence: `No marker was found in ${d.names.join(' and ')}: ${
      d.names.length === 1 ? 'that photo was' : 'those photos were'
    } left out, and all lengths come from the others.`,
    nextStep: `Take ${d.names.length === 1 ? 'it' : 'them'} again with a marker sheet in the picture that another photo shows too.`,
  }),
  'camera-not-solved': (d) => ({
    sentence: `The camera's place could not be worked out from ${d.name}.`,
    nextStep: 'Take the photo again from higher up, with one more marker sheet on the table.',
  }),
  'no-track': (d) => ({
    sentence: `No track was found in ${d.name}.`,
    nextStep:
      'Check that the right track profile and the true marker side are set, and that the rails are in the picture and sharp.',
  }),
  'rails-misfit': (d) => ({
    sentence: `If the marker’s black square is ${d.typedSideMm} mm wide, the rails in ${d.name} lie ${finelyInBoth(d.seenMm)} apart, but the track that was chosen has ${finelyInBoth(d.gaugeMm, 2)}.`,
    nextStep: `Measure the black square with a rule. If it is ${d.fittingSideMm.toFixed(0)} mm or near, set its width as the marker side; if it is ${d.typedSideMm} mm, choose the track that lies on the table, or measure your own. Then measure again.`,
  }),
  'no-table-edge': (d) => ({
    sentence: `The table's edge was not found in ${d.name}.`,
    nextStep:
      'Take the photo from higher up so that the table edge and some floor beyond it are in the picture. Where both look alike, touch the corners of the table in the measured picture yourself (correct by hand), or lay a sheet on the floor.',
  }),
  'photos-share-no-marker': (d) => ({
    sentence: `These photos have no marker in common with the others: ${d.names}.`,
    nextStep: 'Take one more photo that shows a marker of each part, or measure them as separate tables.',
  }),
  'marker-not-flat': (d) => ({
    sentence: `The sheet of marker ${d.id} does not lie flat: its corners fit no flat square. ${
      d.aside ? 'It was set aside.' : 'No other marker could take its place, so all lengths are less sure.'
    }`,
    nextStep: 'Flatten that sheet, with nothing under it and a weight on each corner, and take the photo again.',
  }),
  'marker-moved': (d) => ({
    sentence: `Marker ${d.id} lies in another place from one photo to the next (${d.names}). It was set aside.`,
    nextStep: 'Take these photos again, and leave the sheets where they are from the first to the last.',
  }),
  'photos-contradict': (d) => ({
    sentence: `${d.names} disagree about where markers ${d.ids} lie: one of those sheets was moved in between.`,
    nextStep: 'Take these photos again without moving a sheet, or with one more marker that all of them show.',
  }),
  'track-moved': (d) => ({
    sentence: `Track lies ${finelyInBoth(d.millimetres)} apart in ${d.names}: it was moved in between, or a marker was.`,
    nextStep: 'Take these photos again, and leave track and sheets where they are from the first to the last.',
  }),
  'photo-cropped': (d) => ({
    sentence: `A part of ${d.names} seems to have been cut away after it was taken. The middle of the lens had to be found from what is left, which makes all lengths less sure.`,
    nextStep: 'Send the photo as the camera took it, not cropped and not edited.',
  }),
  'run-end-unclear': (d) => ({
    sentence: `Where track ends could not be told for ${d.runs.join(' and ')}: something covers it there, or a shadow does. Track may go on beyond, nearer to an edge than the clearances say.`,
    nextStep: 'Lift away what stands there and take the photo again, or mark the end by hand in the measured picture.',
  }),
  'run-leaves-picture': (d) => ({
    sentence: `Track of ${d.runs.join(' and ')} goes out of the picture. What lies beyond was not measured, and may be nearer to an edge than the clearances say.`,
    nextStep:
      'Take one more photo that shows where it goes on, with a marker of this one in it, and measure both together.',
  }),
  'tape-left-out': (d) => ({
    sentence: `These tape checks could not be used: ${d.which}. A marker of it, or a corner of that side, was not measured.`,
    nextStep: 'Take a photo that shows both markers, or the whole side with both corners; or take the check away.',
  }),
  'gauge-differs': (d) => ({
    sentence: `The rails measure ${finelyInBoth(d.seenMm)} apart where the track profile says ${finelyInBoth(d.profileMm, 2)}, so every length may be wrong by ${(100 * Math.abs(d.seenMm / d.profileMm - 1)).toFixed(1)} %.`,
    nextStep: `Measure the black square of a marker with a rule: printers often shrink a page. If it is ${d.fittingSideMm.toFixed(1)} mm and not ${d.typedSideMm.toFixed(1)} mm, set that as the side of the marker and measure again; if not, check the gauge in the track profile.`,
  }),
  'tape-contradicted': (d) => ({
    sentence: `Tape and photos contradict each other, so these tape checks were set aside: ${d.tapes
      .map((t) => `${t.name} (tape ${inBoth(t.lengthMm)}, photos ${inBoth(t.photosMm)})`)
      .join(', ')}.`,
    nextStep:
      'Look whether that side or those markers are meant, and lay the tape again. If the tape is right, measure the marker’s black square: a wrong side makes all lengths wrong by the same share.',
  }),
  'corner-not-square': (d) => ({
    sentence: `Not all corners of the table can be square. ${d.corners
      .map((c) => `Between sides ${c.sides} it is ${c.offDegrees.toFixed(1)}° off (± ${c.withinDegrees.toFixed(1)}°).`)
      .join(' ')} What is off was left as it measures.`,
    nextStep:
      'Lay a carpenter’s square there. If it is square, look whether both edges are drawn where they are, and correct them by hand; if not, take back that the corners are square.',
  }),
  'sides-unequal': (d) => ({
    sentence: `Side ${d.longer} measures ${inBoth(d.byMm, 0)} longer than side ${d.shorter}, opposite.`,
    nextStep:
      'If the table is a rectangle, a side was found where there is none: look at the sides on the picture, and correct the wrong one by hand.',
  }),
  'sides-differ': (d) => ({
    sentence: `Side ${d.side} lies ${finelyInBoth(d.apartMm)} elsewhere in ${d.leftOut} than in ${d.kept}, ${d.byMost ? 'on which most photos agree' : 'which was taken'}.`,
    nextStep: d.byMost
      ? 'Look at the side on the pictures; where it is drawn beside the edge, correct it by hand.'
      : 'Look at the side on both pictures; where it is drawn beside the edge, correct it by hand, or take one more photo of it from another place.',
  }),
  'not-json': (d) => ({
    sentence: `${d.name} is not a JSON file.`,
    nextStep: 'Choose the file that Gapwright wrote, unchanged.',
  }),
  'wrong-format': (d) => ({
    sentence: `${d.name} says its format is “${d.found}”, not “${d.expected}”.`,
    nextStep: 'Choose the right file, or write it with this version of Gapwright.',
  }),
  'bad-field': (d) => ({
    sentence: `The field “${d.field}” cannot be used: ${d.why}.`,
    nextStep: 'Correct that field and try again; nothing else was changed.',
  }),
  'no-donors': () => ({
    sentence: 'The track has open gaps, but there are no donors to cut fillers from, and no spare straights.',
    nextStep:
      'Say what is at hand, with its length: straights that may be cut, or spare ones that may be laid as they are.',
  }),
  'unknown-side': (d) => ({
    sentence: `The field “${d.field}” names the side “${d.side}”, which this table does not have.`,
    nextStep: `Use one of these sides: ${d.known}.`,
  }),
  'unknown-run': (d) => ({
    sentence: `The field “${d.field}” names the run “${d.run}”, which was not measured.`,
    nextStep: `Use one of these runs: ${d.known}.`,
  }),
  'unknown-option': (d) => ({
    sentence: `“${d.option}” is not an option of this command.`,
    nextStep: 'Run gapwright --help to see what there is.',
  }),
  'missing-argument': (d) => ({
    sentence: `The command needs ${d.what}.`,
    nextStep: 'Run gapwright --help to see how it is called.',
  }),
  'bad-track-profile': (d) => ({
    sentence: `The track profile cannot be used: “${d.field}” ${d.why}.`,
    nextStep: 'Measure that dimension again and correct it in the profile.',
  }),
  'nothing-measured': () => ({
    sentence: 'This table has not been measured yet.',
    nextStep: 'Add a photo and measure it first.',
  }),
  'nothing-planned': () => ({
    sentence: 'There is no filler plan for this table yet.',
    nextStep: 'Work out the fillers first.',
  }),
  'nothing-planned-before': () => ({
    sentence: 'There is no earlier plan to check this measurement against.',
    nextStep: 'Plan the fillers first; after the cuts, add new photos of the table and measure again.',
  }),
  'no-photos': () => ({
    sentence: 'This table has no photo yet.',
    nextStep: 'Add at least one photo that shows the track and a marker sheet.',
  }),
  'unknown-table': (d) => ({
    sentence: `There is no table “${d.id}” here.`,
    nextStep: 'Go back to the list of tables and choose one.',
  }),
  'unknown-photo': (d) => ({
    sentence: `There is no photo “${d.id}” in this table.`,
    nextStep: 'Reload the page to see which photos are there.',
  }),
  'changed-elsewhere': () => ({
    sentence: 'This table was changed on another device in the meantime.',
    nextStep: 'Reload to see that change, then make yours again.',
  }),
  'cannot-write': (d) => ({
    sentence: `The table's folder cannot be written: ${d.why}.`,
    nextStep: 'Free some space or make the folder writable, then try again; what was saved before is still there.',
  }),
  'work-failed': (d) => ({
    sentence: `The program failed while working on “${d.stage}”.`,
    nextStep: 'Try once more; if it fails again, take another photo. The photo itself is kept.',
  }),
  'took-too-long': (d) => ({
    sentence: `The work was stopped because it took more than ${d.minutes} minutes.`,
    nextStep: 'Measure again with fewer or smaller photos; the photos themselves are kept.',
  }),
  'newer-format': (d) => ({
    sentence: `${d.name} was saved by a newer version of Gapwright (its format is “${d.found}”).`,
    nextStep: 'Update Gapwright on this computer; the table was left as it is.',
  }),
  'table-damaged': (d) => ({
    sentence: `The file table.json of the table “${d.id}” cannot be read.`,
    nextStep: 'Put back a copy of that file; the photos in the same folder were left as they are.',
  }),
  'not-a-table-zip': (d) => ({
    sentence: `${d.name} is no packed table that can be opened: ${d.why}.`,
    nextStep: 'Choose the ZIP file that “Whole table” gave, or a ZIP of a table’s folder; nothing was changed.',
  }),
  'zip-too-large': (d) => ({
    sentence: `This table has ${d.gigabytes} GB; one ZIP file can hold 4.`,
    nextStep: 'Remove photos that are not needed, or copy the table’s folder instead.',
  }),
  'too-much-memory': (d) => ({
    sentence: `Measuring these photos together takes more than ${d.megabytes} MB of memory.`,
    nextStep: 'Remove some photos of this table, or set the camera to a smaller picture size.',
  }),
  'unknown-sample': (d) => ({
    sentence: `There is no sample table “${d.id}”.`,
    nextStep: 'Choose one from the start page.',
  }),
  'unknown-address': (d) => ({
    sentence: `There is nothing at ${d.path}.`,
    nextStep: 'Go back to the start page.',
  }),
  'too-many-photos': (d) => ({
    sentence: `A table takes at most ${d.most} photos.`,
    nextStep: 'Remove photos that are not needed, or make another table.',
  }),
  'too-many-tables': (d) => ({
    sentence: `There are already ${d.most} tables.`,
    nextStep: 'Delete tables that are not needed any more.',
  }),
  'request-too-large': (d) => ({
    sentence: `That is more than the ${d.mostKilobytes} kB taken at once.`,
    nextStep: 'Shorten lists and names, then try again; nothing was changed.',
  }),
  'upload-broken-off': (d) => ({
    sentence: `${d.name} did not arrive whole.`,
    nextStep: 'Send it again; photos that arrived before are kept.',
  }),
  'foreign-host': (d) => ({
    sentence: `This server does not answer to the name “${d.host}”.`,
    nextStep: 'Open the address that Gapwright printed when it started.',
  }),
  'not-paired': () => ({
    sentence: 'This device has not been let in, or was let in too long ago.',
    nextStep: 'Reload the page and type the six digits that the computer shows.',
  }),
  'wrong-code': () => ({
    sentence: 'Those are not the six digits, or they are no longer valid.',
    nextStep: 'Look at the computer again: the digits change after each device and every ten minutes.',
  }),
  'pairing-paused': () => ({
    sentence: 'Too many wrong digits were tried.',
    nextStep: 'Wait a minute, then type the new digits that the computer shows.',
  }),
  'foreign-page': () => ({
    sentence: 'Another web page tried to use Gapwright in your browser; that was refused.',
    nextStep: 'Use Gapwright in a tab of its own, at the address that it printed when it started.',
  }),
};

/** The words for a problem. */
export function problemText(problem: Problem): ProblemText {
  return (writers[problem.code] as (data: Problem['data']) => ProblemText)(problem.data);
}

/** One line: what is wrong and what to do. */
export function problemLine(problem: Problem): string {
  const text = problemText(problem);
  return `${text.sentence} ${text.nextStep}`;
}

export function problem<C extends ProblemCode>(code: C, data: ProblemData[C]): Problem {
  return { code, data } as unknown as Problem;
}
