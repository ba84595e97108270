import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { collect } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { PRACTICE, roundUp } from './shared.js';
import { isInverter } from '../../model/roles.js';
import { banksAt, chargersOf } from '../../quantities/supply/joined.js';

/** Kept free below the charge voltage and above the rebound, in V a cell: tolerances of both devices (common practice, no source). */
const CLEARANCE_PER_CELL = 0.05;
/** Usual distance between cut-off and reconnection, in V a cell (common practice, no source). */
const USUAL_PER_CELL = 0.2;

/** What the voltage of the bank comes back by when the inverter lets go of its loads. */
function reboundOf(resistance: Derivation, load: Derivation, cutOff: Derivation, efficiency: Derivation): Derivation {
  const ohms = highEnd(resistance);
  const worst = lowEnd(efficiency);
  const current = derive(
    'current at the cut-off',
    numberIn(load, 'W') / (numberIn(worst, '') * numberIn(cutOff, 'V')),
    'A',
    { symbol: 'I', formula: 'P/(η·U_off)', inputs: [load, worst, cutOff] },
  );
  return derive('rebound', numberIn(ohms, 'ohm') * numberIn(current, 'A'), 'V', {
    symbol: 'ΔU',
    formula: 'R·I',
    inputs: [ohms, current],
  });
}

/** The most a reconnection may be for a bank; undefined where that is not known. */
function mostFor(bank: Instance, context: DesignContext): number | undefined {
  if (chargersOf(bank, context).length === 0) return Infinity;
  const both = collect([context.quantity(bank, 'highestVoltage'), context.quantity(bank, 'cellCount')]);
  if (!both.ok) return undefined;
  const [highest, count] = both.derivations as [Derivation, Derivation];
  return numberIn(highest, 'V') - CLEARANCE_PER_CELL * numberIn(count, '');
}

/** A voltage at which it can come back and stays on; undefined where there is none below the charge voltage of each of its banks. */
function reconnectFix(
  inverter: Instance,
  least: number,
  context: DesignContext,
): { value: number; fix: Fix } | undefined {
  const value = roundUp(least, 0.1);
  const mosts = banksAt(inverter, context).map((bank) => mostFor(bank, context));
  if (mosts.some((most) => most === undefined || value > most + 1e-9)) return undefined;
  const title = `Set reconnect of ${inverter.name} to ${value} V`;
  return { value, fix: propose(title, [setProperty(inverter, 'reconnect', `${value} V`)], true) };
}

function* judgePair(inverter: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  const [cutOff, reconnect] = [context.maybe(inverter, 'cutOff'), context.maybe(inverter, 'reconnect')];
  // A reconnection that is not above the cut-off is the matter of `inverter-cutoff`.
  if (!cutOff || !reconnect || numberIn(reconnect, 'V') <= numberIn(cutOff, 'V')) return;
  const count = context.quantity(bank, 'cellCount');
  if (count.kind !== 'known') return yield notChecked(inverter, count);
  const cells = numberIn(count.derivation, '');
  const clearance = CLEARANCE_PER_CELL * cells;
  const [off, on] = [numberIn(cutOff, 'V'), numberIn(reconnect, 'V')];
  const isCharged = chargersOf(bank, context).length > 0;
  const highest = context.quantity(bank, 'highestVoltage');
  if (isCharged && highest.kind !== 'known') return yield notChecked(inverter, highest);
  const most = isCharged && highest.kind === 'known' ? numberIn(highest.derivation, 'V') - clearance : Infinity;
  const all = collect([
    context.quantity(bank, 'bankResistance'),
    context.quantity(inverter, 'loadDemand'),
    context.fact(inverter, 'efficiency'),
  ]);
  const [resistance, load, efficiency] = (all.ok ? all.derivations : []) as [Derivation, Derivation, Derivation];
  const rebound = all.ok ? reboundOf(resistance, load, cutOff, efficiency) : undefined;
  if (isCharged && highest.kind === 'known' && on > most + 1e-9) {
    // Where the rebound is not known a lower voltage could be too low.
    const usual =
      rebound && Math.max(Math.min(off + USUAL_PER_CELL * cells, most - 0.1), off + numberIn(rebound, 'V') + clearance);
    const remedy = usual === undefined ? undefined : reconnectFix(inverter, usual, context);
    const [comesBack, reached] = pairText(reconnect, highest.derivation);
    yield {
      verdict: 'failed',
      subject: inverter.path,
      place: placeOf(inverter, 'reconnect'),
      severity: on >= numberIn(highest.derivation, 'V') ? 'error' : 'warning',
      headline: `${inverter.name} reconnects at ${comesBack}; ${bank.name} is charged to ${reached} at most`,
      consequence: `once cut off, it ${on >= numberIn(highest.derivation, 'V') ? 'never comes back by itself' : 'comes back late or never, by tolerances'}`,
      use: atMost(
        reconnect,
        derive('highest reconnection', most, 'V', { formula: 'U_max − 0.05 V·n_c', inputs: [highest.derivation] }),
      ),
      numbers: { reconnect, highest: highest.derivation },
      fixes: remedy ? [remedy.fix] : [],
    };
    return;
  }
  if (!all.ok || !rebound) return yield notChecked(inverter, all.ok ? highest : all.result);
  const least = derive('lowest reconnection', off + numberIn(rebound, 'V'), 'V', {
    formula: 'U_off + ΔU',
    inputs: [cutOff, rebound],
  });
  const numbers = { reconnect, least };
  const use = atLeast(reconnect, least);
  if (on > numberIn(least, 'V') * (1 - 1e-9)) return yield passed(inverter, use, numbers);
  const remedy = reconnectFix(
    inverter,
    Math.max(off + USUAL_PER_CELL * cells, numberIn(least, 'V') + clearance),
    context,
  );
  const [comesBack, needs] = pairText(reconnect, least);
  yield {
    verdict: 'failed',
    subject: inverter.path,
    place: placeOf(inverter, 'reconnect'),
    headline: `${inverter.name} reconnects at ${comesBack}; ${bank.name} rises to ${needs} when it cuts off`,
    why: `cut-off ${displayValue(cutOff)}, rebound ${displayValue(rebound, 3)} when ${displayValue(load, 3)} go, at the highest resistance`,
    consequence: 'it reconnects at once and cuts off again and again',
    advice: 'Set it further above the cut-off, or cut off earlier.',
    use,
    numbers,
    fixes: remedy ? [remedy.fix] : [],
  };
}

export const inverterReconnect = defineCheck({
  id: 'inverter-reconnect',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'An inverter that has cut off comes back too early, on the rebound of its bank, or never.',
    guards:
      'Loads that are switched on and off every few seconds until something breaks, and a site that stays dark though the bank is full again.',
    how: 'When the loads are let go at the cut-off, the voltage of the bank rises by its resistance times their current, P/(η·U_off) with the loads that can run together; reconnection must lie above that. It must also lie at least 0.05 V a cell below the highest charge voltage (common practice, no source), at or above which it is an error. The slower recovery of the cells and the leads come on top and are not counted.',
    fix: 'Set the reconnect voltage above the rebound of the bank and below what its chargers reach.',
    sources: [PRACTICE],
    failing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 40 mohm }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 38..60 V   cutOff: 46.4 V   reconnect: 47.2 V }
  load Heater { power: 2 kW   voltage: 230 V   powerFactor: 1 }
  run Feed: Bank -> Inv.dc { size: 50 mm2   length: 1 m }
  run Line: Inv.ac -> Heater { size: 2.5 mm2   length: 5 m }
}
`,
    passing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 40 mohm }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 38..60 V   cutOff: 46.4 V   reconnect: 51.2 V }
  load Heater { power: 2 kW   voltage: 230 V   powerFactor: 1 }
  run Feed: Bank -> Inv.dc { size: 50 mm2   length: 1 m }
  run Line: Inv.ac -> Heater { size: 2.5 mm2   length: 5 m }
}
`,
  },
  judge: function* (context) {
    for (const inverter of context.system.instances) {
      if (!isInverter(inverter)) continue;
      for (const bank of banksAt(inverter, context)) yield* judgePair(inverter, bank, context);
    }
  },
});
