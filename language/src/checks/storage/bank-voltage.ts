import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, derive, displayValue, fromTable, numberIn, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { type Chemistry, chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import {
  defineCheck,
  type Failed,
  type Fix,
  type Verdict,
  atMost,
  atLeast,
  NO_LIMIT,
  type UseOfLimit,
} from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, fullest, whyOf } from '../verdicts.js';
import { type Node } from '../../model/graph.js';
import { chargesAt, isAcCharger, isBank, isLoad, takesToConvert, takesToInvert } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';

/** A charge set point this far from nominal belongs to another series count: lithium charges at 1.08 to 1.17, lead at 1.13 to 1.35 times nominal. */
const SET_POINT_RATIO = { from: 0.95, to: 1.35 };

/** DC loads named by a voltage run on banks this much above or below it, such as 12 V loads on 12.8 V: common practice, no source. */
const LOAD_TOLERANCE = 0.15;
/** Banks on one bus agree within this share of nominal voltage: common practice, no source. */
const BANK_TOLERANCE = 0.03;
/** A unit is named within this share of what its cells make: 12 V for 12.8 V, 48 V for 51.2 V. */
const CELL_TOLERANCE = 0.08;

/** What another thing on the bus says about the voltage the bank must have: a window for its nominal voltage, in V. */
interface Demand {
  readonly of: Instance;
  readonly property: string;
  readonly stated: Derivation;
  readonly from: number;
  readonly to: number;
  readonly text: string;
}

/** What a DC load or the input of a DC-to-DC converter asks for. */
function consumerDemand(node: Node, context: DesignContext): Demand | undefined {
  const { instance } = node;
  const own = instance.properties.get('voltage')?.value;
  if (isLoad(instance) && own?.type === 'system') {
    const volts = own.system.lineToNeutral;
    return {
      of: instance,
      property: 'voltage',
      stated: derive('voltage of the load', volts, 'V', { origin: 'stated' }),
      from: volts * (1 - LOAD_TOLERANCE),
      to: volts * (1 + LOAD_TOLERANCE),
      text: `runs on ${own.system.text}`,
    };
  }
  const window = takesToConvert(node) ? context.maybe(instance, 'input') : undefined;
  return window && typeof window.value === 'object'
    ? {
        of: instance,
        property: 'input',
        stated: window,
        from: window.value.low,
        to: window.value.high,
        text: `accepts ${displayValue(window)}`,
      }
    : undefined;
}

function demandsOn(bank: Instance, context: DesignContext): Demand[] {
  const reached = [...new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]))];
  const demands: Demand[] = [];
  for (const node of reached) {
    const { instance } = node;
    const consumer = consumerDemand(node, context);
    if (consumer) demands.push(consumer);
    const window = takesToInvert(node) ? context.maybe(instance, 'dcVoltage') : undefined;
    if (window && typeof window.value === 'object')
      demands.push({
        of: instance,
        property: 'dcVoltage',
        stated: window,
        from: window.value.low,
        to: window.value.high,
        text: `runs at ${displayValue(window)}`,
      });
    // An inverter may state the set points of its charger and not yet its limit.
    const absorb = takesToInvert(node) || chargesAt(node) ? context.maybe(instance, 'absorb') : undefined;
    if (absorb) {
      const volts = numberIn(absorb, 'V');
      demands.push({
        of: instance,
        property: 'absorb',
        stated: absorb,
        from: volts / SET_POINT_RATIO.to,
        to: volts / SET_POINT_RATIO.from,
        text: `charges at ${displayValue(absorb)}`,
      });
    }
    const output = isAcCharger(instance) && chargesAt(node) ? context.maybe(instance, 'output') : undefined;
    if (output && typeof output.value === 'object')
      demands.push({
        of: instance,
        property: 'output',
        stated: output,
        from: output.value.low * 0.9,
        to: output.value.high,
        text: `can be set to ${displayValue(output)}`,
      });
  }
  return demands;
}

/** The series count with which every demand is met; undefined when there is none. */
function seriesFor(unit: number, demands: readonly Demand[]): number | undefined {
  const fitting: number[] = [];
  for (let count = 1; count <= 64; count += 1)
    if (demands.every(({ from, to }) => unit * count >= from && unit * count <= to)) fitting.push(count);
  return fitting.length > 0 ? fitting[0] : undefined;
}

const meets = (volts: number, { from, to }: Demand): boolean => volts >= from * (1 - 1e-9) && volts <= to * (1 + 1e-9);

/** The edge of a window that the voltage of a bank is nearest to, or furthest beyond. */
function closest(volts: Derivation, demands: readonly Demand[]): UseOfLimit {
  const uses = demands.flatMap(({ from, to, stated }) => [
    atLeast(volts, derive('lowest voltage of the bus', from, 'V', { inputs: [stated] })),
    atMost(volts, derive('highest voltage of the bus', to, 'V', { inputs: [stated] })),
  ]);
  const [first, ...others] = uses;
  return first ? fullest(first, ...others) : NO_LIMIT;
}

/** Another bank on the same bus with another voltage. Of two banks only the one that suits the rest of the bus less is wrong, else the later. */
function otherBank(bank: Instance, context: DesignContext): Demand | undefined {
  const { instances } = context.system;
  const nominalOf = (each: Instance): Derivation | undefined => {
    const result = context.quantity(each, 'bankVoltage');
    return result.kind === 'known' ? result.derivation : undefined;
  };
  const own = nominalOf(bank);
  for (const other of banksAt(bank, context)) {
    const voltage = nominalOf(other);
    if (other === bank || !own || !voltage) continue;
    const volts = numberIn(voltage, 'V');
    const demand: Demand = {
      of: other,
      property: 'voltage',
      stated: voltage,
      from: volts * (1 - BANK_TOLERANCE),
      to: volts * (1 + BANK_TOLERANCE),
      text: `makes ${displayValue(voltage)}`,
    };
    if (meets(numberIn(own, 'V'), demand)) continue;
    const isOtherWrong = demandsOn(other, context).some((each) => !meets(volts, each));
    if (!isOtherWrong && instances.indexOf(bank) > instances.indexOf(other)) return demand;
  }
  return undefined;
}

/** What charges above the window of an inverter, though the nominal voltage suits it: it switches off at the end of each charge. */
function* judgeCharging(bank: Instance, demands: readonly Demand[], context: DesignContext): Generator<Failed> {
  const highest = context.quantity(bank, 'highestVoltage');
  if (highest.kind !== 'known' || reasonOf(highest.derivation, 'noSetPoint')) return;
  for (const { of, property, stated, to } of demands) {
    if (property !== 'dcVoltage' || numberIn(highest.derivation, 'V') <= to * (1 + 1e-9)) continue;
    const top = derive('top of its window', to, 'V');
    const [reaches, runs] = pairText(highest.derivation, top);
    yield {
      verdict: 'failed',
      subject: of.path,
      place: placeOf(of, property),
      headline: `${bank.name} is charged up to ${reaches}; ${of.name} runs up to ${runs}`,
      ...whyOf(governingText(highest.derivation)),
      consequence: 'it switches off, or is damaged, at the end of each charge',
      advice: `Lower the set point to ${runs} or less, or choose an inverter with a wider window.`,
      use: atMost(highest.derivation, top),
      numbers: { highest: highest.derivation, window: stated },
      related: [{ place: bank.place, text: `${bank.name} reaches ${reaches}` }],
    };
  }
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const nominal = context.quantity(bank, 'bankVoltage');
  if (nominal.kind !== 'known') return yield notChecked(bank, nominal);
  const wrongUnit = judgeUnit(bank, context);
  if (wrongUnit) return yield wrongUnit;
  const volts = numberIn(nominal.derivation, 'V');
  const demands = demandsOn(bank, context);
  const broken = demands.find((demand) => !meets(volts, demand)) ?? otherBank(bank, context);
  if (!broken) {
    const charging = [...judgeCharging(bank, demands, context)];
    if (charging.length > 0) yield* charging;
    else yield passed(bank, closest(nominal.derivation, demands), { voltage: nominal.derivation });
    return;
  }
  // Where everything else on the bus suits the bank, the one that does not is the odd one.
  const misfits = demands.filter((demand) => !meets(volts, demand));
  const agreeing = demands.filter((demand) => demand.of !== broken.of && meets(volts, demand));
  if (misfits.length > 0 && misfits.every(({ of }) => of === broken.of) && agreeing.length > 0) {
    const makes = displayValue(nominal.derivation);
    yield {
      verdict: 'failed',
      subject: broken.of.path,
      place: placeOf(broken.of, broken.property),
      headline: `${broken.of.name} ${broken.text}, but ${bank.name} makes ${makes}`,
      why: `${makes} suits ${firstFew([...new Set(agreeing.map(({ of }) => of.name))])}`,
      advice: `Set or choose ${broken.of.name} for a bank of ${makes}.`,
      use: closest(nominal.derivation, [broken]),
      numbers: { voltage: nominal.derivation, stated: broken.stated },
      related: [{ place: bank.place, text: `${bank.name} makes ${makes}` }],
    };
    return;
  }
  const unit = context.maybe(bank, 'voltage');
  const count = unit && seriesFor(numberIn(unit, 'V'), demands.includes(broken) ? demands : [...demands, broken]);
  const fixes: Fix[] = count
    ? [propose(`Put ${count} in series`, [setProperty(bank, 'series', String(count))], true)]
    : [];
  const made = count && unit ? displayValue(derive('bank voltage', numberIn(unit, 'V') * count, 'V')) : '';
  const series = context.maybe(bank, 'series');
  const how =
    unit && series && numberIn(series, '') > 1
      ? `${displayValue(series)} of ${displayValue(unit)} in series`
      : undefined;
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'series'),
    headline: `${bank.name} makes ${displayValue(nominal.derivation)}, but ${broken.of.name} ${broken.text}`,
    ...whyOf(how),
    advice: count
      ? `${count} in series ${count === 1 ? 'makes' : 'make'} ${made}.`
      : `No number of ${unit ? displayValue(unit) : 'these'} units in series suits everything on this bus: choose other units, or other equipment.`,
    use: closest(nominal.derivation, [broken]),
    numbers: { voltage: nominal.derivation, stated: broken.stated },
    related: [{ place: placeOf(broken.of, broken.property), text: `${broken.of.name} ${broken.text}` }],
    fixes,
  };
}

/** A unit whose cells are not counted, and whose voltage no whole number of them makes. */
function judgeUncounted(bank: Instance, row: Chemistry, unit: Derivation): Failed | undefined {
  const quotient = numberIn(unit, 'V') / row.nominal;
  const counts = [...new Set([Math.max(1, Math.floor(quotient)), Math.max(1, Math.ceil(quotient))])];
  if (counts.some((count) => Math.abs(quotient / count - 1) <= CELL_TOLERANCE)) return undefined;
  const cell = fromTable('nominal cell voltage', row.nominal, 'V', chemistrySource(row.name, 'nominal'));
  const made = counts.map((count) => displayValue(derive('unit voltage', count * row.nominal, 'V')));
  return {
    verdict: 'failed',
    subject: bank.path,
    severity: 'warning',
    place: placeOf(bank, 'voltage'),
    headline: `A unit of ${bank.name} states ${displayValue(unit)}; whole cells make ${made.join(' or ')}`,
    why: `${row.title} has ${displayValue(cell)} a cell (from memory)`,
    advice: 'State `cells`, or correct its voltage.',
    use: NO_LIMIT,
    numbers: { voltage: unit, cell },
  };
}

/** Whether the unit's own voltage disagrees with its cells and chemistry. */
function judgeUnit(bank: Instance, context: DesignContext): Failed | undefined {
  const cells = context.maybe(bank, 'cells');
  const unit = context.maybe(bank, 'voltage');
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  if (!row || !unit) return undefined;
  if (!cells) return judgeUncounted(bank, row, unit);
  const expected = derive('nominal voltage by cells', numberIn(cells, '') * row.nominal, 'V', {
    symbol: 'U',
    formula: 'U_cell·cells',
    inputs: [
      fromTable('nominal cell voltage', row.nominal, 'V', chemistrySource(row.name, 'nominal'), { symbol: 'U_cell' }),
      cells,
    ],
  });
  const quotient = numberIn(unit, 'V') / numberIn(expected, 'V');
  if (Math.abs(quotient - 1) < CELL_TOLERANCE) return undefined;
  const count = Math.round(numberIn(unit, 'V') / row.nominal);
  const fits = count > 0 && Math.abs(numberIn(unit, 'V') / (count * row.nominal) - 1) < CELL_TOLERANCE;
  return {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'cells'),
    headline: `A unit of ${bank.name} states ${displayValue(unit)}, but its cells make ${displayValue(expected)}`,
    why: `${displayValue(cells)} ${numberIn(cells, '') === 1 ? 'cell' : 'cells'} of ${row.title}`,
    use: NO_LIMIT,
    numbers: { voltage: unit, byCells: expected },
    fixes: [
      ...(fits
        ? [propose(`Set cells of ${bank.name} to ${count}`, [setProperty(bank, 'cells', String(count))], true)]
        : []),
      propose(
        `Set voltage of ${bank.name} to ${displayValue(expected)}`,
        [setProperty(bank, 'voltage', displayValue(expected))],
        !fits,
      ),
    ],
  };
}

export const bankVoltage = defineCheck({
  id: 'bank-voltage',
  group: 'storage',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The series count of a bank does not make the voltage that the things on its bus work at.',
    guards: 'Inverters that do not start or are destroyed, chargers that never reach, or overcharge, the bank.',
    how: 'Nominal unit voltage times the series count is held against the voltage windows of inverters and converters, the voltage of DC loads (15 % either way), the output range and absorption set point of chargers (which lie 0.95 to 1.35 times above nominal for every usual chemistry) and other banks on the same bus; the highest charge voltage against the top of inverter windows; the unit’s own voltage against its cells and chemistry, or, where `cells` is not stated, against any whole number of them (a warning).',
    fix: 'Change the series count, or the equipment that was made for another voltage.',
    sources: [
      { standard: 'cell voltages by chemistry', provenance: 'from memory' },
      { standard: 'common practice, no source', provenance: 'common practice, no source' },
    ],
    failing: `design Hut {
  battery Bank : Agm12V200Ah { series: 2 }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..62 V }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  battery Bank : Agm12V200Ah { series: 4 }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..62 V }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isBank(instance)) yield* judgeBank(instance, context);
  },
});
