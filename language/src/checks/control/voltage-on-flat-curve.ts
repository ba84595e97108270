import { watchedBy } from '../../control/index.js';
import { deriveQuantity, fromTable, numberIn } from '../../derivation/index.js';
import type { Comparison } from '../../model/conditions.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Rule } from '../../model/types.js';
import { formatQuantity, inUnit, quantity } from '../../quantity/index.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, NO_LIMIT } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, passed } from '../verdicts.js';
import { type RuleSet, ruleSets, switchesOn } from './rules.js';
import { isBank } from '../../model/roles.js';

/** Both voltages of a bank between which its curve is flat, V, with the states of charge they stand for. */
interface Flat {
  readonly from: number;
  readonly to: number;
  readonly chargeFrom: number;
  readonly chargeTo: number;
  readonly cells: number;
}

const isVoltage = ({ terms }: Comparison): Instance | undefined => {
  const [term] = terms;
  const signal = terms.length === 1 ? term!.signal : undefined;
  return signal?.kind === 'of' && signal.signal === 'voltage' && isBank(signal.of) ? signal.of : undefined;
};

const watchesCharge = (rule: Rule, bank: Instance): boolean =>
  watchedBy(rule).some(({ terms }) =>
    terms.some(({ signal }) => signal.kind === 'of' && signal.signal === 'soc' && signal.of === bank),
  );

/** A limit off the flat part: where the chemistry is nearly empty for a rule that looks below, where it is nearly full for one above. */
function offTheFlat(comparison: Comparison, bank: Instance, cells: number, context: DesignContext): number | undefined {
  const row = chemistry(String(context.maybe(bank, 'chemistry')?.value));
  if (!row) return undefined;
  const looksBelow = comparison.comparison === '<' || comparison.comparison === '<=';
  if (looksBelow) return Number((row.generatorStart * cells).toFixed(1));
  const highest = context.quantity(bank, 'highestVoltage');
  return highest.kind === 'known'
    ? Math.floor((numberIn(highest.derivation, 'V') - BELOW_CHARGE * cells) * 10) / 10
    : undefined;
}

/** A rule that stops on voltage stands this far below the charge voltage, V a cell: common practice, no source. */
const BELOW_CHARGE = 0.03;

function* judgeRule(set: RuleSet, rule: Rule, context: DesignContext): Generator<Verdict> {
  for (const comparison of watchedBy(rule)) {
    const bank = isVoltage(comparison);
    if (!bank || watchesCharge(rule, bank)) continue;
    const name = context.fact(bank, 'chemistry');
    const count = context.quantity(bank, 'cellCount');
    if (name.kind !== 'known') {
      yield notChecked(set.control, name);
      continue;
    }
    const row = chemistry(String(name.derivation.value));
    if (!row?.flat) {
      yield passed(set.control, NO_LIMIT);
      continue;
    }
    if (count.kind !== 'known') {
      yield notChecked(set.control, count);
      continue;
    }
    const cells = numberIn(count.derivation, '');
    const flat: Flat = { ...row.flat, from: row.flat.from * cells, to: row.flat.to * cells, cells };
    const volts = inUnit(comparison.limit, 'V');
    const source = chemistrySource(row.name, 'flat');
    const numbers = {
      limit: deriveQuantity('limit', comparison.limit, { origin: 'stated', place: comparison.limitPlace }),
      from: fromTable('flat from', flat.from, 'V', source),
      to: fromTable('flat to', flat.to, 'V', source),
    };
    if (volts < flat.from * (1 - 1e-9) || volts > flat.to * (1 + 1e-9)) {
      yield passed(
        set.control,
        volts < flat.from ? atMost(numbers.limit, numbers.from) : atLeast(numbers.limit, numbers.to),
        numbers,
      );
      continue;
    }
    yield failure(set, rule, comparison, bank, flat, numbers, context);
  }
}

function failure(
  set: RuleSet,
  rule: Rule,
  comparison: Comparison,
  bank: Instance,
  flat: Flat,
  numbers: Record<string, ReturnType<typeof deriveQuantity>>,
  context: DesignContext,
): Verdict {
  const better = offTheFlat(comparison, bank, flat.cells, context);
  const text = (volts: number): string => formatQuantity(quantity(Number(volts.toFixed(2)), 'V'));
  const fixes: Fix[] =
    better === undefined || (better >= flat.from && better <= flat.to)
      ? []
      : [propose(`Watch for ${text(better)}`, [{ place: comparison.limitPlace, text: text(better) }], true)];
  const percent = (share: number): string => `${Math.round(share * 100)} %`;
  const milli = ((flat.to - flat.from) / ((flat.chargeTo - flat.chargeFrom) * 100)) * 1000;
  return {
    verdict: 'failed',
    subject: set.control.path,
    place: comparison.limitPlace,
    headline: `${set.title} watches ${bank.name} at ${formatQuantity(comparison.limit)}, on the flat part of its curve`,
    why: `${flat.from.toFixed(1)}–${flat.to.toFixed(1)} V from ${percent(flat.chargeFrom)} to ${percent(flat.chargeTo)} of charge, about ${milli.toFixed(0)} mV for each percent: load and meter decide`,
    advice: `Watch soc(${bank.name}).`,
    use: NO_LIMIT,
    numbers,
    fixes: switchesOn(rule) || fixes.length > 0 ? fixes : [],
  };
}

export const voltageOnFlatCurve = defineCheck({
  id: 'voltage-on-flat-curve',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A rule watches the voltage of a lithium bank where its curve is flat, and not its state of charge.',
    guards: 'A generator that starts at 80 % with a load on and not at 20 % without one.',
    how: 'The limit, divided by the cells in series, lies on the flat part of the rest voltage of the chemistry (lithium iron phosphate: 3.20 to 3.34 V a cell between 30 and 98 % of charge). A rule that also watches the state of charge is left alone.',
    fix: 'Watch the state of charge, or a voltage at the end of the curve.',
    sources: [
      {
        standard: 'Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025',
        table: '74 mV between 30 and 98 % of charge',
        provenance: 'published',
      },
    ],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 52 V for 3 min
    stop when voltage(Bank) > 55.4 V for 20 min
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
    start when voltage(Bank) < 49.6 V for 3 min
    stop when voltage(Bank) > 55.4 V for 20 min
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls)
      for (const set of ruleSets(control)) for (const rule of set.rules) yield* judgeRule(set, rule, context);
  },
});
