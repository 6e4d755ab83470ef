import { joiningCaution } from '../contract/bench-words.js';
import type { Plan } from '../contract/plan.js';
import { halfWidth95 } from '../units/estimate.js';
import { bothUnitsInLine } from '../units/exact-length.js';
import { formatFinely, type LengthStyle } from '../units/format-length.js';
import { mmPerInch } from '../units/inches.js';
import { tools } from './bench-advice.js';
import type { CutList } from './cut-list.js';
import { bothEstimates } from './length-words.js';

/** What the plan promises and what it needs: clearances, tools and time. */
export function expectations(list: CutList, plan: Plan, style: LengthStyle): string[] {
  const facts: string[] = [];
  const clearances = plan.predicted.clearances.map((c) => `${c.side} ${bothEstimates(c.distance, style).first}`);
  if (clearances.length > 0) facts.push(`Expected clearance to each side: ${onOneLineEach(clearances)}.`);
  const spacings = (plan.predicted.spacings ?? []).map(
    ({ runs, distance }) => `${runs.join(' to ')} ${bothEstimates(distance, style).first}`,
  );
  if (spacings.length > 0) facts.push(`Expected spacing: ${onOneLineEach(spacings)}.`);
  facts.push(...closingInWords(plan, style));
  facts.push(...oneStepInWords(plan, style));
  if (list.cutCount > 0) {
    const pins = list.pinsToFit > 0 ? ` Pins to fit: ${list.pinsToFit}.` : '';
    facts.push(
      `Cuts: ${list.cutCount}.${pins} Time: about ${duration(list.minutes)} (common practice: 5 min a cut, 10 to set up).`,
    );
    facts.push(`Tools: ${tools}`);
  } else if (list.fillers.length > 0) {
    facts.push(joiningCaution);
  }
  return facts;
}

function duration(minutes: number): string {
  const hours = Math.floor(minutes / 60);
  return hours === 0 ? `${minutes} min` : `${hours} h ${minutes % 60} min`;
}

/** Lines break between them, never between a side and its length. */
function onOneLineEach(items: readonly string[]): string {
  return items.map((item) => item.replaceAll(' ', '\u00a0')).join('; ');
}

/** How well loops close, where that is worth a word: more than a tenth of a millimetre or of a degree. */
function closingInWords(plan: Plan, style: LengthStyle): string[] {
  return plan.predicted.closing.flatMap((c) => {
    const offMm = Math.hypot(c.dxMm, c.dyMm);
    const kinkDegrees = (Math.abs(c.kinkRad) * 180) / Math.PI;
    if (offMm < 0.1 && kinkDegrees < 0.1) return [];
    const sure = c.uMm === undefined ? '' : ` ± ${formatFinely(halfWidth95({ value: offMm, u: c.uMm }), style)}`;
    const off = `${formatFinely(offMm, style)}${sure}`;
    const closes = offMm < 0.1 ? 'closes' : `closes to ${off}`;
    const kink = kinkDegrees < 0.1 ? '' : `; each joint takes up ${kinkDegrees.toFixed(1)}°`;
    return [`Loop ${c.run} ${closes}${kink}.`];
  });
}

const mostStepLines = 6;

/** What a slip of one step at the saw does to the clearances: the largest change of each filler. */
function oneStepInWords(plan: Plan, style: LengthStyle): string[] {
  const lines = plan.fillers.flatMap((filler) => {
    const changes = [...(filler.oneStepLonger?.clearances ?? [])].sort(
      (a, b) => Math.abs(b.changeMm) - Math.abs(a.changeMm),
    );
    const worst = changes[0];
    if (worst === undefined || Math.abs(worst.changeMm) < 0.05) return [];
    const how = worst.changeMm < 0 ? 'less' : 'more';
    return [`${filler.id} ${formatFinely(Math.abs(worst.changeMm), style)} ${how} to side ${worst.side}`];
  });
  if (lines.length === 0 || lines.length > mostStepLines) return [];
  return [`One step of ${bothUnitsInLine(plan.stepMm ?? mmPerInch / 16, style)} too long means: ${lines.join('; ')}.`];
}
