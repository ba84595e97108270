import { describe, expect, it } from 'vitest';
import { inWordsOf } from '../../../language/src/glossary/basis-words.js';

describe('the words of a practice', () => {
  it.each([
    ['nec', 'an earth fault does not trip it', 'a ground fault does not trip it'],
    ['iec', 'an earth fault does not trip it', 'an earth fault does not trip it'],
    ['nec', 'An earth conductor is missing', 'An equipment grounding conductor is missing'],
    ['iec', 'An earth conductor is missing', 'A protective conductor is missing'],
    ['iec', 'a residual-current device', 'an RCD'],
    ['craft', 'a residual-current device', 'an ELCI or RCD'],
    ['nec', 'a residual-current device', 'a GFCI'],
    ['iec', 'an interrupting rating of 6 kA', 'a breaking capacity of 6 kA'],
    ['craft', 'joined to earth, not to an `earth` of a run', 'joined to ground, not to an `earth` of a run'],
  ] as const)('under %s take the article that they sound with: %s', (practice, written, spoken) => {
    expect(inWordsOf(practice, written)).toBe(spoken);
  });

  it('leave ids of checks and names of things alone', () => {
    expect(inWordsOf('nec', 'earth-conductor, socket-residual-current')).toBe(
      'earth-conductor, socket-residual-current',
    );
    expect(inWordsOf('nec', 'the socket of Earth', new Set(['Earth']))).toBe('the receptacle of Earth');
    expect(inWordsOf('nec', 'Wall, Wall socket (old): a socket', new Set(['Wall', 'Wall socket (old)']))).toBe(
      'Wall, Wall socket (old): a receptacle',
    );
    expect(inWordsOf('nec', 'an earth-fault relay')).toBe('a ground-fault relay');
  });
});
