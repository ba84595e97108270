import { type Derivation, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { DIMENSIONS } from '../../quantity/index.js';
import { COLDEST_MODULE_TEMPERATURE, coldModuleFactor, solarModel, solarSource } from '../../reference/energy/index.js';
import { defineFunction, may, needs } from '../registry.js';

const [TEST_AIR, TEST_IRRADIANCE] = solarModel('nominal-operating-test') as [number, number];
const STANDARD_TEST = solarModel('standard-test-temperature')[0]!;

export const cellTemperature = defineFunction({
  name: 'cellTemperature',
  group: 'sun',
  summary: 'Temperature of a photovoltaic cell in the sun, from its nominal operating cell temperature.',
  parameters: {
    ambient: needs('temperature', 'degC', 'air temperature', { minimum: -60, maximum: 60 }),
    irradiance: needs('irradiance', 'W/m2', 'radiation on the module', { minimum: 0, maximum: 1500 }),
    noct: needs('temperature', 'degC', 'nominal operating cell temperature of the data sheet', {
      minimum: 20,
      maximum: 80,
    }),
  },
  result: 'temperature in degC; `.rise` above the air',
  worst: 'high',
  validity: 'Open rack with wind of about 1 m/s; on a roof close to the surface cells run 5 to 15 K hotter.',
  sources: ['definition of NOCT (IEC 61215): 800 W/m2, air at 20 °C, wind of 1 m/s'],
  examples: [
    {
      call: 'cellTemperature(ambient: 30 degC, irradiance: 1000 W/m2, noct: 47 degC)',
      gives: '64 degC',
      tolerance: 5e-3,
      source: 'Masters, Renewable and Efficient Electric Power Systems, from memory: 63.75 rounded to 64 °C',
    },
    {
      call: 'cellTemperature(ambient: 20 degC, irradiance: 800 W/m2, noct: 45 degC)',
      gives: '45 degC',
      source: 'definition of NOCT: at the test conditions the cell has that temperature',
    },
  ],
  compute: ({ ambient, irradiance, noct }) => {
    const source = solarSource('nominal-operating-test');
    const testAir = fromTable('air temperature of the test', TEST_AIR, 'degC', source);
    const testIrradiance = fromTable('irradiance of the test', TEST_IRRADIANCE, 'W/m2', source);
    const warmer = (numberIn(noct, 'degC') - TEST_AIR) * (numberIn(irradiance, 'W/m2') / TEST_IRRADIANCE);
    const rise = derive('rise above the air', warmer, 'K', {
      symbol: 'ΔT',
      formula: '(T_NOCT − 20 °C)·G/(800 W/m²)',
      inputs: [noct, testAir, irradiance, testIrradiance],
      source,
    });
    return known(
      derive('cell temperature', numberIn(ambient, 'degC') + warmer, 'degC', {
        symbol: 'T_c',
        formula: 'T_a + ΔT',
        inputs: [ambient, rise],
        source,
        parts: { rise },
      }),
    );
  },
});

/** Factor on the open-circuit voltage from a coefficient in 1/K, or in V/K of one module. */
function coefficientFactor(voltage: Derivation, coefficient: Derivation, temperature: Derivation): Derivation {
  const absolute =
    typeof coefficient.value === 'object' && coefficient.value.dimension === DIMENSIONS.voltagePerTemperature;
  const perKelvin = absolute
    ? numberIn(coefficient, 'V/K') / numberIn(voltage, 'V')
    : numberIn(coefficient, '%/K') / 100;
  const colder = numberIn(temperature, 'degC') - STANDARD_TEST;
  return derive('temperature factor', 1 + perKelvin * colder, '1', {
    symbol: 'k_T',
    formula: absolute ? '1 + β·(T − 25 °C)/U_oc' : '1 + β·(T − 25 °C)',
    inputs: absolute ? [coefficient, temperature, voltage] : [coefficient, temperature],
    source: { standard: 'NEC', table: '690.7(A)', provenance: 'published' },
  });
}

export const coldVoltage = defineFunction({
  name: 'coldVoltage',
  group: 'sun',
  summary: 'Open-circuit voltage of a string of modules at the lowest temperature.',
  parameters: {
    voltage: needs('voltage', 'V', 'open-circuit voltage of one module at standard test conditions', { minimum: 0 }),
    series: needs('ratio', '', 'modules in series', { minimum: 1, maximum: 1000 }),
    coefficient: may(
      ['ratioPerTemperature', 'voltagePerTemperature'],
      '%/K',
      'temperature coefficient of the open-circuit voltage, %/K or mV/K of one module; without it the NEC table',
      { minimum: -1, maximum: 0 },
    ),
    temperature: needs('temperature', 'degC', 'lowest temperature expected', { minimum: -60, maximum: 90 }),
  },
  result: 'voltage in V; `.factor` on the voltage at 25 °C',
  worst: 'high',
  validity:
    'By coefficient −60 to 90 °C; by the table crystalline silicon down to −40 °C, and the colder band between two bands.',
  sources: ['NEC 690.7(A): by the maker’s coefficient, else Table 690.7(A) [table from memory]'],
  examples: [
    {
      call: 'coldVoltage(voltage: 49.5 V, series: 1, coefficient: -0.28 %/K, temperature: -5 degC)',
      gives: '53.66 V',
      source: 'tutorial page on module strings: 49.5 V at −5 °C',
    },
    {
      call: 'coldVoltage(voltage: 49.5 V, series: 18, coefficient: -0.28 %/K, temperature: -5 degC)',
      gives: '965.8 V',
      source: 'the same page: 18 modules stay below 1000 V',
    },
    {
      call: 'coldVoltage(voltage: 40 V, series: 3, temperature: -10 degC)',
      gives: '136.8 V',
      source: 'NEC Table 690.7(A), from memory: 1.14 from −6 to −10 °C; product by hand',
    },
  ],
  compute: ({ voltage, series, coefficient, temperature }) => {
    if (!Number.isInteger(numberIn(series, '')))
      return refused('`series` of coldVoltage must be a whole number', 'series');
    const factor = coefficient ? coefficientFactor(voltage, coefficient, temperature) : tableFactor(temperature);
    if (!factor)
      return refused(
        `NEC Table 690.7(A) ends at ${COLDEST_MODULE_TEMPERATURE} °C: coldVoltage needs \`coefficient\` below that`,
        'temperature',
      );
    const value = numberIn(voltage, 'V') * numberIn(series, '') * Math.max(0, numberIn(factor, ''));
    return known(
      derive('cold string voltage', value, 'V', {
        symbol: 'U_max',
        formula: 'U_oc·n·k_T',
        inputs: [voltage, series, factor],
        ...(factor.source ? { source: factor.source } : {}),
        governing: [coefficient ? { kind: 'ownCoefficient' } : { kind: 'clause', clause: 'coldFactor' }],
        parts: { factor },
      }),
    );
  },
});

function tableFactor(temperature: Derivation): Derivation | undefined {
  const row = coldModuleFactor(numberIn(temperature, 'degC'));
  return row && fromTable('temperature factor', row.factor, '1', row.source, { symbol: 'k_T', inputs: [temperature] });
}
