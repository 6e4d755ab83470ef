import { lengthsIn } from '../units/both-units.js';
import { halfWidth95 } from '../units/estimate.js';
import { formatPlusMinus, type LengthStyle } from '../units/format-length.js';
import type { Coverage, CoverageHelp, LeastSure } from './coverage.js';

type Place = LeastSure['near'];

/** Half a step of 1/16 in: a filler cannot be cut nearer than that. */
const enoughMm = 25.4 / 32;

/** `the left end of side A`, as a person sees it who stands outside and faces the table. */
export function placeWords({ side, part }: Place): string {
  return part === 'middle' ? `the middle of side ${side}` : `the ${part} end of side ${side}`;
}

/**
 * One line of advice: what to do next, and what becomes of the least sure length by it; or that nothing would help much.
 * Warnings, command line, page and papers all say this.
 */
export function coverageAdvice(coverage: Coverage, style: LengthStyle): string {
  const { leastSure, helps, openEnds } = coverage;
  const [best] = helps;
  const main = best ? helpWords(leastSure, best, style) : nothingHelps(coverage, style);
  return openEnds.length > 0 ? `${openWords(openEnds)} ${main}` : main;
}

function helpWords(leastSure: LeastSure | null, best: CoverageHelp, style: LengthStyle): string {
  const surer = surerWords(leastSure, best, style);
  if ((best.showsMore ?? 0) === 0 || best.kind === 'marker') return `${actionWords(best)}: ${surer}.`;
  const share = Math.round(100 * (best.showsMore ?? 0));
  const shows = `it shows ${share < 1 ? 'more' : `${share} % more`} of the table top than there is in any photo`;
  const isSurer = leastSure !== null && best.thenU < 0.95 * leastSure.u;
  return `${actionWords(best)}: ${shows}${isSurer ? `, and ${surer}` : ''}.`;
}

/** Where the table goes on beyond what was seen. */
function openWords(ends: Coverage['openEnds']): string {
  const places = ends.map(placeWords);
  const listed =
    places.length < 2 ? places.join('') : `${places.slice(0, -1).join(', ')} and ${places[places.length - 1]}`;
  const shown = markerWords([...new Set(ends.map((e) => e.marker))]);
  return `The table's corner was not seen at ${listed}: to measure what lies there, take one more photo from there with ${shown} in it.`;
}

/** The style in which advice stands in warnings, which are written once for every reader. */
export const warningStyle: LengthStyle = { unit: 'mm', denominator: 16 };

/** A warning as a reader's unit wants it: its lengths in that unit, and the advice that it holds written anew. */
export function warningIn(message: string, coverage: Coverage | undefined, style: LengthStyle): string {
  const lengths = lengthsIn(message, style);
  if (!coverage) return lengths;
  return lengths.replace(coverageAdvice(coverage, warningStyle), () => coverageAdvice(coverage, style));
}

/** The second best way, where there is one of another kind. */
export function otherAdvice({ leastSure, helps }: Coverage, style: LengthStyle): string | null {
  const other = helps[1];
  return other ? `Or: ${actionWords(other)}: ${surerWords(leastSure, other, style)}.` : null;
}

function nothingHelps(coverage: Coverage, style: LengthStyle): string {
  const { leastSure } = coverage;
  if (!leastSure) return 'Nothing was measured that one more photo or marker could make surer.';
  if (leastSure.what === 'clearance' && isSureEnough(leastSure.u)) return sureEnough(coverage, leastSure.u, style);
  const half = formatPlusMinus(leastSure.u, style);
  return `No single photo or marker more would help much: ${lengthWords(leastSure)}${whereWords(leastSure)} is good to ${half}.`;
}

function isSureEnough(u: number): boolean {
  return halfWidth95({ value: 0, u }) <= enoughMm;
}

/** What photos and markers can tell is good enough. The report's own clearances may be less sure: then that is said too. */
function sureEnough({ listed, openEnds }: Coverage, u: number, style: LengthStyle): string {
  const rounding = style.unit === 'in' ? `, before it is rounded to 1/${style.denominator} in` : '';
  const good = (worstU: number): string => `good to ${formatPlusMinus(worstU, style)} or better${rounding}`;
  const done = openEnds.length > 0 ? '' : ': no further photo or marker is needed';
  if (!listed || isSureEnough(listed.u))
    return `The clearance to each side is ${good(Math.max(u, listed?.u ?? 0))}${done}.`;
  return (
    `As far as photos and markers go, every clearance along the track is ${good(u)}${done}. ` +
    `The one listed for side ${listed.side} is less sure, ${formatPlusMinus(listed.u, style)}: how well the rails were seen there counts in it too.`
  );
}

function actionWords(help: CoverageHelp): string {
  const place = placeWords(help.near);
  if (help.kind === 'marker') {
    const where = help.inwards ? `towards the middle of the table from ${place}` : `near ${place}`;
    return `Put one more marker sheet ${where} and take the photo again`;
  }
  const how = help.inwards
    ? ', the phone held out over the table and straight down (stand firmly, never on the table)'
    : '';
  return `Take one more photo from ${place}${how}, with ${markerWords(help.markers ?? [])} in it`;
}

function markerWords(ids: readonly number[]): string {
  const sorted = [...ids].sort((a, b) => a - b);
  if (sorted.length < 2) return `marker ${sorted[0] ?? ''}`.trim();
  return `markers ${sorted.slice(0, -1).join(', ')} and ${sorted[sorted.length - 1]}`;
}

function surerWords(leastSure: LeastSure | null, help: CoverageHelp, style: LengthStyle): string {
  const then = formatPlusMinus(help.thenU, style);
  if (!leastSure) return `no clearance is then less sure than ${then}`;
  return `${lengthWords(leastSure)} goes from ${formatPlusMinus(leastSure.u, style)}${leastSure.what === 'side' ? '' : ` (near ${placeWords(leastSure.near)})`} to ${then}`;
}

function lengthWords({ what, near }: LeastSure): string {
  return what === 'side' ? `the length of side ${near.side}, the least sure one,` : 'the least sure clearance';
}

function whereWords({ what, near }: LeastSure): string {
  return what === 'side' ? '' : `, near ${placeWords(near)},`;
}

/** Steps in which cells are tinted: the 95 % half widths up to which a clearance read there is good, millimetres. */
export function coverageSteps({ unit }: Pick<LengthStyle, 'unit'>): readonly number[] {
  return unit === 'mm' ? [0.5, 1, 2] : [25.4 / 32, 25.4 / 16, 25.4 / 8];
}

/** The step of a cell: 0 the best, 3 worse than all steps. */
export function coverageStep(u: number, style: Pick<LengthStyle, 'unit'>): number {
  const steps = coverageSteps(style);
  const at = steps.findIndex((half) => halfWidth95({ value: 0, u }) <= half);
  return at < 0 ? steps.length : at;
}

/** What each step means, best first; its last one has no bound. */
export function coverageLegend({ unit }: Pick<LengthStyle, 'unit'>): readonly string[] {
  const steps = unit === 'mm' ? ['0.5 mm', '1 mm', '2 mm'] : ['1/32 in', '1/16 in', '1/8 in'];
  return [...steps.map((s) => `good to ± ${s}`), `worse than ± ${steps[steps.length - 1]}`];
}
