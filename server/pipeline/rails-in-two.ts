import type { RailWorks } from '../stages/rails/rail-works.js';
import type { SecondThread } from './second-thread.js';

/** Finds and follows rails in both threads. */
export function railsInTwo(thread: SecondThread): RailWorks {
  return {
    turns: (asked, count) => thread.share('likeness-turns', asked, count),
    plan: (asked, count) => thread.share('grey-plan', asked, count),
    merits: (asked, count) => thread.share('rail-merits', asked, count),
    rails: (asked, count) => thread.share('rails-beside', asked, count),
  };
}
