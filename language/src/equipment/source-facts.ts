import { quantityOf, textOf, wordOf, wordsOf } from './define.js';
import { LEGS } from './legs.js';

/** Facts that several sources of alternating current state. */
export const neutralBond = wordOf(
  'neutralBond',
  { bonded: 'neutral and frame (earth) are joined inside', floating: 'neutral is not joined to the frame' },
  'Whether the neutral is bonded to the frame inside this source. Exactly one bond must exist in each source state.',
);

export const machine = textOf(
  'machine',
  'Name of the machine whose outlet this is, where several of its outlets are stated, each with its own plug, breaker, voltage and legs: what they give together is the power of the one machine.',
);

export const legs = wordsOf('legs', LEGS, 'The legs or phases that are connected; all of them when not said.');

export const tolerance = quantityOf(
  'tolerance',
  'ratio',
  '%',
  'How far the voltage may stray from nominal in steady running.',
  {
    minimum: 0,
    maximum: 0.5,
    default: '5 %',
    note: 'ISO 8528-5 class G1 and ANSI C84.1 range A, ±5 %',
  },
);

export const frequency = quantityOf('frequency', 'frequency', 'Hz', 'Frequency of the output.', {
  minimum: 40,
  maximum: 70,
  ranges: true,
});
