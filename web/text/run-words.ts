import type { Report } from '../../server/contract/report.js';
import { terms } from './terms.js';

/** One sentence that says what the names R1, R2 mean; empty where there is no track. */
export function runsInWords({ runs }: Pick<Report, 'runs'>): string {
  const names = runs.map((run) => run.id);
  if (names.length === 0) return '';
  const meaning = `A run is ${terms.run}`;
  if (names.length === 1) return `${meaning}. All of the track is one run, ${names[0]}.`;
  return `${meaning}. Here they are ${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}, named on the picture.`;
}
