import { alone, type DoParts } from '../../base/parts.js';
import { fillGreyPlan, type GreyPlanAsked } from '../../images/grey-plan.js';
import { fillMerits, fillRails, type PlacesAsked } from './fill-places.js';
import { scoreTurns, type TurnsAsked } from './rail-likeness.js';

/** What several threads may share of finding rails and following them. */
export interface RailWorks {
  /** Parts are turns of a plan. */
  readonly turns: DoParts<TurnsAsked>;
  /** Parts are rows of squares. */
  readonly plan: DoParts<GreyPlanAsked>;
  /** Parts are places on a line. */
  readonly merits: DoParts<PlacesAsked>;
  readonly rails: DoParts<PlacesAsked>;
}

export const aloneWithRails: RailWorks = {
  turns: alone(scoreTurns),
  plan: alone(fillGreyPlan),
  merits: alone(fillMerits),
  rails: alone(fillRails),
};
