/** What the fuse of each string of a bank must be besides large enough: able to open what the others drive into it, and small enough for its leads. */
import { callFunction } from '../../calculate/index.js';
import { type Derivation, derive, deriveFact, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isBank } from '../../model/roles.js';
import type { Instance, Part } from '../../model/types.js';
import { calculation } from '../../quantities/calculation.js';
import { classFact } from '../../quantities/conductors/device-class.js';
import { collect } from '../../quantities/worst.js';
import { type Verdict, atLeast, atMost } from '../define.js';
import { type FoundLoad, isStringLoad } from '../storage/string-load.js';
import { notChecked, pairText, placeOf } from '../verdicts.js';
import { interruptOfClass } from './device-ratings.js';
import { isFaultOfMemory, restsOnMemory } from './memory.js';

/** The current that the other strings, and other banks on the same bars, drive into a string that is short-circuited. */
function intoString(bank: Instance, strings: Derivation, context: DesignContext) {
  const others = context.graph
    .nodesOf(bank)
    .flatMap((node) => context.graph.joinedTo(node))
    .filter((each) => isBank(each) && each !== bank);
  const banks = [bank, ...new Set(others)];
  const all = collect(banks.map((each) => context.quantity(each, 'faultCurrent')));
  if (!all.ok) return all.result;
  const [own, ...rest] = all.derivations as [Derivation, ...Derivation[]];
  const count = numberIn(strings, '');
  const amperes = (numberIn(own, 'A') * (count - 1)) / count + rest.reduce((sum, each) => sum + numberIn(each, 'A'), 0);
  return {
    banks,
    current: derive('current of the other strings', amperes, 'A', {
      symbol: 'I_sc',
      formula: rest.length > 0 ? 'I_bank·(n − 1)/n + ΣI_others' : 'I_bank·(n − 1)/n',
      inputs: [own, strings, ...rest],
    }),
  };
}

/** Whether that class is made for the voltage of the bank at all. */
function judgeVoltage(bank: Instance, part: Part, voltage: Derivation): Verdict | undefined {
  const rating = classFact(part, 'dcVoltage');
  if (!rating) return notChecked(bank, { kind: 'missing', missing: [`dcVoltage of class ${part.name}`] });
  if (numberIn(rating, 'V') >= numberIn(voltage, 'V') * (1 - 1e-9)) return undefined;
  const [seen, rated] = pairText(voltage, rating);
  const isSoft = restsOnMemory(rating);
  return {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'stringFuseClass'),
    ...(isSoft ? { severity: 'warning' as const } : {}),
    headline: `The fuse of each string of ${bank.name} works on up to ${seen} DC; it is rated ${rated}`,
    why: `class ${part.name}${isSoft ? ', from memory: read the data sheet' : ''}`,
    consequence: 'it may not open the arc',
    use: atMost(voltage, rating),
    numbers: { voltage, limit: rating },
  };
}

/** Banks whose strings have fuses that do not say what the others drive into one is held against, or what their leads may carry. */
export function* withoutFact(
  property: 'stringFuseClass' | 'stringAmpacity',
  context: DesignContext,
): Generator<Verdict> {
  for (const bank of context.system.instances) {
    if (!isBank(bank) || !context.maybe(bank, 'stringFuse') || bank.properties.has(property)) continue;
    const count = context.maybe(bank, 'parallel');
    if (count && numberIn(count, '') > 1)
      yield notChecked(bank, { kind: 'missing', missing: [`${property} of ${bank.name}`] });
  }
}

/** Whether the class that is stated for the fuse of each string interrupts what the others drive into it. */
export function judgeInterrupt(bank: Instance, strings: Derivation, context: DesignContext): Verdict | undefined {
  const value = bank.properties.get('stringFuseClass')?.value;
  if (value?.type !== 'part') return undefined;
  const voltage = context.quantity(bank, 'highestVoltage');
  if (voltage.kind !== 'known') return notChecked(bank, voltage);
  const unfit = judgeVoltage(bank, value.part, voltage.derivation);
  if (unfit) return unfit;
  const fault = intoString(bank, strings, context);
  if (!('current' in fault)) return notChecked(bank, fault);
  const limit = interruptOfClass(value.part, numberIn(voltage.derivation, 'V'), true);
  if (!limit) return notChecked(bank, { kind: 'missing', missing: [`interruptRating of class ${value.part.name}`] });
  const { current } = fault;
  if (numberIn(limit, 'A') >= numberIn(current, 'A') * (1 - 1e-9)) return undefined;
  const [drawn, rated] = pairText(current, limit);
  const isSoft = restsOnMemory(limit) || isFaultOfMemory(current, fault.banks);
  return {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'stringFuseClass'),
    ...(isSoft ? { severity: 'warning' as const } : {}),
    headline: `The fuse of each string of ${bank.name} interrupts ${rated}; the others drive ${drawn}`,
    why: `class ${value.part.name} at ${displayValue(voltage.derivation)} DC${isSoft ? ', from memory: read the data sheets' : ''}`,
    consequence: 'it may burst and feed an arc',
    use: atLeast(limit, current),
    numbers: { current, limit, voltage: voltage.derivation },
  };
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
