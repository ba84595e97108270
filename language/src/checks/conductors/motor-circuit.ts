import { callFunction } from '../../calculate/index.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isDevice, isLoad } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import { calculation } from '../../quantities/calculation.js';
import { overloadLacking } from '../../quantities/conductors/motor-circuit.js';
import {
  type GroupLimits,
  type MotorGroup,
  groupLimits,
  groupListing,
  motorsBehind,
} from '../../quantities/conductors/motor-group.js';
import { motorLimit } from '../../quantities/conductors/motor-limit.js';
import { motorOf } from '../../quantities/demand/motors.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { necMotorDevices, ruleValue } from '../../reference/index.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { firstFew } from '../text/wording.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { conductorDevice } from './sizing.js';

/** A source that feeds a run in some state; none on direct current. */
const sourceOfRun = (run: Run, context: DesignContext): Instance | undefined =>
  run.carries === 'ac'
    ? context.circuitStates.flatMap(({ circuit }) => acFlow(run, circuit, context)?.sources ?? [])[0]
    : undefined;

/** The setting of the overload protection against the nameplate (430.32). */
function judgeOverload(motor: Instance, context: DesignContext): Verdict {
  const [lacking] = overloadLacking(motor, context);
  if (lacking) return notChecked(motor, { kind: 'missing', missing: [lacking] });
  const setting = context.maybe(motor, 'overload');
  if (!setting) return passed(motor, NO_LIMIT);
  const nameplate = context.fact(motor, 'fullLoadCurrent');
  if (nameplate.kind !== 'known') return notChecked(motor, nameplate);
  const factor = context.maybe(motor, 'serviceFactor');
  const limit = callFunction(calculation('motorOverload'), {
    nameplate: nameplate.derivation,
    ...(factor ? { serviceFactor: factor } : {}),
  });
  if (limit.kind !== 'known') return notChecked(motor, limit);
  const numbers = { setting, limit: limit.derivation, nameplate: nameplate.derivation };
  const use = atMost(setting, limit.derivation);
  if (numberIn(setting, 'A') <= numberIn(limit.derivation, 'A') * (1 + 1e-9)) return passed(motor, use, numbers);
  const [set, most] = pairText(setting, limit.derivation);
  // Never above the percentage: rounded down to a tenth of an ampere.
  const lower = Math.floor(numberIn(limit.derivation, 'A') * 10 + 1e-6) / 10;
  const fixes = [
    propose(`Set the overload of ${motor.name} to ${lower} A`, [setProperty(motor, 'overload', `${lower} A`)], true),
  ];
  return {
    verdict: 'failed',
    subject: motor.path,
    place: placeOf(motor, 'overload'),
    headline: `The overload protection of ${motor.name} is set to ${set}; at most ${most} allowed`,
    why: `${displayValue(nameplate.derivation)} on its nameplate`,
    rule: `${basisText(context.system.basis)} 430.32(A)(1)`,
    consequence: 'it may burn before it is switched off',
    use,
    numbers,
    fixes,
  };
}

/** Small motors may stand on general-purpose circuits, whatever their full-load current (430.53(A), from memory). */
function isOnGeneralCircuit(motor: Instance, rating: Derivation, context: DesignContext): boolean {
  const horsepower = context.maybe(motor, 'horsepower');
  return (
    horsepower !== undefined &&
    numberIn(horsepower, 'hp') <= numberIn(ruleValue('nec', 'smallMotor'), 'hp') * (1 + 1e-9) &&
    numberIn(rating, 'A') <= numberIn(ruleValue('nec', 'generalCircuit'), 'A') * (1 + 1e-9)
  );
}

/** The device of the branch circuit of a motor against its full-load current (430.52). */
function judgeDevice(motor: Instance, run: Run, device: Instance, context: DesignContext): Verdict {
  const rating = context.fact(device, 'rating');
  if (rating.kind !== 'known') return notChecked(motor, rating);
  const limit = motorLimit(motor, sourceOfRun(run, context), device, context);
  if (!limit)
    return notChecked(motor, { kind: 'missing', missing: [`horsepower or fullLoadCurrent of ${motor.name}`] });
  if (limit.kind !== 'known') return notChecked(motor, limit);
  const numbers = { rating: rating.derivation, limit: limit.derivation };
  const use = atMost(rating.derivation, limit.derivation);
  if (
    numberIn(rating.derivation, 'A') <= numberIn(limit.derivation, 'A') * (1 + 1e-9) ||
    isOnGeneralCircuit(motor, rating.derivation, context)
  )
    return passed(motor, use, numbers);
  const [rated, most] = pairText(rating.derivation, limit.derivation);
  const fixes = [propose(`Change rating of ${device.name} to ${most}`, [setProperty(device, 'rating', most)], true)];
  const { exceptions } = necMotorDevices;
  return {
    verdict: 'failed',
    subject: motor.path,
    place: placeOf(device, 'rating'),
    severity: 'warning',
    headline: `${device.name} (${rated}) protects the circuit of ${motor.name}; at most ${most} allowed`,
    why: `more only for a motor that does not start: up to ${exceptions.delayFuse} % (time-delay fuse), ${exceptions.breaker} % (breaker above 100 A), from memory`,
    rule: `${basisText(context.system.basis)} 430.52(C)(1)`,
    use,
    numbers,
    related: [{ place: run.place, text: `${run.name} leads to ${motor.name} alone` }],
    fixes,
  };
}

/** The devices of a run behind which nothing but one motor is. */
function* judgeBranch(motor: Instance, run: Run, context: DesignContext): Generator<Verdict> {
  for (const device of new Set([run.from, ...run.through, ...run.to].map(({ instance }) => instance)))
    if (isDevice(device)) yield judgeDevice(motor, run, device, context);
}

/** What conductors of a run allow by themselves, which a group may have as well (430.53(C), 240.4(B)). */
function ofConductors(run: Run, context: DesignContext): Derivation | undefined {
  const size = context.maybe(run, 'size');
  const ampacity = size && ampacityAt(run, size, context);
  const largest = ampacity?.kind === 'known' ? conductorDevice(run, ampacity.derivation, size!, context) : undefined;
  return largest?.kind === 'known' ? largest.derivation : undefined;
}

/** The limit that speaks for a group and whether gear listed for group installation is needed for more than that of its smallest motor. */
function judgedLimit(
  group: MotorGroup,
  { small, smallest, together }: GroupLimits,
  context: DesignContext,
): { readonly unlisted: Derivation; readonly listed: Derivation } {
  const larger = (left: Derivation, right: Derivation | undefined): Derivation =>
    right && numberIn(right, 'A') > numberIn(left, 'A') ? right : left;
  const unlisted = larger(smallest, small);
  return { unlisted, listed: larger(larger(unlisted, together), ofConductors(group.run, context)) };
}

/** One device for several motors, or for motors and other loads (430.53). */
function judgeGroup(group: MotorGroup, context: DesignContext): Verdict {
  const { run, device, motors } = group;
  const rating = context.fact(device, 'rating');
  if (rating.kind !== 'known') return notChecked(run, rating);
  const limits = groupLimits(group, context);
  if (!('together' in limits)) return notChecked(run, limits);
  const { unlisted, listed } = judgedLimit(group, limits, context);
  const isWithin = (limit: Derivation): boolean =>
    numberIn(rating.derivation, 'A') <= numberIn(limit, 'A') * (1 + 1e-9);
  const { isListed, lacking } = groupListing(group, context);
  const limit = isListed ? listed : unlisted;
  const numbers = { rating: rating.derivation, limit };
  if (isWithin(limit)) return passed(run, atMost(rating.derivation, limit), numbers);
  if (isWithin(listed) && lacking.length > 0) return notChecked(run, { kind: 'missing', missing: lacking });
  const [rated, most] = pairText(rating.derivation, lacking.length > 0 ? listed : limit);
  const names = motors.map(({ name }) => name);
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(device, 'rating'),
    severity: 'warning',
    headline: `${device.name} (${rated}) protects ${firstFew(names)} together; at most ${most} allowed`,
    why: isWithin(listed)
      ? 'more than the smallest motor may have by itself, and their gear is not listed for group installation'
      : 'what the largest motor may have by itself, and the full-load currents of the others',
    rule: `${basisText(context.system.basis)} 430.53, from memory`,
    consequence: 'a motor or its controller may burn before the device opens',
    advice: 'Give each motor a device of its own, or take a smaller one.',
    use: atMost(rating.derivation, limit),
    numbers,
    related: [{ place: run.place, text: `${run.name} feeds them` }],
    fixes: [propose(`Change rating of ${device.name} to ${most}`, [setProperty(device, 'rating', most)], true)],
  };
}

export const motorCircuit = defineCheck({
  id: 'motor-circuit',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The overload protection or the short-circuit device of a motor is larger than its circuit may have.',
    guards:
      'A motor that burns out on an overload which nothing sees, since the device before it has to be large enough for its start.',
    how: points(
      'Under nec, for loads that state which `motor` they are. Overload protection and short-circuit device are judged apart.',
      'The setting of the overload protection (`overload`, else `thermalProtection`): 125 % of the nameplate current (`fullLoadCurrent`) with a `serviceFactor` of 1.15 and more, else 115 % (430.32(A)(1)).',
      'The device of the branch circuit, in any run behind which nothing but the motor is: the percentage of Table 430.52 for the sort of motor and device, of the current of Tables 430.247 to 430.250 by its `horsepower` (of the nameplate where the table has no such motor), and the next standard rating. Above that it is a warning, since a motor that does not start may have more.',
      'Motors up to 1 hp need no overload device of their own on circuits of 20 A (430.53(A), from memory).',
      'Conductors of 125 % are judged by `run-ampacity`; what they allow their device does not count here (240.4(G)).',
      'Several motors, or motors and other loads, behind one device are a group (430.53, from memory). The device may be what the smallest motor may have by itself; that of a general-purpose circuit for motors up to 1 hp and 6 A; or, where their gear is `groupListed`, what the largest may have with the full-load currents of the others, or what the conductors allow.',
      'Conductors that branch off behind the device are judged for what it lets through, or by 430.53(D) (`run-unprotected`).',
      'Not worked out: part-winding motors and instantaneous-trip breakers.',
    ),
    fix: 'Set the overload to the nameplate current, and choose the short-circuit device within the limits for motors.',
    sources: [
      PUBLISHED('NEC', '430.32(A)(1), Table 430.52(C)(1)', '2017-2023'),
      PUBLISHED('NEC', 'Tables 430.248, 430.250', '2008-2023'),
      MEMORY('NEC', '430.53, 430.247, 240.4(G)'),
    ],
    failing: `design Farm {
  grid Mains { voltage: 230 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 30 A }
  load Pump { power: 1.8 kW   motor: single-phase   horsepower: 2 hp   fullLoadCurrent: 11 A   overload: 15 A }
  run Line: Mains -> B1 -> Pump { size: 14 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Farm {
  grid Mains { voltage: 230 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 30 A }
  load Pump { power: 1.8 kW   motor: single-phase   horsepower: 2 hp   fullLoadCurrent: 11 A   overload: 12.5 A }
  run Line: Mains -> B1 -> Pump { size: 14 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    if (context.system.basis.practice !== 'nec') return;
    for (const load of context.system.instances) if (isLoad(load) && motorOf(load)) yield judgeOverload(load, context);
    for (const run of context.system.runs) {
      const found = motorsBehind(run, context);
      if (!found) continue;
      if ('sole' in found) yield* judgeBranch(found.sole, run, context);
      else yield judgeGroup(found.group, context);
    }
  },
});
