import { displayValue, numberIn } from '../../derivation/index.js';
import { isBreaker, isDevice } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Part, Run } from '../../model/types.js';
import { devicesOf } from '../../quantities/conductors/conductor.js';
import { classFact, isFromMemory } from '../../quantities/conductors/device-class.js';
import { isOfPartialRange } from '../../quantities/faults/coordination.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, pairText, passed, placeOf, fullest, whyOf } from '../verdicts.js';
import { classOf, highestDirectVoltage, isMissing, madeIn, sufficientClasses } from './device-ratings.js';
import { mostAt } from './sizing.js';
import { bankFaultAt } from './faults.js';
import { type End, feedInto, firstDevice, needsDevice } from './feeding.js';
import { MEMORY, PUBLISHED, devices } from './shared.js';

const softIf = (isSoft: boolean): { severity?: 'warning' } => (isSoft ? { severity: 'warning' } : {});

/** Classes that stand the voltage, interrupt what flows there and are made in the rating, as fixes; on direct current only. */
function otherClasses(device: Instance, run: Run, context: DesignContext): Fix[] {
  if (run.carries !== 'dc') return [];
  const highest = highestDirectVoltage(device, context);
  const fault = bankFaultAt(device, context)?.result;
  if (isMissing(highest) || (fault && fault.kind !== 'known')) return [];
  const amperes = fault ? numberIn(fault.derivation, 'A') : 0;
  return sufficientClasses(device, numberIn(highest.voltage, 'V'), amperes, context)
    .slice(0, 2)
    .map((part, index) =>
      propose(`Use class ${part.name} for ${device.name}`, [setProperty(device, 'class', part.name)], index === 0),
    );
}

/** Whether a device is rated for what its class is made in. */
function judgeRating(device: Instance, part: Part, run: Run, context: DesignContext): Verdict | undefined {
  const made = madeIn(part);
  if (!made) return undefined;
  const rating = context.fact(device, 'rating');
  if (rating.kind !== 'known') return notChecked(device, rating);
  const amperes = numberIn(rating.derivation, 'A');
  const isAbove = amperes > numberIn(made.most, 'A') * (1 + 1e-9);
  const limit = isAbove ? made.most : made.least;
  const numbers = { rating: rating.derivation, limit };
  const use = isAbove ? atMost(rating.derivation, made.most) : atLeast(rating.derivation, made.least);
  if (!isAbove && amperes >= numberIn(made.least, 'A') * (1 - 1e-9))
    return passed(device, fullest(use, atMost(rating.derivation, made.most)), numbers);
  const isSoft = isFromMemory(part, 'ratings');
  const [has, is] = pairText(rating.derivation, limit);
  const fixes = otherClasses(device, run, context);
  return {
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, 'rating'),
    ...softIf(isSoft),
    headline: `${device.name} is rated ${has}; class ${part.name} is made ${isAbove ? 'up to' : 'from'} ${is}`,
    ...whyOf(
      isSoft && 'typical, from memory: read the data sheet',
      'the interrupting and voltage ratings of the class hold for no such device',
    ),
    advice: 'Use a class that is made in this rating, or state the ratings of the device itself.',
    use,
    numbers,
    fixes,
  };
}

/** Whether poles that share a direct voltage are there. */
function judgePoles(device: Instance, part: Part, run: Run, context: DesignContext): Verdict | undefined {
  const needed = classFact(part, 'polesInSeries');
  const poles = isBreaker(device) ? context.maybe(device, 'poles') : undefined;
  if (!needed || !poles || run.carries !== 'dc') return undefined;
  const use = atLeast(poles, needed);
  if (numberIn(poles, '') >= numberIn(needed, '')) return passed(device, use, { poles, needed });
  return {
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, 'poles'),
    ...softIf(isFromMemory(part, 'polesInSeries')),
    headline: `${device.name} has ${displayValue(poles)} pole${numberIn(poles, '') === 1 ? '' : 's'}; class ${part.name} needs ${displayValue(needed)} in series for its direct voltage`,
    advice: `Use one of ${displayValue(needed)} poles, wired as its data sheet shows.`,
    use,
    numbers: { poles, needed },
    fixes: [
      propose(`Give ${device.name} ${displayValue(needed)} poles`, [
        setProperty(device, 'poles', displayValue(needed)),
      ]),
    ],
  };
}

/** The devices by which a run is protected: the first from each end that feeds more than its conductors may have. */
function protecting(run: Run, context: DesignContext): Instance[] {
  const size = context.maybe(run, 'size');
  const most = size && mostAt(run, size, context);
  return (['near', 'far'] as const).flatMap((end: End) => {
    const feed = feedInto(run, end, context);
    if (!needsDevice(feed)) return [];
    const isHeld =
      feed.kind === 'limited' &&
      most?.kind === 'known' &&
      numberIn(feed.current, 'A') <= numberIn(most.derivation, 'A') * (1 + 1e-9);
    return isHeld ? [] : (firstDevice(run, end, context)?.stop.instance ?? []);
  });
}

/** A supplementary protector is part of equipment: it protects no branch circuit and no feeder (NEC 240.10). Aboard it may. */
function judgeKind(run: Run, context: DesignContext): Verdict[] {
  if (context.system.basis.practice === 'craft') return [];
  return [...new Set(protecting(run, context))].flatMap((device): Verdict[] => {
    const part = classOf(device);
    if (!part || flagIn(part.properties, 'supplementary') !== true) return [];
    const fixes = otherClasses(device, run, context);
    return [
      {
        verdict: 'failed',
        subject: device.path,
        place: placeOf(device, 'class'),
        severity: 'warning',
        headline: `${device.name}, class ${part.name}, is a supplementary protector and alone protects ${run.name}`,
        why: 'it may only be used inside equipment or behind a branch-circuit device',
        rule: `${basisText(context.system.basis)} 240.10, from memory`,
        advice: 'Use a breaker or fuse for branch circuits.',
        use: NO_LIMIT,
        numbers: {},
        fixes,
      },
    ];
  });
}

/** A fuse of partial range opens on short circuits alone: an overload burns conductors that it stands before by itself (IEC 60269-4, from memory). */
function judgeRange(run: Run, context: DesignContext): Verdict[] {
  const own = devicesOf(run).map(({ instance }) => instance);
  if (own.some((device) => !isOfPartialRange(device))) return [];
  return [...new Set(protecting(run, context))].filter(isOfPartialRange).map((device) => ({
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, 'class'),
    severity: 'warning',
    headline: `${device.name} opens on short circuits alone; nothing protects ${run.name} against overload`,
    why: `class ${classOf(device)!.name} is of partial range`,
    rule: 'IEC 60269-4, from memory',
    use: NO_LIMIT,
    numbers: {},
    fixes: otherClasses(device, run, context),
  }));
}

export const deviceClassCheck = defineCheck({
  id: 'device-class',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A fuse or breaker has a rating that its class is not made in, fewer poles than its direct voltage needs, or is a supplementary protector or a fuse of partial range where another device has to stand.',
    guards:
      'The voltage and interrupt rating of a class hold for the ratings it is made in: a blade fuse of 60 A is another fuse, in a holder for less.',
    how: 'The rating is held against `ratings` of the class, the poles of a breaker on direct current against `polesInSeries`. A class with `supplementary: yes` may not be the first device of a run at an end where more can be driven in than its conductors may have (nec, iec; aboard it is accepted); one with `partialRange: yes` (aR) may not be the only device there. Ranges that a class has from memory make a warning.',
    fix: 'Choose a rating the class is made in, poles in series as its maker says, or a class made for the place.',
    sources: [
      PUBLISHED('UL 248', 'ratings of the classes, from a distributor’s table'),
      MEMORY('ISO 8820'),
      MEMORY('NEC', '240.10'),
      MEMORY('UL 1077'),
      MEMORY('IEC 60269-4'),
    ],
    failing: `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: BladeFuse32V   rating: 60 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 60 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const { device, run } of devices(context)) {
      const part = isDevice(device) ? classOf(device) : undefined;
      if (!part) continue;
      for (const judge of [judgeRating, judgePoles]) {
        const verdict = judge(device, part, run, context);
        if (verdict) yield verdict;
      }
    }
    const told = new Set<string>();
    for (const run of context.system.runs)
      for (const verdict of [...judgeKind(run, context), ...judgeRange(run, context)]) {
        if (told.has(verdict.subject)) continue;
        told.add(verdict.subject);
        yield verdict;
      }
  },
});
