import { type Derivation, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { type Leaf, worked } from '../../equipment/formula/index.js';
import { CHARGE_POLARISATION, DISCHARGE_POLARISATION, LEAD_FACTS } from '../../equipment/lead-voltage.js';
import { leadVoltage as constantsOf, openCircuitCurve, openCircuitVoltage } from '../../reference/energy/index.js';
import { defaults, defineFunction, needs, word } from '../registry.js';

/** °C of the published curves. */
const CURVES_AT = 25;
const PUBLISHED = 'curve of a vented 12 V battery at 25 °C, read off a published graph';

export const leadVoltage = defineFunction({
  name: 'leadVoltage',
  group: 'storage',
  summary: 'Voltage of a lead-acid bank while a current flows into it or out of it.',
  parameters: {
    flow: word(['charge', 'discharge'] as const, 'which way the current flows'),
    charge: needs('ratio', '', 'state of charge', { minimum: 0, maximum: 1 }),
    current: needs('current', 'A', 'current of the bank', { minimum: 0 }),
    capacity: needs('charge', 'Ah', 'rated capacity of the bank', { minimum: 0, aboveMinimum: true }),
    chemistry: word(['flooded', 'agm', 'gel'] as const, 'lead-acid chemistry'),
    cells: defaults('ratio', '', 1, 'cells in series', { minimum: 1, maximum: 1000 }),
    resistance: defaults('resistance', 'mohm', 0, 'internal resistance of the bank', { minimum: 0 }),
    temperature: defaults('temperature', 'degC', CURVES_AT, 'temperature of the cells', { minimum: -20, maximum: 50 }),
  },
  result: 'voltage in V; `.polarisation` is the resistance beside the internal one',
  worst: 'low',
  validity:
    'Within 0.08 V a cell of published curves of vented cells at 25 °C: discharged in 100 to 3 hours, charged in 40 to 5 hours below 2.40 V a cell. At 0 % itself cells collapse. Valve-regulated cells and other temperatures: no published curves were found.',
  sources: [
    'Shepherd, J. Electrochemical Society 112 (1965) 657-664; constants fitted to published curves of vented cells',
    'Copetti, Lorenzo and Chenlo, Progress in Photovoltaics 1 (1993) 283-292 (temperature)',
  ],
  examples: [
    {
      call: 'leadVoltage(flow: discharge, charge: 50 %, current: 10 A, capacity: 100 Ah, chemistry: flooded, cells: 6, resistance: 5 mohm)',
      gives: '12.0 V',
      tolerance: 0.04,
      source: PUBLISHED,
    },
    {
      call: 'leadVoltage(flow: discharge, charge: 20 %, current: 20 A, capacity: 100 Ah, chemistry: flooded, cells: 6, resistance: 5 mohm)',
      gives: '10.9 V',
      tolerance: 0.04,
      source: PUBLISHED,
    },
    {
      call: 'leadVoltage(flow: charge, charge: 68 %, current: 5 A, capacity: 100 Ah, chemistry: flooded, cells: 6, resistance: 5 mohm)',
      gives: '13.2 V',
      tolerance: 0.04,
      source: `${PUBLISHED}, 70 % of the ampere-hours put in`,
    },
    {
      call: 'leadVoltage(flow: charge, charge: 50 %, current: 10 A, capacity: 100 Ah, chemistry: flooded, cells: 6)',
      gives: '12.829 V',
      source: 'hand calculation: 12.24 V + 6·0.03 V + 10 A·6·0.36 V/100 A·1.06/0.56',
    },
  ],
  compute: ({ flow, charge, current, capacity, chemistry, cells, resistance, temperature }) => {
    const row = constantsOf(chemistry);
    const curve = openCircuitCurve(chemistry);
    const share = numberIn(charge, '');
    const perCell = openCircuitVoltage(chemistry, share);
    if (!row || !curve || perCell === undefined)
      return refused(`there are no figures for ${chemistry} at this state of charge`, 'charge');
    const count = numberIn(cells, '');
    const hour = derive('current that would empty it in an hour', numberIn(capacity, 'Ah'), 'A', {
      symbol: 'I_1',
      formula: 'C/1 h',
      inputs: [capacity],
    });
    const warmer = derive('cells above 25 °C', numberIn(temperature, 'degC') - CURVES_AT, 'K', {
      symbol: 'ΔT',
      inputs: [temperature],
    });
    const constant = (name: string, value: number, unit: string, symbol: string): Derivation =>
      fromTable(name, value, unit, row.source, { symbol });
    const facts = new Map<Leaf, Derivation>([
      [LEAD_FACTS.soc, charge],
      [LEAD_FACTS.hourCurrent, hour],
      [LEAD_FACTS.cells, cells],
      [LEAD_FACTS.warmer, warmer],
      [LEAD_FACTS.dischargeVoltage, constant('K on discharge', row.dischargeVoltage, 'V', 'K_d')],
      [LEAD_FACTS.dischargeRoom, constant('Q on discharge', row.dischargeRoom, '', 'q_d')],
      [LEAD_FACTS.chargeVoltage, constant('K on charge', row.chargeVoltage, 'V', 'K_c')],
      [LEAD_FACTS.chargeRoom, constant('Q on charge', row.chargeRoom, '', 'q_c')],
      [LEAD_FACTS.endVoltage, constant('K of the end', row.endVoltage, 'V', 'K_e')],
      [LEAD_FACTS.endRoom, constant('Q of the end', row.endRoom, '', 'q_e')],
      [LEAD_FACTS.dischargeCooling, constant('fall with warmth on discharge', row.dischargeCooling, '', 'a_d')],
      [LEAD_FACTS.chargeCooling, constant('fall with warmth on charge', row.chargeCooling, '', 'a_c')],
    ]);
    const isCharge = flow === 'charge';
    const found = worked(
      isCharge ? CHARGE_POLARISATION : DISCHARGE_POLARISATION,
      'the bank',
      (leaf) => facts.get(leaf),
      (leaf) => leaf.key,
    );
    if (found.kind !== 'known') return found;
    const amperes = numberIn(current, 'A');
    const rest = fromTable('rest voltage', perCell * count, 'V', curve.source, {
      symbol: 'U_0',
      inputs: [charge, cells],
    });
    const offset = constant('what a charge needs beyond that', row.chargeOffset * count, 'V', 'ΔU');
    const ohms = numberIn(found.derivation, 'ohm') + numberIn(resistance, 'ohm');
    // The offset is there once a charge is above its knee, and grows up to it.
    const above = Math.min(1, amperes / (row.knee * numberIn(capacity, 'Ah')));
    const volts = isCharge
      ? numberIn(rest, 'V') + above * numberIn(offset, 'V') + ohms * amperes
      : numberIn(rest, 'V') - ohms * amperes;
    return known(
      derive('voltage under current', volts, 'V', {
        symbol: 'U',
        formula: isCharge ? 'U_0 + ΔU + (R + R_pol)·I' : 'U_0 − (R + R_pol)·I',
        inputs: [rest, ...(isCharge ? [offset] : []), resistance, found.derivation, current],
        parts: { polarisation: found.derivation },
      }),
    );
  },
});
