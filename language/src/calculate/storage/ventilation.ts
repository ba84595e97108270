import { type Derivation, derive, fromTable, known, numberIn } from '../../derivation/index.js';
import {
  CELL_TYPES,
  CHARGE_MODES,
  VENTILATION_BASES,
  gassingCurrentOf,
  ventilationOf,
} from '../../reference/energy/index.js';
import { defineFunction, needs, word, wordOr } from '../registry.js';

export const ventilation = defineFunction({
  name: 'ventilation',
  group: 'storage',
  summary: 'Air a battery room needs so that hydrogen stays diluted.',
  parameters: {
    cells: needs('ratio', '', 'cells in series that gas', { minimum: 1, maximum: 10000 }),
    current: needs('current', 'A', 'current that makes gas, see gassingCurrent; with strings in parallel their sum', {
      minimum: 0,
    }),
    basis: wordOr(VENTILATION_BASES, 'iec', 'iec: IEC 62485-2 with safety factor 5; ieee: IEEE 1635, dilution to 1 %'),
  },
  result: 'flow of air in m3/h; `.hydrogen` is the gas, and for iec `.opening` each of inlet and outlet, `.freeVolume`',
  worst: 'high',
  validity:
    'Lead-acid and nickel-cadmium up to 40 °C. Openings hold for natural draught of at least 0.1 m/s. Lithium gives off no hydrogen in normal use.',
  sources: [
    'IEC 62485-2 (EN 50272-2): Q = 0.05·n·I_gas·C_rt·10⁻³',
    'IEEE 1635: 0.000269 ft3/min for each ampere and cell',
  ],
  examples: [
    {
      call: 'ventilation(cells: 24, current: 25 A, basis: ieee).hydrogen',
      gives: '0.161 cfm',
      tolerance: 4e-3,
      source: 'industrial knowledge base, IEEE 484 form: 24 cells, 25 A give 0.161 cfm of hydrogen',
    },
    {
      call: 'ventilation(cells: 24, current: 4 A)',
      gives: '4.8 m3/h',
      source: 'hand calculation by IEC 62485-2: 0.05·24·4 (200 Ah vented cells on boost, 20 mA/Ah)',
    },
    {
      call: 'ventilation(cells: 24, current: 22.5 A).hydrogen',
      gives: '7.9596 ft3/h',
      tolerance: 0.01,
      source: 'industrial battery hydrogen page: 24 cells of 450 Ah, 20 % overcharge in 4 h, with 0.01474 ft3 per Ah',
    },
  ],
  compute: ({ cells, current, basis }) => {
    const rule = ventilationOf(basis);
    const ampereCells = numberIn(cells, '') * numberIn(current, 'A');
    const factor = (name: string, value: number, unit: string) => fromTable(name, value, unit, rule.source);
    const perAmpere = factor('air for each ampere and cell', rule.airPerAmpere, 'm3/h/A');
    const gas = factor('hydrogen for each ampere and cell', rule.hydrogen, 'm3/h/A');
    const air = ampereCells * rule.airPerAmpere;
    const hydrogen = derive('hydrogen', ampereCells * rule.hydrogen, 'm3/h', {
      formula: 'q·n·I',
      inputs: [gas, cells, current],
      source: rule.source,
    });
    const parts: Record<string, Derivation> = { hydrogen };
    const sized = (part: string, name: string, each: number | null, unit: string): void => {
      if (each === null) return;
      const inputs = [perAmpere, cells, current];
      parts[part] = derive(name, air * each, unit, {
        formula: `${each} ${unit} for each m³/h`,
        inputs,
        source: rule.source,
      });
    };
    sized('opening', 'free opening, inlet and outlet each', rule.openingPerAir, 'cm2');
    sized('freeVolume', 'free volume of the room', rule.volumePerAir, 'm3');
    return known(
      derive('air flow', air, 'm3/h', {
        symbol: 'Q',
        formula: basis === 'iec' ? '0.05·n·I' : '100·q·n·I',
        inputs: [perAmpere, cells, current],
        source: rule.source,
        parts,
      }),
    );
  },
});

export const gassingCurrent = defineFunction({
  name: 'gassingCurrent',
  group: 'storage',
  summary: 'Current that makes gas in a battery, by IEC 62485-2.',
  parameters: {
    capacity: needs('charge', 'Ah', 'rated capacity: ten-hour for lead, five-hour for nickel-cadmium', { minimum: 0 }),
    cell: word(CELL_TYPES, 'kind of cell'),
    charge: wordOr(CHARGE_MODES, 'boost', 'float, or boost up to the voltage of the table'),
  },
  result: 'current in A; `.voltage` is the cell voltage up to which it holds',
  worst: 'high',
  validity: 'Up to 40 °C and the cell voltages of the table; above them the charger’s full current counts.',
  sources: ['IEC 62485-2 (EN 50272-2) Table 1'],
  examples: [
    {
      call: 'gassingCurrent(capacity: 200 Ah, cell: vented)',
      gives: '4 A',
      source: 'EN 50272-2 Table 1: vented cells on boost at 2.40 V, 20 mA per Ah',
    },
    {
      call: 'gassingCurrent(capacity: 100 Ah, cell: valveRegulated, charge: float)',
      gives: '0.1 A',
      source: 'EN 50272-2 Table 1: valve-regulated cells on float at 2.27 V, 1 mA per Ah',
    },
  ],
  compute: ({ capacity, cell, charge }) => {
    const row = gassingCurrentOf(cell, charge);
    const perCapacity = fromTable(`gassing current, ${cell} on ${charge}`, row.current, 'mA/Ah', row.source);
    const voltage = fromTable('cell voltage', row.voltage, 'V', row.source);
    return known(
      derive('gassing current', (numberIn(capacity, 'Ah') * row.current) / 1000, 'A', {
        symbol: 'I_gas',
        formula: 'i_gas·C',
        inputs: [perCapacity, capacity],
        source: row.source,
        parts: { voltage },
      }),
    );
  },
});
