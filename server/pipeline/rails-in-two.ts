import type { RailWorks } from '../stages/rails/refine-path.js';
import type { SecondThread } from './second-thread.js';

/** Follows rails in both threads. */
export function railsInTwo(thread: SecondThread): RailWorks {
  return {
    merits: (asked, count) => thread.share('rail-merits', asked, count),
    rails: (asked, count) => thread.share('rails-beside', asked, count),
  };
}
