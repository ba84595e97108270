import { type Result, derive, known, numberIn } from '../../derivation/index.js';
import { defaults, defineFunction, needs } from '../registry.js';
import { GROUP, wholeNumber, named } from './common.js';

const count = (doc: string) => defaults('ratio', '', 1, doc, { minimum: 1, maximum: 10000, defaultSource: 'one' });

export const faultCurrent = defineFunction({
  name: 'faultCurrent',
  group: GROUP,
  summary: 'Prospective short-circuit current of a battery bank through its cable.',
  parameters: {
    voltage: needs('voltage', 'V', 'open-circuit voltage of the bank', { minimum: 0 }),
    resistance: needs('resistance', 'ohm', 'internal resistance of one string', { minimum: 0, aboveMinimum: true }),
    strings: count('strings in parallel'),
    cable: defaults('resistance', 'ohm', 0, 'resistance of the cable out and back to the fault', {
      minimum: 0,
      defaultSource: 'fault at the terminals',
    }),
  },
  result: 'current, A',
  worst: 'high',
  validity:
    'Settled current of like strings, E/(R/n + Rcable); inductance and the reaction of the cells in the first milliseconds are left out. A BMS that opens does not lower it. Cold cable for the largest, hot cable for the smallest current.',
  sources: ['IEEE 946 (method, from a public copy of its principle)'],
  examples: [
    {
      call: 'faultCurrent(voltage: 240 V, resistance: 55 mohm)',
      gives: '4.37 kA',
      tolerance: 0.005,
      source: 'handbook on direct-current distribution: 110 cells of 0.5 mohm, printed to 10 A',
    },
    {
      call: 'faultCurrent(voltage: 240 V, resistance: 55 mohm, strings: 4)',
      gives: '17.5 kA',
      tolerance: 0.005,
      source: 'handbook on direct-current distribution: four of them in parallel, printed to 100 A',
    },
    {
      call: 'faultCurrent(voltage: 12.8 V, resistance: 2 mohm, cable: 0.4 mohm)',
      gives: '5333.3 A',
      source: 'hand calculation: 12.8 V / 2.4 mohm',
    },
  ],
  compute: ({ voltage, resistance, strings, cable }): Result => {
    const number = wholeNumber(strings);
    if (!number.ok) return number.result;
    const loop = numberIn(resistance, 'ohm') / number.value + numberIn(cable, 'ohm');
    return known(
      derive('prospective short-circuit current', numberIn(voltage, 'V') / loop, 'A', {
        symbol: 'Isc',
        formula: 'E / (R / n + Rcable)',
        inputs: [named(voltage, 'E'), named(resistance, 'R'), named(strings, 'n'), named(cable, 'Rcable')],
      }),
    );
  },
});

export const bankResistance = defineFunction({
  name: 'bankResistance',
  group: GROUP,
  summary: 'Internal resistance of a bank from its cells and jumpers.',
  parameters: {
    cell: needs('resistance', 'ohm', 'internal resistance of one cell', { minimum: 0 }),
    series: count('cells in series'),
    parallel: count('strings in parallel'),
    jumpers: defaults('resistance', 'ohm', 0, 'resistance of all jumpers of one string together', {
      minimum: 0,
      defaultSource: 'left out',
    }),
  },
  result: 'resistance, ohm',
  worst: 'low',
  validity: 'Like cells and strings; contacts count as jumpers. Charged and warm cells have the lowest resistance.',
  sources: ['series and parallel resistances'],
  examples: [
    {
      call: 'bankResistance(cell: 0.75 mohm, series: 4, jumpers: 0.75 mohm)',
      gives: '3.75 mohm',
      source: 'overland vehicle forum: four cells and three jumpers of 0.25 mohm',
    },
    {
      call: 'bankResistance(cell: 0.5 mohm, series: 110, parallel: 4)',
      gives: '13.75 mohm',
      source: 'hand calculation: 110 · 0.5 mohm / 4',
    },
  ],
  compute: ({ cell, series, parallel, jumpers }): Result => {
    const inSeries = wholeNumber(series);
    if (!inSeries.ok) return inSeries.result;
    const strings = wholeNumber(parallel);
    if (!strings.ok) return strings.result;
    const string = inSeries.value * numberIn(cell, 'ohm') + numberIn(jumpers, 'ohm');
    return known(
      derive('internal resistance of the bank', string / strings.value, 'ohm', {
        symbol: 'R',
        formula: '(ns · Rcell + Rjumpers) / np',
        inputs: [named(cell, 'Rcell'), named(series, 'ns'), named(parallel, 'np'), named(jumpers, 'Rjumpers')],
      }),
    );
  },
});
