/** What the class must be that is stated for the fuses of strings, of a bank or of an array: made for the rating, the voltage and the current. */
import { type Derivation, type Result, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isArray, isBank } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Instance, Part } from '../../model/types.js';
import { classFact, isFromMemory } from '../../quantities/conductors/device-class.js';
import { collect } from '../../quantities/worst.js';
import { type Failed, type Fix, type Verdict, NO_LIMIT, atLeast, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, placeOf, whyOf } from '../verdicts.js';
import { classesFor, highestOfArray, interruptOfClass, isMissing, madeIn } from './device-ratings.js';
import { isFaultOfMemory, restsOnMemory } from './memory.js';

const READ = 'from memory: read the data sheet';

/** What the fuses of strings have to open: at this voltage, this current, which the banks drive. */
interface Duty {
  readonly voltage: Derivation;
  readonly current: Derivation;
  readonly banks: readonly Instance[];
  /** Facts that may make it worse, which are asked for before it passes. */
  readonly lacking: readonly string[];
}

/** The class that is stated for the fuses of the strings of a bank or an array. */
function classOfStrings(owner: Instance): Part | undefined {
  const value = owner.properties.get('stringFuseClass')?.value;
  return value?.type === 'part' ? value.part : undefined;
}

/** The class that would do, as a change; none where a fact lacks that can make it worse. */
function otherClass(
  owner: Instance,
  fuse: Derivation,
  { voltage, current, lacking }: Duty,
  context: DesignContext,
): Fix[] {
  if (lacking.length > 0) return [];
  const need = {
    device: 'fuse',
    rating: numberIn(fuse, 'A'),
    volts: numberIn(voltage, 'V'),
    amperes: numberIn(current, 'A'),
    isAtBank: isBank(owner),
    ...(isBank(owner) ? {} : { ofStrings: 'alone' as const }),
  } as const;
  return classesFor(need, context)
    .slice(0, 1)
    .map((part) =>
      propose(
        `Use class ${part.name} for the string fuses of ${owner.name}`,
        [setProperty(owner, 'stringFuseClass', part.name)],
        true,
      ),
    );
}

type Fault = Pick<Failed, 'headline' | 'use' | 'numbers'> & Partial<Pick<Failed, 'why' | 'rule' | 'consequence'>>;

/** Whether it is made in that rating. */
function ratingFault(owner: Instance, fuse: Derivation, part: Part): (Fault & { isSoft: boolean }) | undefined {
  const made = madeIn(part);
  if (!made) return undefined;
  const isAbove = numberIn(fuse, 'A') > numberIn(made.most, 'A') * (1 + 1e-9);
  const isBelow = numberIn(fuse, 'A') < numberIn(made.least, 'A') * (1 - 1e-9);
  if (!isAbove && !isBelow) return undefined;
  const limit = isAbove ? made.most : made.least;
  const isSoft = isFromMemory(part, 'ratings');
  const [rated, is] = pairText(fuse, limit);
  return {
    isSoft,
    headline: `The string fuses of ${owner.name} are rated ${rated}; class ${part.name} is made ${isAbove ? 'up to' : 'from'} ${is}`,
    ...whyOf(isSoft && `typical, ${READ}`, 'the interrupting and voltage ratings of the class hold for no such fuse'),
    use: isAbove ? atMost(fuse, limit) : atLeast(fuse, limit),
    numbers: { fuse, limit },
  };
}

/** Whether it opens an overload as well as a short circuit, and may stand alone. */
function kindFault(owner: Instance, part: Part, context: DesignContext): (Fault & { isSoft: boolean }) | undefined {
  if (flagIn(part.properties, 'partialRange') === true)
    return {
      isSoft: true,
      headline: `The string fuses of ${owner.name} open on short circuits alone`,
      why: `class ${part.name} is of partial range: what other strings drive into one may be too little to open it`,
      rule: 'IEC 60269-4, from memory',
      use: NO_LIMIT,
      numbers: {},
    };
  if (flagIn(part.properties, 'supplementary') !== true || context.system.basis.practice === 'craft') return undefined;
  return {
    isSoft: true,
    headline: `Class ${part.name} of the string fuses of ${owner.name} is a supplementary protector`,
    why: 'it may only be used inside equipment or behind a branch-circuit device',
    rule: 'NEC 240.10, from memory',
    use: NO_LIMIT,
    numbers: {},
  };
}

/** Whether it opens an arc at the voltage of the strings; what lacks where its class does not say. */
function voltageFault(
  owner: Instance,
  part: Part,
  voltage: Derivation,
): (Fault & { isSoft: boolean }) | { readonly lacks: string } | undefined {
  const rating = classFact(part, 'dcVoltage');
  const alternating = classFact(part, 'acVoltage');
  const consequence = 'it may not open the arc';
  if (!rating && !alternating) return { lacks: `dcVoltage of class ${part.name}` };
  const works = `The fuse of each string of ${owner.name} works on up to`;
  if (!rating)
    return {
      isSoft: false,
      headline: `${works} ${displayValue(voltage)} DC; it is rated for AC only`,
      why: `class ${part.name}`,
      consequence,
      use: NO_LIMIT,
      numbers: { voltage, alternating: alternating! },
    };
  if (numberIn(rating, 'V') >= numberIn(voltage, 'V') * (1 - 1e-9)) return undefined;
  const [seen, rated] = pairText(voltage, rating);
  const isSoft = restsOnMemory(rating);
  return {
    isSoft,
    headline: `${works} ${seen} DC; it is rated ${rated}`,
    why: `class ${part.name}${isSoft ? `, ${READ}` : ''}`,
    consequence,
    use: atMost(voltage, rating),
    numbers: { voltage, limit: rating },
  };
}

/** Whether it interrupts what the others, and banks, drive into a string. */
function interruptFault(
  owner: Instance,
  part: Part,
  { voltage, current, banks }: Duty,
): (Fault & { isSoft: boolean }) | { readonly lacks: string } | undefined {
  const limit = interruptOfClass(part, numberIn(voltage, 'V'), true);
  if (!limit) return { lacks: `interruptRating of class ${part.name}` };
  if (numberIn(limit, 'A') >= numberIn(current, 'A') * (1 - 1e-9)) return undefined;
  const [drawn, rated] = pairText(current, limit);
  const isSoft = restsOnMemory(limit) || isFaultOfMemory(current, banks);
  return {
    isSoft,
    headline: `The fuse of each string of ${owner.name} interrupts ${rated}; the others drive ${drawn}`,
    why: `class ${part.name} at ${displayValue(voltage)} DC${isSoft ? ', from memory: read the data sheets' : ''}`,
    consequence: 'it may burst and feed an arc',
    use: atLeast(limit, current),
    numbers: { current, limit, voltage },
  };
}

/** The class of the string fuses against their duty; undefined where none is stated, or it does. */
function judgeClass(
  owner: Instance,
  fuse: Derivation,
  duty: Duty | Result,
  context: DesignContext,
): Verdict | undefined {
  const part = classOfStrings(owner);
  if (!part) return undefined;
  const isKnown = 'voltage' in duty;
  const lacks = (fact: string): Verdict => notChecked(owner, { kind: 'missing', missing: [fact] });
  const failed = (property: string, { isSoft, ...fault }: Fault & { isSoft: boolean }): Verdict => ({
    verdict: 'failed',
    subject: owner.path,
    place: placeOf(owner, property),
    ...(isSoft ? { severity: 'warning' as const } : {}),
    ...fault,
    fixes: isKnown ? otherClass(owner, fuse, duty, context) : [],
  });
  const made = ratingFault(owner, fuse, part);
  if (made) return failed('stringFuse', made);
  const kind = kindFault(owner, part, context);
  if (kind) return failed('stringFuseClass', kind);
  if (!isKnown) return notChecked(owner, duty);
  for (const fault of [voltageFault(owner, part, duty.voltage), interruptFault(owner, part, duty)]) {
    if (!fault) continue;
    return 'lacks' in fault ? lacks(fault.lacks) : failed('stringFuseClass', fault);
  }
  return duty.lacking[0] === undefined ? undefined : lacks(duty.lacking[0]);
}

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

/** Whether the class that is stated for the fuse of each string of a bank interrupts what the others drive into it, at its voltage. */
export function judgeBankClass(bank: Instance, strings: Derivation, fuse: Derivation, context: DesignContext) {
  const voltage = context.quantity(bank, 'highestVoltage');
  if (voltage.kind !== 'known') return judgeClass(bank, fuse, voltage, context);
  const into = intoString(bank, strings, context);
  const duty = 'current' in into ? { ...into, voltage: voltage.derivation, lacking: [] } : into;
  return judgeClass(bank, fuse, duty, context);
}

/** Whether the class that is stated for the string fuses of an array opens what other strings, and banks on the same wires, drive into one. */
export function judgeArrayClass(
  array: Instance,
  reverse: Derivation,
  banks: readonly Instance[],
  context: DesignContext,
): Verdict | undefined {
  const fuse = context.maybe(array, 'stringFuse');
  if (!fuse) return undefined;
  const highest = highestOfArray(array, context);
  if (isMissing(highest)) return judgeClass(array, fuse, { kind: 'missing', missing: highest.missing }, context);
  const driven = collect(banks.map((bank) => context.quantity(bank, 'faultCurrent')));
  if (!driven.ok) return judgeClass(array, fuse, driven.result, context);
  const { lacking } = highest;
  const ofBanks = collect(banks.map((bank) => context.quantity(bank, 'highestVoltage')));
  if (!ofBanks.ok) return judgeClass(array, fuse, ofBanks.result, context);
  const voltage = ofBanks.derivations.reduce(
    (so, next) => (numberIn(next, 'V') > numberIn(so, 'V') ? next : so),
    highest.voltage,
  );
  const amperes = driven.derivations.reduce((sum, each) => sum + numberIn(each, 'A'), numberIn(reverse, 'A'));
  const current =
    banks.length === 0
      ? reverse
      : derive('current of the other strings and the bank', amperes, 'A', {
          symbol: 'I_sc',
          formula: 'ΣI',
          inputs: [reverse, ...driven.derivations],
        });
  return judgeClass(array, fuse, { voltage, current, banks, lacking }, context);
}

/** Banks and arrays whose string fuses do not say of what class they are. */
export function* withoutClass(isAsked: (owner: Instance) => boolean, context: DesignContext): Generator<Verdict> {
  for (const owner of context.system.instances) {
    if (!isAsked(owner) || !context.maybe(owner, 'stringFuse') || owner.properties.has('stringFuseClass')) continue;
    const count = context.maybe(owner, 'parallel');
    if (isArray(owner) || (count && numberIn(count, '') > 1))
      yield notChecked(owner, { kind: 'missing', missing: [`stringFuseClass of ${owner.name}`] });
  }
}
