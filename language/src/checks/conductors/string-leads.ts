/** What the fuse of each string of a bank must be besides large enough: small enough for its leads. */
import { callFunction } from '../../calculate/index.js';
import { type Derivation, deriveFact, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isBank } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { calculation } from '../../quantities/calculation.js';
import { type Verdict, atMost } from '../define.js';
import { type FoundLoad, isStringLoad } from '../storage/string-load.js';
import { notChecked, pairText, placeOf } from '../verdicts.js';

/** Banks whose strings have fuses that do not say what their leads may carry. */
export function* withoutAmpacity(context: DesignContext): Generator<Verdict> {
  for (const bank of context.system.instances) {
    if (!isBank(bank) || !context.maybe(bank, 'stringFuse') || bank.properties.has('stringAmpacity')) continue;
    const count = context.maybe(bank, 'parallel');
    if (count && numberIn(count, '') > 1)
      yield notChecked(bank, { kind: 'missing', missing: [`stringAmpacity of ${bank.name}`] });
  }
}

/** Whether the leads of each string carry what it gives, with all strings at work (an error) and with one of them out (a warning). */
export function judgeCarried(bank: Instance, load: FoundLoad, context: DesignContext): Verdict | undefined {
  const ampacity = context.maybe(bank, 'stringAmpacity');
  if (!ampacity) return undefined;
  const isTooMuch = (current: Derivation | undefined): current is Derivation =>
    current !== undefined && numberIn(current, 'A') > numberIn(ampacity, 'A') * (1 + 1e-9);
  const shared = isStringLoad(load) ? load.shared : load.atLeast;
  const oneOut = isStringLoad(load) ? load.oneOut : undefined;
  const current = isTooMuch(shared) ? shared : isTooMuch(oneOut) ? oneOut : undefined;
  if (!current) return undefined;
  const [carried, may] = pairText(current, ampacity);
  const isOut = current === oneOut;
  return {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'stringAmpacity'),
    ...(isOut ? { severity: 'warning' as const } : {}),
    headline: `${isOut ? `With one string of ${bank.name} out, each other` : `Each string of ${bank.name}`} carries up to ${carried}; its leads may carry ${may}`,
    consequence: 'its leads run hot',
    advice: 'Use thicker leads, or more strings.',
    use: atMost(current, ampacity),
    numbers: { current, limit: ampacity },
  };
}

/** Whether the fuse of each string is small enough for its leads, by the rule of the practice. */
export function judgeLeads(bank: Instance, fuse: Derivation, context: DesignContext): Verdict | undefined {
  const ampacity = context.maybe(bank, 'stringAmpacity');
  if (!ampacity) return undefined;
  const largest = callFunction(calculation('largestProtection'), {
    ampacity,
    basis: deriveFact('basis', context.system.basis.practice, { origin: 'stated' }),
  });
  if (largest.kind !== 'known') return notChecked(bank, largest);
  const limit = largest.derivation;
  if (numberIn(fuse, 'A') <= numberIn(limit, 'A') * (1 + 1e-9)) return undefined;
  const [rated, most] = pairText(fuse, limit);
  return {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'stringFuse'),
    headline: `Each string of ${bank.name} has a fuse of ${rated}; its leads allow ${most}`,
    why: `an ampacity of ${displayValue(ampacity)}`,
    use: atMost(fuse, limit),
    numbers: { fuse, limit, ampacity },
  };
}
