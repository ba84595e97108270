import type { BoundKind, Reason } from '../derivation/index.js';

/** Exhaustive: a new kind of bound without words does not compile. Empty for what needs no remark. */
const WORDS: Readonly<Record<BoundKind, string>> = {
  setting: '',
  rating: '',
  power: 'its power limit',
  inputSetting: 'its input limit',
  inputRating: 'its highest input current by data sheet',
  supply: 'what its supply has left for it',
  drive: 'what drives it has to give',
  modules: 'all that its modules give at standard test conditions',
  bank: 'what the bank accepts',
  link: 'the limit the bank sends over the link',
  temperature: 'the temperature of the cells',
  hold: 'the voltage it holds',
  nothingLeft: 'the loads it passes its supply on to leave nothing',
};

/** A reason in words; undefined where it needs none. */
export const reasonText = ({ kind, lessPassed }: Reason): string | undefined =>
  WORDS[kind] ? `${WORDS[kind]}${lessPassed ? ', less the loads it passes through' : ''}` : undefined;
