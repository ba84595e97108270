import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, type Result, derive, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { callFunction } from '../../calculate/index.js';
import { cellVoltage } from '../../quantities/storage/bank.js';
import { dcDemand } from '../../quantities/flow/direct-flows.js';
import { lowEnd } from '../../quantities/ends.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PRACTICE, roundUp, termNames, termsOf, termsOrNames } from './shared.js';
import { isBank, isInverter, takesToInvert } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';
import { stringsFix } from '../storage/shared.js';
import { lowestInverterVoltage } from '../../quantities/demand/lowest-voltages.js';
import { calculation } from '../../quantities/calculation.js';

/** What is joined to a bank, in the order of the design, so that sums and messages read like it. */
function nodesOf(bank: Instance, context: DesignContext): Node[] {
  const joined = new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]));
  return [...joined].sort((a, b) => a.index - b.index);
}

/** The banks that share the bus of a bank: what is drawn there is drawn from all of them together. */
const banksBeside = (bank: Instance, context: DesignContext): Instance[] => [
  ...new Set(nodesOf(bank, context).flatMap(({ instance }) => (isBank(instance) ? [instance] : []))),
];

/** Everything drawn from a bank's bus at once in a state; `surge` replaces the draw of inverters where it is given. */
function drawnIn(
  bank: Instance,
  circuit: CircuitState,
  context: DesignContext,
  surge?: (inverter: Instance) => Result,
): Result {
  const parts = nodesOf(bank, context).flatMap((node) => {
    const draws = dcDemand(node, circuit, context);
    if (!draws) return [];
    return [surge && isInverter(node.instance) ? surge(node.instance) : draws];
  });
  const all = collect(parts);
  return all.ok ? known(sumOf('current drawn from the bank', 'I_dis', 'A', all.derivations)) : all.result;
}

/** What is drawn from a bank at once, in the worst source state. */
const drawn = (bank: Instance, context: DesignContext, surge?: (inverter: Instance) => Result): Result =>
  worstOfStates(
    'current drawn from the bank',
    'I_dis',
    'A',
    context.circuitStates.map(({ state, circuit }) => ({ state, result: drawnIn(bank, circuit, context, surge) })),
  );

/** What an inverter draws while its loads start, at the lowest voltage at which it runs: never less than at its rating, never more than at its surge power. */
function startCurrent(inverter: Instance, context: DesignContext): Result {
  const rated = context.quantity(inverter, 'dcCurrent');
  const start = context.quantity(inverter, 'startDemand');
  const running = context.fact(inverter, 'rated');
  if (rated.kind !== 'known' || start.kind !== 'known' || running.kind !== 'known') return rated;
  const surge = context.maybe(inverter, 'surge');
  const watts = Math.min(numberIn(start.derivation, 'W'), surge ? numberIn(surge, 'W') : Infinity);
  if (watts <= numberIn(running.derivation, 'W')) return rated;
  const power = derive('power at the start', watts, 'W', {
    symbol: 'P',
    formula: surge ? 'min(P_start, P_surge)' : 'P_start',
    inputs: [start.derivation, ...(surge ? [surge] : [])],
  });
  const facts = collect([lowestInverterVoltage(inverter, context), context.fact(inverter, 'efficiency')]);
  if (!facts.ok) return facts.result;
  const [voltage, efficiency] = facts.derivations as [Derivation, Derivation];
  return whenKnown(
    callFunction(calculation('inverterCurrent'), { power, voltage, efficiency: lowEnd(efficiency) }),
    (current) =>
      known({
        ...current,
        name: `current of ${inverter.name} at a start`,
        symbol: `I_${inverter.name}`,
        subject: inverter.name,
      }),
  );
}

/** A cut-off at which the one inverter draws no more, where the bank still holds charge at it. */
function cutOffFix(bank: Instance, current: Derivation, most: number, context: DesignContext): Fix[] {
  const [only, ...others] = nodesOf(bank, context).filter(takesToInvert);
  const nominal = context.quantity(bank, 'bankVoltage');
  // Another bank on the bus has a usual cut-off of its own, and shares the current.
  if (banksBeside(bank, context).length > 1) return [];
  if (!only || others.length > 0 || current.inputs.length !== 1 || nominal.kind !== 'known') return [];
  const inverter = only.instance;
  const cutOff = lowestInverterVoltage(inverter, context);
  if (cutOff.kind !== 'known') return [];
  const needed = roundUp((numberIn(cutOff.derivation, 'V') * numberIn(current, 'A')) / most, 0.1);
  const reconnect = context.maybe(inverter, 'reconnect');
  const usual = cellVoltage(bank, context, 'cut-off', 'U', 'cutOff');
  const ceiling = Math.min(
    reconnect ? numberIn(reconnect, 'V') - 0.1 : Infinity,
    // Much above the usual cut-off of the chemistry most of the charge could no longer be used.
    usual.kind === 'known' ? numberIn(usual.derivation, 'V') * 1.1 : numberIn(nominal.derivation, 'V') * 0.95,
  );
  return needed <= ceiling
    ? [
        propose(`Set cutOff of ${inverter.name} to ${formatNumber(needed)} V`, [
          setProperty(inverter, 'cutOff', `${formatNumber(needed)} V`),
        ]),
      ]
    : [];
}

interface Limit {
  readonly current: Derivation;
  readonly limit: Derivation;
  readonly property: 'maximumDischarge' | 'peakDischarge';
  /** The continuous current and limit, whichever is judged. */
  readonly running: Derivation;
  readonly most: Derivation;
}

/** More strings than anybody joins are no remedy (common practice, no source). */
const MOST_STRINGS = 16;

function* judgeLimit(
  bank: Instance,
  { current, limit, property, running, most }: Limit,
  context: DesignContext,
): Generator<Verdict> {
  const parallel = context.maybe(bank, 'parallel');
  const strings = parallel ? numberIn(parallel, '') : 1;
  const perString = numberIn(limit, 'A') / strings;
  const isPeak = property === 'peakDischarge';
  // Enough for this limit, and one more than the continuous current needs, so that one may be out of service.
  const wanted = Math.max(
    Math.ceil(numberIn(current, 'A') / perString - 1e-9),
    Math.ceil((numberIn(running, 'A') * strings) / numberIn(most, 'A') - 1e-9) + 1,
  );
  const [asked, given] = pairText(current, limit);
  const terms = firstFew(termNames(current), 2);
  const fixes = [
    ...(wanted <= MOST_STRINGS
      ? stringsFix(bank, wanted, `Give ${bank.name} ${wanted} strings, which hold with one of them out`, context)
      : []),
    ...(isPeak ? [] : cutOffFix(bank, current, numberIn(limit, 'A'), context)),
  ];
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, property),
    headline: `${terms} can draw ${asked} from ${bank.name}; it gives ${given} ${isPeak ? 'for a few seconds' : 'continuously'}`,
    ...whyOf(
      isPeak && 'while a motor starts',
      termsOf(current),
      'each at its lowest voltage',
      governingText(current),
      strings > 1 && `${formatNumber(strings)} strings`,
    ),
    consequence: 'its BMS disconnects under full load',
    advice: 'Add strings, or choose a smaller inverter.',
    use: atMost(current, limit),
    numbers: { current, limit },
    fixes,
  };
}

/** With one string out of service the others carry all of it. */
function* judgeOneOut(
  bank: Instance,
  current: Derivation,
  limit: Derivation,
  context: DesignContext,
): Generator<Verdict, boolean> {
  const parallel = context.maybe(bank, 'parallel');
  const strings = parallel ? numberIn(parallel, '') : 1;
  if (!parallel || strings < 2) return false;
  const left = derive('discharge limit with one string out', (numberIn(limit, 'A') * (strings - 1)) / strings, 'A', {
    symbol: 'I_n-1',
    formula: 'I_dis·(n_p − 1)/n_p',
    inputs: [limit, parallel],
  });
  if (numberIn(current, 'A') <= numberIn(left, 'A') * (1 + 1e-9)) return false;
  const [asked, given] = pairText(current, left);
  const wanted = Math.ceil(numberIn(current, 'A') / (numberIn(limit, 'A') / strings) - 1e-9) + 1;
  yield {
    verdict: 'failed',
    subject: bank.path,
    severity: 'warning',
    place: placeOf(bank, 'parallel'),
    headline: `With one of ${formatNumber(strings)} strings of ${bank.name} out, the others give ${given}; ${asked} can be drawn`,
    why: termsOrNames(current),
    consequence: 'one string after the other disconnects',
    advice: `${wanted} strings hold with one out; else limit the loads then.`,
    use: atMost(current, left),
    numbers: { current, limit: left },
    fixes: stringsFix(bank, wanted, `Give ${bank.name} ${wanted} strings`, context),
  };
  return true;
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const current = drawn(bank, context);
  const limit = context.quantity(bank, 'dischargeCurrentLimit');
  const both = collect([limit, current]);
  if (!both.ok) return yield notChecked(bank, both.result);
  const [most, asked] = both.derivations as [Derivation, Derivation];
  if (numberIn(asked, 'A') > numberIn(most, 'A') * (1 + 1e-9))
    return yield* judgeLimit(
      bank,
      { current: asked, limit: most, property: 'maximumDischarge', running: asked, most },
      context,
    );
  const surge = drawn(bank, context, (inverter) => startCurrent(inverter, context));
  const unit = context.maybe(bank, 'peakDischarge');
  const parallel = context.maybe(bank, 'parallel');
  if (surge.kind === 'known' && numberIn(surge.derivation, 'A') > numberIn(most, 'A') * (1 + 1e-9)) {
    if (!unit || !parallel)
      return yield notChecked(bank, { kind: 'missing', missing: [`peakDischarge of ${bank.name}`] });
    const peak = derive('peak discharge current of the bank', numberIn(unit, 'A') * numberIn(parallel, ''), 'A', {
      symbol: 'I_peak',
      formula: 'I_unit·n_p',
      inputs: [unit, parallel],
    });
    if (numberIn(surge.derivation, 'A') > numberIn(peak, 'A') * (1 + 1e-9))
      return yield* judgeLimit(
        bank,
        { current: surge.derivation, limit: peak, property: 'peakDischarge', running: asked, most },
        context,
      );
  }
  if (yield* judgeOneOut(bank, asked, most, context)) return;
  yield passed(bank, atMost(asked, most), { current: asked, limit: most });
}

export const inverterBankCurrent = defineCheck({
  id: 'inverter-bank-current',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'Inverters and other loads can draw more from a bank than it or its BMS gives, continuously, at a start, or with one string out.',
    guards: 'The BMS disconnects under full load and everything goes dark at once.',
    how: 'All inverters at their rating and their lowest running voltage, P/(η·U_min), and the direct-current loads are added up in every source state and held against `maximumDischarge` times the strings. While the largest motor starts, inverters count with what their loads then draw (no more than their surge power) against `peakDischarge`. With several strings, the current must hold with one of them out, or it is a warning. Several banks on one bus are left to the resistances that divide the current between them.',
    fix: 'Add units in parallel, use a smaller inverter, or run fewer loads at once.',
    sources: [{ standard: 'definition of efficiency', provenance: 'own derivation' }, PRACTICE],
    failing: `design Hut {
  battery Bank : Lfp48V100Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46.4 V   reconnect: 51.2 V }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46.4 V   reconnect: 51.2 V }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of context.system.instances) {
      if (!isBank(bank) || banksBeside(bank, context).length > 1) continue;
      const hasInverter = context.system.instances.some(
        (each) => isInverter(each) && banksAt(each, context).includes(bank),
      );
      if (hasInverter) yield* judgeBank(bank, context);
    }
  },
});
