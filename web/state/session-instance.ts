import { Session } from './session.js';

/** The one session of this page. */
export const session = new Session();
