import { describe, expect, it } from 'vitest';
import { wishInWords } from '../../../server/contract/wish-words.js';

describe('wishes that cannot be met, as a person reads them', () => {
  it.each([
    ['clearance A', 'Room along side A'],
    ['spacing R1 R2', 'Spacing from run R1 to run R2'],
    ['room between R1 R2', 'Room between run R1 and run R2'],
    ['keep free Small house (old)', 'The place kept free, “Small house (old)”'],
    ['close Gap 2 (R1-J4)', 'Closing Gap 2'],
    ['close the gap of R1', 'Closing the gap of run R1'],
    ['closing R1', 'Closing the loop of run R1'],
    ['table edge C', 'Keeping the track on the table at side C'],
    ['something of a later plan', 'something of a later plan'],
  ])('%s', (wish, words) => {
    expect(wishInWords(wish)).toBe(words);
  });
});
