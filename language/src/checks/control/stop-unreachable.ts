import { derive, deriveQuantity, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Instance, Rule, Threshold } from '../../model/types.js';
import { formatNumber, formatQuantity, inUnit, quantity } from '../../quantity/index.js';
import { reachedVoltage, secondsText } from '../../control/index.js';
import { type CellsOutside, cellsOutside } from '../../quantities/plant/cell-limits.js';
import { groupOf } from '../../quantities/storage/bank-group.js';
import { deliveredIn, loadIn } from '../../quantities/demand/steady-load.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed } from '../verdicts.js';
import { type ProvenFault, acquitted, provenFaults, shownByProof, unproven } from './proofs.js';
import { isBelow, type RuleSet, ruleSets, switchesOn } from './rules.js';
import { flagIn } from '../../model/stated-facts.js';
import { isAcCharger, isBank, isStarted } from '../../model/roles.js';
import { chargersOf, isCharging } from '../../quantities/supply/joined.js';

/** A stop voltage must lie this far below the charge voltage, so that tolerances do not keep it out of reach: 0.01 V a cell (common practice, no source). */
const CLEARANCE_PER_CELL = 0.01;

function* judgeVoltage(set: RuleSet, stop: Threshold, context: DesignContext): Generator<Verdict> {
  const bank = stop.of;
  const chargers = chargersOf(bank, context).filter(isAcCharger);
  if (chargers.length === 0) return;
  const reached = chargers.map((charger) => reachedVoltage(charger, bank, context));
  const all = collect(reached);
  if (!all.ok) return yield notChecked(set.control, all.result);
  const [voltage, charger] = all.derivations
    .map((each, index) => [each, chargers[index]!] as const)
    .reduce((so, next) => (numberIn(next[0], 'V') > numberIn(so[0], 'V') ? next : so));
  const count = context.quantity(bank, 'cellCount');
  const clearance = count.kind === 'known' ? CLEARANCE_PER_CELL * numberIn(count.derivation, '') : 0;
  const limit = deriveQuantity('stop threshold', stop.limit, { origin: 'stated', place: stop.limitPlace });
  const most = derive('highest stop threshold', numberIn(voltage, 'V') - clearance, 'V', {
    formula: 'U − 0.01 V·n_c',
    inputs: [voltage],
  });
  const numbers = { stop: limit, reached: voltage, most };
  const use = atMost(limit, most);
  if (inUnit(stop.limit, 'V') <= numberIn(most, 'V') * (1 + 1e-9)) return yield passed(set.control, use, numbers);
  const value = Math.floor(numberIn(most, 'V') * 10 + 1e-6) / 10;
  const [wanted, gets] = pairText(limit, voltage);
  yield {
    verdict: 'failed',
    subject: set.control.path,
    place: stop.limitPlace,
    headline: `${set.title} stops ${set.control.target.name} above ${wanted}; ${bank.name} reaches ${gets}`,
    why: `${charger.name} absorbs at ${displayValue(context.maybe(charger, 'absorb')!)}${flagIn(charger.properties, 'remoteSense') ? '' : ', less the drop of the cable'}`,
    consequence: 'it never stops',
    use,
    numbers,
    fixes: [propose(`Stop at ${value} V`, [{ place: stop.limitPlace, text: `${value} V` }], true)],
  };
}

/** State of charge above which only a charge held at absorption brings a bank (common practice, no source). */
const HIGHEST_STOP = 0.98;

/** The bank of a bus whose cells reach temperatures at which they take no charge. */
function outsideOf(bank: Instance, context: DesignContext): OutsideBank | undefined {
  for (const each of groupOf(bank, context)) {
    const cells = cellsOutside(each, 'charge', context);
    if (cells) return { bank: each, cells };
  }
  return undefined;
}

interface OutsideBank {
  readonly bank: Instance;
  readonly cells: CellsOutside;
}

/** A set that runs for a charge that the cells do not take. */
function neverCharged(set: RuleSet, stop: Threshold, { bank, cells }: OutsideBank): Verdict {
  const { end, limit, reaches } = cells;
  const threshold = deriveQuantity('stop threshold', stop.limit, { origin: 'stated', place: stop.limitPlace });
  const isCold = end === 'cold';
  return {
    verdict: 'failed',
    subject: set.control.path,
    place: stop.limitPlace,
    severity: 'warning',
    headline: `${set.title} waits for ${displayValue(threshold)} of ${stop.of.name}; ${bank.name} may get too ${end} to charge`,
    why: `no charge ${isCold ? 'below' : 'above'} ${formatNumber(limit)} °C; its cells get as ${end} as ${formatNumber(reaches)} °C`,
    consequence: 'the generator runs on without charging',
    advice: `${isCold ? `Warm ${bank.name} before charging (\`heater: yes\`), or write` : 'Write'} \`maximumRun\`, which ends such a run.`,
    use: isCold
      ? atLeast(derive('coldest cells', reaches, 'degC'), derive('lowest charge temperature', limit, 'degC'))
      : atMost(derive('hottest cells', reaches, 'degC'), derive('highest charge temperature', limit, 'degC')),
    numbers: { stop: threshold },
    related: [{ place: bank.place, text: `${bank.name} accepts no charge then` }],
  };
}

function* judgeCharge(set: RuleSet, stop: Threshold, context: DesignContext): Generator<Verdict> {
  const bank = stop.of;
  const limit = deriveQuantity('stop threshold', stop.limit, { origin: 'stated', place: stop.limitPlace });
  if (stop.limit.value >= 1) {
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: stop.limitPlace,
      headline: `${set.title} stops ${set.control.target.name} above ${displayValue(limit)} of ${bank.name}, which is never reached`,
      consequence: 'it runs until the tank is empty',
      use: atMost(limit, derive('highest state of charge to stop at', HIGHEST_STOP, '')),
      numbers: { stop: limit },
      fixes: [propose('Stop at 95 %', [{ place: stop.limitPlace, text: '95 %' }], true)],
    };
    return;
  }
  if (stop.limit.value > HIGHEST_STOP) {
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: stop.limitPlace,
      severity: 'warning',
      headline: `${set.title} stops ${set.control.target.name} only above ${displayValue(limit)} of ${bank.name}`,
      why: 'the last percent are counted only after a long absorption, for hours at little load',
      rule: 'common practice, no source',
      use: atMost(limit, derive('highest state of charge to stop at', HIGHEST_STOP, '')),
      numbers: { stop: limit },
      fixes: [propose('Stop at 95 %', [{ place: stop.limitPlace, text: '95 %' }], true)],
    };
    return;
  }
  for (const { state, circuit } of context.circuitStates) {
    if (!state.acSources.includes(set.control.target) || state.acSources.length !== 1 || state.dcSources.length > 0)
      continue;
    const working = chargersOf(bank, context).filter((charger) =>
      isCharging(charger, context, state.dcSources, circuit.supply),
    );
    if (working.length === 0) continue;
    const all = collect(working.map((charger) => deliveredIn(charger, bank, circuit, context)));
    const load = loadIn(bank, circuit, context);
    if (!all.ok) return yield notChecked(set.control, all.result);
    if (load.kind !== 'known') return yield notChecked(set.control, load);
    const outside = outsideOf(bank, context);
    if (outside && !context.maybe(set.control, 'maximumRun')) return yield neverCharged(set, stop, outside);
    const charge = sumOf('charger output', 'I_chg', 'A', all.derivations);
    const numbers = { stop: limit, charger: charge, load: load.derivation };
    const use = atLeast(charge, load.derivation);
    if (numberIn(charge, 'A') > numberIn(load.derivation, 'A')) return yield passed(set.control, use, numbers);
    const [gives, take] = pairText(charge, load.derivation);
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: stop.limitPlace,
      headline: `${set.title} never stops ${set.control.target.name}: chargers give ${gives}, loads draw ${take}`,
      why: `with ${state.title} the state of charge of ${bank.name} does not rise to ${displayValue(limit)}`,
      advice: 'Raise the charger limits, or shed loads while it runs.',
      use,
      numbers,
    };
    return;
  }
}

/** A generator that is started by rule must be stopped by one, or by its longest run. */
function* judgeAnyStop(control: Control, context: DesignContext): Generator<Verdict> {
  const start = control.rules.find(switchesOn);
  const others = context.system.controls.filter(({ target }) => target === control.target);
  const isStopped = others.some(({ rules }) => rules.some((rule) => !switchesOn(rule)));
  if (!start || isStopped || context.maybe(control, 'maximumRun')) return;
  yield {
    verdict: 'failed',
    subject: control.path,
    place: start.place,
    headline: `${control.name} starts ${control.target.name}, and no rule stops it`,
    consequence: 'it runs until the tank is empty',
    advice: 'Write a rule `stop when …`, or `maximumRun`.',
    use: NO_LIMIT,
  };
}

/** A charger that has a float leaves its absorption voltage when its tail has lasted; a longer dwell never ends. */
const SHORTEST_DWELL = 30;
/** A tail longer than this keeps a full bank at its absorption voltage for too long, s. */
const LONGEST_TAIL = 7200;

/** Ways of letting a stop on voltage hold before the charger floats: a shorter dwell, a longer tail; else a longest run. */
function stopFixes(set: RuleSet, context: DesignContext): Fix[] {
  const fixes: Fix[] = [];
  for (const rule of set.rules.filter((each) => !switchesOn(each))) {
    const bank = rule.thresholds.find(({ signal, of }) => signal === 'voltage' && isBank(of))?.of;
    const chargers = bank ? chargersOf(bank, context).filter(isAcCharger) : [];
    const tails = chargers.map((charger) => {
      const stated = context.maybe(charger, 'tailTime');
      return { charger, seconds: stated ? numberIn(stated, 's') : 0 };
    });
    const shortest = Math.min(...tails.map(({ seconds }) => seconds));
    if (!(rule.dwell > shortest / 2) || rule.place.uri !== rule.afterCondition.uri) continue;
    const dwell = Math.max(SHORTEST_DWELL, Math.round(shortest / 2));
    if (dwell < rule.dwell)
      fixes.push(
        propose(
          `Let \`${rule.verb}\` wait for ${secondsText(dwell)} only`,
          [{ place: { ...rule.place, offset: rule.afterCondition.offset }, text: ` for ${secondsText(dwell)}` }],
          true,
        ),
      );
    if (2 * rule.dwell > LONGEST_TAIL) continue;
    const longer = secondsText(2 * rule.dwell);
    fixes.push(
      propose(
        `Let ${tails.map(({ charger }) => charger.name).join(' and ')} hold the tail for ${longer}`,
        tails.map(({ charger }) => setProperty(charger, 'tailTime', longer)),
      ),
    );
  }
  return fixes;
}

/** What a week of play shows, whatever the form of the rules. */
function goesOn({ fault, control, set }: ProvenFault, context: DesignContext): Verdict {
  const stop = set.rules.find((rule) => !switchesOn(rule));
  const { name } = control.target;
  const place = stop?.place ?? set.rules[0]?.place ?? control.place;
  const base = { verdict: 'failed', subject: control.path, place, use: NO_LIMIT, ...shownByProof(fault) } as const;
  if (fault.kind === 'overrun')
    return {
      ...base,
      severity: 'warning',
      headline: `${set.title} lets ${name} run on for ${hoursText(fault.past!)} with ${fault.bank} charged`,
      why: 'nothing needs it and no stop rule holds; something else ends the run',
      advice: 'Write a stop rule that holds at the end of the charge.',
    };
  if (fault.kind === 'forced')
    return {
      ...base,
      place: control.properties.get('minimumRun')?.place ?? place,
      severity: 'warning',
      headline: `${set.title} keeps ${name} running for ${hoursText(fault.past!)} after ${fault.bank} is charged`,
      why: 'its `minimumRun` has not passed',
      advice: 'Shorten `minimumRun`, or start later.',
    };
  if (fault.kind === 'unreset')
    return {
      ...base,
      severity: 'warning',
      headline: `With ${fault.bank} disconnected by its BMS, ${set.title} never stops ${name}`,
      why: 'until somebody resets it nothing is charged, and no stop rule holds',
      advice: 'Write `maximumRun`, or a stop rule that holds then.',
    };
  const why =
    fault.charged === undefined
      ? `the loads draw as much as its chargers give, so that ${fault.bank} never fills`
      : `with ${fault.bank} charged no stop rule holds`;
  return {
    ...base,
    headline: `${set.title} can start ${name} and never stop it`,
    why,
    advice: 'Write a stop rule that holds then, or `maximumRun`.',
    fixes: fault.charged === undefined ? [] : stopFixes(set, context),
  };
}

/** A time in hours, or in days where it is long. */
const hoursText = (seconds: number): string =>
  seconds >= 48 * 3600
    ? formatQuantity(quantity(Number((seconds / 86_400).toFixed(1)), 'd'))
    : formatQuantity(quantity(Number((seconds / 3600).toFixed(1)), 'h'));

export const stopUnreachable = defineCheck({
  id: 'stop-unreachable',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The condition that stops a generator cannot be reached, or there is none.',
    guards: 'The generator runs until the tank is empty.',
    how: points(
      'What must come true for the generator to stop, against what the design can reach.',
      'A stop on voltage: the absorption set point of the chargers less the cable drop at a tenth of their current (no drop with `remoteSense`), less 0.01 V a cell.',
      'A stop on state of charge: a current must be left for the bank when the generator’s chargers work and the loads draw their mean. Above 98 % it is a warning; so it is where `cellTemperature` goes beyond what the cells may be charged at and no `maximumRun` ends a run.',
      'A generator that is started by rule needs a rule that stops it, or a `maximumRun`.',
      'Then all rules are simulated (see language/CONTROL.md): a week from half full on the design’s own equipment, with each link heard and lost, with its loads, none and others. A run that goes on for three days beside its dwells is endless.',
      'A warning: a run that goes on for more than an hour after the bank is charged, beyond the least run, with no start rule true and no load that needs the generator; and a least run that keeps a generator running for two hours with the bank charged.',
    ),
    fix: 'Lower the stop threshold to what the chargers reach, charge with more current, or end the run by time.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 50 V for 2 min
    stop when voltage(Bank) > 56.4 V for 20 min
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 50 V for 2 min
    stop when voltage(Bank) > 55.6 V for 20 min
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls)
      for (const { verdict } of judgeStops(control, context)) yield verdict;
  },
  judgeProof: function* (context, proof) {
    const faulty = new Set<string>();
    for (const found of provenFaults(context, proof, ['endless', 'overrun', 'forced', 'unreset'])) {
      faulty.add(found.control.path);
      // What the thresholds alone tell is told already, and a fallback without a rule that stops by `no-fallback`.
      const isEaten = found.fault.charged === undefined;
      const isTold = [...judgeStops(found.control, context)].some(
        ({ verdict, set }) =>
          verdict.verdict === 'failed' &&
          verdict.severity === undefined &&
          (isEaten || set === undefined || set === found.fault.set),
      );
      const isLeftOpen = found.fault.set > 0 && found.set.rules.every(switchesOn);
      if (!isTold && !isLeftOpen) yield goesOn(found, context);
    }
    yield* acquitted(context, proof, faulty);
    for (const open of unproven(context, proof)) {
      const control = context.system.controls.find(({ path }) => path === open.subject)!;
      const asked = new Set(
        Array.from(judgeStops(control, context), ({ verdict }) => verdict).flatMap((verdict) =>
          verdict.verdict === 'not-checked' ? verdict.missing : [],
        ),
      );
      if (!open.missing.every((fact) => asked.has(fact))) yield open;
    }
  },
});

/** What thresholds say of the rules of a control that stop a set; `set` is undefined for what concerns them all. */
function* judgeStops(control: Control, context: DesignContext): Generator<{ verdict: Verdict; set?: number }> {
  if (!isStarted(control.target)) return;
  for (const verdict of judgeAnyStop(control, context)) yield { verdict };
  for (const [at, set] of ruleSets(control).entries())
    for (const rule of set.rules.filter(({ verb }: Rule) => verb === 'stop')) {
      // With `or`, one condition that can be met is enough; such rules are left to the proof.
      if (rule.joined === 'or' || rule.joined === 'other') continue;
      for (const threshold of rule.thresholds.filter((each) => !isBelow(each) && isBank(each.of))) {
        if (threshold.signal === 'voltage')
          for (const verdict of judgeVoltage(set, threshold, context)) yield { verdict, set: at };
        if (threshold.signal === 'soc')
          for (const verdict of judgeCharge(set, threshold, context)) yield { verdict, set: at };
      }
    }
}
