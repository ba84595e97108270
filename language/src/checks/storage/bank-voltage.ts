import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { cellVoltage } from '../../quantities/bank.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';

/** A charge set point this far from nominal belongs to another series count: lithium charges at 1.08 to 1.17, lead at 1.13 to 1.35 times nominal. */
const SET_POINT_RATIO = { from: 0.95, to: 1.35 };

/** What another thing on the bus says about the voltage the bank must have: a window for its nominal voltage, in V. */
interface Demand {
  readonly of: Instance;
  readonly property: string;
  readonly stated: Derivation;
  readonly from: number;
  readonly to: number;
  readonly text: string;
}

function demandsOn(bank: Instance, context: DesignContext): Demand[] {
  const reached = [...new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]))];
  const demands: Demand[] = [];
  for (const { instance, terminal } of reached) {
    if (terminal.name !== 'dc' || instance === bank) continue;
    const window = instance.kind === 'inverter' ? context.maybe(instance, 'dcVoltage') : undefined;
    if (window && typeof window.value === 'object')
      demands.push({
        of: instance,
        property: 'dcVoltage',
        stated: window,
        from: window.value.low,
        to: window.value.high,
        text: `runs from ${displayValue(window)}`,
      });
    const absorb =
      instance.kind === 'charger' || instance.kind === 'chargeController' || instance.kind === 'inverter'
        ? context.maybe(instance, 'absorb')
        : undefined;
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
    const output = instance.kind === 'charger' ? context.maybe(instance, 'output') : undefined;
    if (output && typeof output.value === 'object')
      demands.push({
        of: instance,
        property: 'output',
        stated: output,
        from: output.value.low * 0.9,
        to: output.value.high,
        text: `can be set to ${displayValue(output)}`,
      });
    if (instance.kind === 'battery') {
      const other = context.quantity(instance, 'bankVoltage');
      if (other.kind === 'known')
        demands.push({
          of: instance,
          property: 'voltage',
          stated: other.derivation,
          from: numberIn(other.derivation, 'V') * 0.97,
          to: numberIn(other.derivation, 'V') * 1.03,
          text: `makes ${displayValue(other.derivation)}`,
        });
    }
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

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const nominal = context.quantity(bank, 'bankVoltage');
  if (nominal.kind !== 'known') return yield notChecked(bank, nominal);
  yield* judgeUnit(bank, context);
  const volts = numberIn(nominal.derivation, 'V');
  const demands = demandsOn(bank, context);
  const broken = demands.find(({ from, to }) => volts < from * (1 - 1e-9) || volts > to * (1 + 1e-9));
  if (!broken) return yield passed(bank, { voltage: nominal.derivation });
  const unit = context.maybe(bank, 'voltage');
  const count = unit && seriesFor(numberIn(unit, 'V'), demands);
  const fixes: Fix[] = count
    ? [propose(`Put ${count} in series`, [setProperty(bank, 'series', String(count))], true)]
    : [];
  const how = nominal.derivation.inputs.map((input) => displayValue(input)).join(' · ');
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'series'),
    message: `${bank.name} makes ${displayValue(nominal.derivation)} (${how} in series), but ${broken.of.name} ${broken.text}.${count ? ` ${count} in series make ${displayValue({ ...nominal.derivation, value: { ...(unit.value as object), value: numberIn(unit, 'V') * count, low: numberIn(unit, 'V') * count, high: numberIn(unit, 'V') * count } as Derivation['value'] })}.` : ` No series count of ${unit ? displayValue(unit) : 'these'} units suits everything on this bus.`}`,
    numbers: { voltage: nominal.derivation, stated: broken.stated },
    related: [{ place: placeOf(broken.of, broken.property), text: `${broken.of.name} ${broken.text}` }],
    fixes,
  };
}

/** Whether the unit's own voltage agrees with its cells and chemistry. */
function* judgeUnit(bank: Instance, context: DesignContext): Generator<Verdict> {
  const cells = context.maybe(bank, 'cells');
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const expected = cellVoltage(bank, context, 'nominal voltage by cells', 'U', 'nominal');
  const nominal = context.quantity(bank, 'bankVoltage');
  if (!cells || !row || expected.kind !== 'known' || nominal.kind !== 'known') return;
  const quotient = numberIn(nominal.derivation, 'V') / numberIn(expected.derivation, 'V');
  if (quotient > 0.92 && quotient < 1.08) return;
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'cells'),
    message: `A unit of ${bank.name} has ${displayValue(cells)} cells of ${row.title}, which make ${displayValue({ ...expected.derivation, name: 'nominal' })} for the bank, but its voltage is given as ${displayValue(nominal.derivation)}. One of the two is wrong.`,
    numbers: { voltage: nominal.derivation, byCells: expected.derivation },
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
    how: 'Nominal unit voltage times the series count is held against the voltage windows of inverters, the output range and absorption set point of chargers (which lie 0.95 to 1.35 times above nominal for every usual chemistry) and other banks on the same bus; the unit’s own voltage against its cells and chemistry.',
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
    for (const instance of context.system.instances)
      if (instance.kind === 'battery') yield* judgeBank(instance, context);
  },
});
