import { randomInt, timingSafeEqual } from 'node:crypto';

/** How long a code can be used, milliseconds: time to fetch the phone and to mistype once. */
const validMs = 10 * 60_000;
/** After so many wrong codes, from whomever, a new code is made: guessing one of a million takes longer than a life. */
const mostWrong = 8;
/** And for so long no code is taken at all, milliseconds. */
const pauseMs = 60_000;

/** How an attempt to pair ended. */
export type PairingOutcome = 'paired' | 'wrong-code' | 'wait';

/** The code by which a device is let in: six digits, used once, for ten minutes. */
export class PairingCode {
  readonly #now: () => number;
  #code = '';
  #until = 0;
  #wrong = 0;
  #closedUntil = 0;

  /** @param now milliseconds since some fixed moment */
  constructor(now: () => number = Date.now) {
    this.#now = now;
  }

  /** The code as it stands, and until when it can be used. */
  current(): { readonly code: string; readonly until: number } {
    if (this.#now() >= this.#until) this.#renew();
    return { code: this.#code, until: this.#until };
  }

  /** Tries a code. Each can be used once. */
  try(given: string): PairingOutcome {
    if (this.#now() < this.#closedUntil) return 'wait';
    const { code } = this.current();
    const digits = given.replace(/\D/g, '').padEnd(6, 'x').slice(0, 7);
    const right = digits.length === 6 && timingSafeEqual(Buffer.from(digits), Buffer.from(code));
    if (right) {
      this.#renew();
      return 'paired';
    }
    this.#wrong += 1;
    if (this.#wrong >= mostWrong) {
      this.#renew();
      this.#closedUntil = this.#now() + pauseMs;
    }
    return 'wrong-code';
  }

  #renew(): void {
    this.#code = String(randomInt(1_000_000)).padStart(6, '0');
    this.#until = this.#now() + validMs;
    this.#wrong = 0;
  }
}
