import { type Derivation, derive, deriveQuantity, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { DIMENSIONS, type Quantity, formatQuantity, inUnit, siQuantity } from '../../quantity/index.js';
import { highEnd } from '../../quantities/ends.js';
import { steadyLoadCurrent } from '../../quantities/demand/steady-load.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, pairText, passed } from '../verdicts.js';
import { isBelow, pairs, type Pair, type RuleSet, ruleSets } from './rules.js';
import { isBank } from '../../model/roles.js';

/** The least gap between two thresholds on voltage: the sag and rebound of the bank between loaded and charged, at its highest resistance. */
function voltageGap(pair: Pair, context: DesignContext): Derivation | { missing: readonly string[] } {
  const bank = pair.on.of;
  const resistance = context.quantity(bank, 'bankResistance');
  const charge = context.quantity(bank, 'chargeCurrent');
  const load = steadyLoadCurrent(bank, context);
  const facts = [resistance, charge, load].flatMap((result) => (result.kind === 'missing' ? result.missing : []));
  if (resistance.kind !== 'known' || charge.kind !== 'known' || load.kind !== 'known')
    return { missing: facts.length > 0 ? facts : [`resistance of ${bank.name}`] };
  const ohms = highEnd(resistance.derivation);
  return derive(
    'sag and rebound',
    numberIn(ohms, 'ohm') * (numberIn(charge.derivation, 'A') + numberIn(load.derivation, 'A')),
    'V',
    { symbol: 'ΔU', formula: 'R·(I_chg + I_load)', inputs: [ohms, charge.derivation, load.derivation] },
  );
}

function* judgePair(set: RuleSet, pair: Pair, context: DesignContext): Generator<Verdict> {
  const { on, off } = pair;
  // Only the voltage of a bank moves with what the rule switches.
  if (on.signal === 'voltage' && !isBank(on.of)) return;
  const [low, high] = isBelow(on) ? [on, off] : [off, on];
  const spread = high.limit.low - low.limit.high;
  // Thresholds out of order are the matter of `threshold-order`.
  if (spread <= 0) return;
  const gap = deriveQuantity('gap', siQuantity(spread, low.limit.dimension, low.limit.unit), {
    formula: 'stop − start',
  });
  const resolution = context.maybe(set.control, 'resolution');
  const step =
    resolution && typeof resolution.value === 'object' && resolution.value.dimension === low.limit.dimension
      ? resolution.value.value
      : 0;
  let least: Derivation;
  if (low.limit.dimension === DIMENSIONS.ratio && on.signal === 'soc') {
    const setting = context.setting('socGap');
    least = deriveQuantity(
      'least gap',
      siQuantity(Math.max(setting ? numberIn(setting, '') : 0.1, 2 * step), DIMENSIONS.ratio, low.limit.unit),
      { inputs: setting ? [setting] : [] },
    );
  } else if (on.signal === 'voltage') {
    const sag = voltageGap(pair, context);
    if ('missing' in sag) return yield notChecked(set.control, { kind: 'missing', missing: sag.missing });
    least = deriveQuantity('least gap', siQuantity(numberIn(sag, 'V') + 2 * step, DIMENSIONS.voltage), {
      inputs: [sag],
      formula: 'sag and rebound, and twice the measuring step',
    });
  } else return;
  const numbers = { gap, least };
  if (
    typeof gap.value === 'object' &&
    typeof least.value === 'object' &&
    gap.value.value >= least.value.value * (1 - 1e-9)
  )
    return yield passed(set.control, atLeast(gap, least), numbers);
  const [is, wanted] = pairText(gap, least);
  const why =
    on.signal === 'soc'
      ? undefined
      : `its voltage moves by ${displayValue(least, 3)} when the load goes and the charger comes, at its highest resistance`;
  const move = moved(pair, (least.value as Quantity).value, context);
  yield {
    verdict: 'failed',
    subject: set.control.path,
    place: high.limitPlace,
    headline: `${set.title}: thresholds on ${on.signal}(${on.of.name}) are ${is} apart; at least ${wanted} needed`,
    why: [`${formatQuantity(low.limit)} and ${formatQuantity(high.limit)}`, why].filter(Boolean).join('; '),
    ...(on.signal === 'soc' ? { rule: 'a rule of thumb, set by `socGap`' } : {}),
    consequence: 'the rule chatters',
    advice: 'Move the two apart, or watch the state of charge.',
    use: atLeast(gap, least),
    numbers,
    related: [{ place: low.limitPlace, text: 'lower threshold' }],
    fixes: move
      ? [
          propose(
            `Move the ${move.which} threshold to ${move.text}`,
            [{ place: move.which === 'upper' ? high.limitPlace : low.limitPlace, text: move.text }],
            true,
          ),
        ]
      : [],
  };
}

/** The threshold to move and where to: the upper one up where the bank gets there, else the lower one down while the bank still delivers. */
function moved(
  { on, off }: Pair,
  least: number,
  context: DesignContext,
): { which: 'upper' | 'lower'; text: string } | undefined {
  const [low, high] = isBelow(on) ? [on, off] : [off, on];
  if (on.signal === 'soc') {
    const percent = (share: number): number => Number((share * 100).toFixed(6));
    const [up, down] = [low.limit.high + least, high.limit.low - least];
    if (up <= HIGHEST_STATE) return { which: 'upper', text: `${Math.ceil(percent(up))} %` };
    return down > 0 ? { which: 'lower', text: `${Math.floor(percent(down))} %` } : undefined;
  }
  const edge = (name: 'highestVoltage' | 'lowestVoltage'): number | undefined => {
    const result = context.quantity(on.of, name);
    return result.kind === 'known' ? numberIn(result.derivation, 'V') : undefined;
  };
  const tenths = (volts: number, round: 'ceil' | 'floor'): number => Math[round](Number((volts * 10).toFixed(6))) / 10;
  const up = tenths(inUnit(low.limit, 'V') + least, 'ceil');
  const down = tenths(inUnit(high.limit, 'V') - least, 'floor');
  const [highest, lowest] = [edge('highestVoltage'), edge('lowestVoltage')];
  if (highest !== undefined && up < highest) return { which: 'upper', text: `${up} V` };
  return lowest !== undefined && down > lowest ? { which: 'lower', text: `${down} V` } : undefined;
}

/** States of charge above this are only counted after a long absorption. Common practice, no source. */
const HIGHEST_STATE = 0.95;

export const thresholdGap = defineCheck({
  id: 'threshold-gap',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Start and stop thresholds lie so close together that the rule chatters.',
    guards: 'A generator that starts and stops many times a day wears out; a relay hums.',
    how: 'State of charge: at least `socGap` (10 % unless set; common practice, no source) and twice the measuring `resolution`. Voltage: at least the step the bank makes when its load goes and its charger comes, R·(I_chg + I_load) at the highest resistance of its range, and twice the resolution; what a lead-acid bank polarises beyond that builds up over minutes and is looked at where the rules are proven.',
    fix: 'Set start and stop further apart, or give the rule a dwell (`for 1 min`).',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 44 %
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 80 %
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls)
      for (const set of ruleSets(control)) for (const pair of pairs(set)) yield* judgePair(set, pair, context);
  },
});
