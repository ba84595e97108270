import { groupCapacity } from '../../quantities/storage/bank-group.js';
import { type Derivation, type Result, derive, displayValue, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { chargeBy, dailyRunTimeFor } from '../../quantities/supply/generator-day.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, type Use, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, pairText, placeOf, fullest } from '../verdicts.js';
import { type ChargeRun, chargeRuns } from './charge-run.js';
import { PRACTICE, turnUp } from './shared.js';
import { isAcCharger, isBank, isSet } from '../../model/roles.js';
import { chargersOf } from '../../quantities/supply/joined.js';

const DAY = 86400;

/** Time of a day outside the quiet hours of a control. They keep a generator from starting; one that runs when they begin runs on. */
function allowedOf(control: Control): { readonly allowed: Derivation; readonly quiet: boolean } {
  const quiet = control.properties.get('quiet')?.value;
  // Hours that begin and end at the same time keep nothing quiet.
  const span = quiet?.type === 'quiet' ? (quiet.to - quiet.from + DAY) % DAY : 0;
  return {
    allowed: derive('time of the day outside quiet hours', DAY - span, 's', {
      symbol: 't_day',
      formula: '24 h − quiet hours',
    }),
    quiet: span > 0,
  };
}

const chemistryOf = (bank: Instance, context: DesignContext) => {
  const name = context.maybe(bank, 'chemistry')?.value;
  return typeof name === 'string' ? chemistry(name) : undefined;
};

/** Higher charger limits with which a charge takes no longer than `most`. */
function faster(set: Instance, run: ChargeRun, time: Derivation, most: Derivation, context: DesignContext): Fix[] {
  const by = chargeBy(set, run.bank, context);
  if (!by || by.charge.kind !== 'known' || by.load.kind !== 'known' || numberIn(most, 's') <= 0) return [];
  const net = numberIn(by.charge.derivation, 'A') - numberIn(by.load.derivation, 'A');
  return turnUp(run.bank, by.working, net * (numberIn(time, 's') / numberIn(most, 's') - 1), context);
}

/** One charge against the quiet hours and the longest run of its control. */
function judgeCharge(set: Instance, run: ChargeRun, time: Derivation, context: DesignContext): Verdict | undefined {
  const { control, bank, from, to } = run;
  const span = `from ${displayValue(from)} to ${displayValue(to)}`;
  const longest = context.maybe(control, 'maximumRun');
  if (longest && numberIn(time, 's') > numberIn(longest, 's') * (1 + 1e-9)) {
    const [needed, given] = pairText(time, longest);
    const hours = Math.ceil(numberIn(time, 'h') * 10 - 1e-9) / 10;
    const fixes = [
      ...faster(set, run, time, longest, context),
      propose(`Let ${control.name} run for ${formatNumber(hours)} h`, [
        setProperty(control, 'maximumRun', `${formatNumber(hours)} h`),
      ]),
    ];
    return {
      verdict: 'failed',
      subject: bank.path,
      place: control.properties.get('maximumRun')?.place ?? control.place,
      headline: `${set.name} needs ${needed} to charge ${bank.name} ${span}; ${control.name} allows ${given}`,
      consequence: 'the stop threshold is not reached',
      advice: 'Raise the charge current, narrow the thresholds, or let it run longer.',
      use: atMost(time, longest),
      numbers: { time, limit: longest },
      fixes,
      related: [{ place: bank.place, text: `${bank.name} is charged here` }],
    };
  }
  const { allowed, quiet } = allowedOf(control);
  if (!quiet || numberIn(time, 's') <= numberIn(allowed, 's') * (1 + 1e-9)) return undefined;
  const fixes = faster(set, run, time, allowed, context);
  return {
    verdict: 'failed',
    subject: bank.path,
    place: control.properties.get('quiet')?.place ?? control.place,
    headline: `${set.name} needs ${displayValue(time, 3)} to charge ${bank.name} ${span}; quiet hours leave ${displayValue(allowed, 3)} a day`,
    why: `quiet hours of ${control.name}`,
    consequence: 'it runs on into them',
    advice: 'Raise the charge current, narrow the thresholds, or shorten the quiet hours.',
    use: atMost(time, allowed),
    numbers: { time, limit: allowed },
    fixes,
    related: [{ place: bank.place, text: `${bank.name} is charged here` }],
  };
}

/** Time a set must run on a day on which the loads take their mean and nothing else charges, against what the control allows. */
function* judgeDay(
  set: Instance,
  control: Control,
  bank: Instance,
  context: DesignContext,
): Generator<Verdict, boolean> {
  const { allowed, quiet } = allowedOf(control);
  const hasSun = context.states.some(({ dcSources }) => dcSources.length > 0);
  const by = chargeBy(set, bank, context);
  const result = dailyRunTimeFor(set, bank, context);
  // A bank that never fills is the matter of `charge-below-load`.
  if (!quiet || hasSun || !by || result?.kind !== 'known') return false;
  const needed = result.derivation;
  const [load, efficiency] = needed.inputs;
  const { net } = needed.parts;
  // Where nothing is drawn there is nothing to make up for.
  if (!load || !efficiency || !net) return false;
  if (numberIn(needed, 's') <= numberIn(allowed, 's') * (1 + 1e-9)) return false;
  const [runs, may] = pairText(needed, allowed);
  // The current with which the day balances in the time that is left.
  const balanced = (numberIn(load, 'A') * (DAY / numberIn(allowed, 's') - 1)) / numberIn(efficiency, '');
  const fixes = turnUp(bank, by.working, balanced - numberIn(net, 'A'), context);
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: control.properties.get('quiet')?.place ?? control.place,
    headline: `${set.name} needs ${runs} a day for ${bank.name}; the quiet hours of ${control.name} leave ${may}`,
    why: `the loads draw ${displayValue(load, 3)} day and night on average; ${displayValue(net, 3)} charges while it runs`,
    consequence: 'it runs on into them, or the bank loses charge every day',
    advice: 'Raise the charge current, lower the loads, or shorten the quiet hours.',
    use: atMost(needed, allowed),
    numbers: { needed, limit: allowed, net, load },
    fixes,
    related: [{ place: bank.place, text: `${bank.name} is charged here` }],
  };
  return true;
}

/** The floor of a lead-acid bank that only the sun, the wind or an engine charges; with AC chargers `charge-below-load` asks for more. */
function* judgeFloor(bank: Instance, context: DesignContext): Generator<Verdict> {
  const row = chemistryOf(bank, context);
  const chargers = chargersOf(bank, context);
  if (row?.chargeRate.least === null || chargers.length === 0) return;
  if (chargers.some(isAcCharger)) return;
  if (!row) return yield notChecked(bank, { kind: 'missing', missing: [`chemistry of ${bank.name}`] });
  const capacity = groupCapacity(bank, context);
  const current = context.quantity(bank, 'chargeCurrent');
  if (capacity.kind !== 'known') return yield notChecked(bank, capacity);
  if (current.kind !== 'known') return yield notChecked(bank, current);
  const rate = fromTable('least charge rate', row.chargeRate.least!, 'C', chemistrySource(row.name, 'chargeRate'), {
    symbol: 'r',
  });
  const least = derive('least charge current', numberIn(capacity.derivation, 'Ah') * row.chargeRate.least!, 'A', {
    symbol: 'I_least',
    formula: 'C·r',
    inputs: [capacity.derivation, rate],
  });
  const numbers = { current: current.derivation, least };
  const use = atLeast(current.derivation, least);
  if (numberIn(current.derivation, 'A') >= numberIn(least, 'A') * (1 - 1e-9)) return yield passed(bank, use, numbers);
  const [given, wanted] = pairText(current.derivation, least);
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'capacity'),
    headline: `All that charges ${bank.name} gives ${given} at most; at least ${wanted} needed`,
    why: `${formatNumber(row.chargeRate.least! * 100)} % of its capacity an hour for ${row.title}, a rule of thumb`,
    consequence: 'it is never charged fully, and its plates sulphate',
    advice: 'Charge with more, or choose a smaller bank.',
    use,
    numbers,
    related: chargers.map((charger) => ({ place: charger.place, text: `${charger.name} charges ${bank.name}` })),
  };
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  let judged: Use | undefined;
  let refused: Result | undefined;
  let isSlow = false;
  for (const set of context.system.instances) {
    if (!isSet(set)) continue;
    const runs = chargeRuns(set, context).filter((run) => run.bank === bank);
    for (const run of runs) {
      if (run.time.kind === 'missing') return yield notChecked(bank, run.time);
      // Refused: the charge never comes so far, which `charge-below-load`, `charge-cold` and `stop-unreachable` judge.
      if (run.time.kind !== 'known') {
        refused ??= run.time;
        continue;
      }
      const fault = judgeCharge(set, run, run.time.derivation, context);
      if (fault) {
        isSlow = true;
        yield fault;
      }
      const longest = context.maybe(run.control, 'maximumRun');
      const uses = [
        ...(judged ? [judged] : []),
        atMost(run.time.derivation, allowedOf(run.control).allowed),
        ...(longest ? [atMost(run.time.derivation, longest)] : []),
      ];
      judged = fullest(uses[0]!, ...uses.slice(1));
    }
    for (const control of new Set(runs.map((run) => run.control)))
      if (yield* judgeDay(set, control, bank, context)) return;
  }
  if (refused) yield notChecked(bank, refused);
  else if (judged && !isSlow) yield passed(bank, judged);
  yield* judgeFloor(bank, context);
}

export const chargeTooSlow = defineCheck({
  id: 'charge-too-slow',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'A charge takes longer than the quiet hours, the longest run or the day allow, or is below the floor of the chemistry.',
    guards:
      'A generator that stops before its threshold, is heard in the quiet hours, or cannot make up in the day what the loads took in the night.',
    how: points(
      'The time from the start to the stop threshold on state of charge, with the generator alone, chargers at what they really give, loads by profile and duty (`chargeTime`).',
      'It is held against `maximumRun` and against what `quiet` leaves of a day: quiet hours keep a generator from starting, and one that still runs when they begin is heard in them.',
      'Without sun or wind the generator must also make up in that time what the loads draw in a whole day: 24 h·I_load/(I_load + η·I_net) (`dailyRunTime`).',
      'A lead-acid bank that only sun, wind or an engine charges needs 5 % of its capacity an hour at least (common practice, no source); with AC chargers `charge-below-load` judges that, loads counted.',
      'Whether the tank lasts is judged by `generator-fuel`.',
    ),
    fix: 'Charge with more current, narrow the thresholds, or allow a longer run.',
    sources: [{ standard: 'charger sizing formula H = k·C/(A − L)', provenance: 'published' }, PRACTICE],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 20 A   maximumCurrent: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 30 %
    stop when soc(Bank) > 90 %
    maximumRun: 6 h
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 40 A   maximumCurrent: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 30 %
    stop when soc(Bank) > 90 %
    maximumRun: 6 h
  }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isBank(instance)) yield* judgeBank(instance, context);
  },
});
