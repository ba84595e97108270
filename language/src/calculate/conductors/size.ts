import { type Result, derive, deriveQuantity, fromTable, known, numberIn } from '../../derivation/index.js';
import { formatNumber, inUnit, quantity, sizeText } from '../../quantity/index.js';
import { necProperties, rowAtSize, sourceOf } from '../../reference/index.js';
import { defineFunction } from '../registry.js';
import { GROUP, areaIn, sizeParameter, named } from './common.js';

const INCH = 25.4;
const GAUGE_SOURCE = 'ASTM B258 (wire gauge: 0.005 in · 92^((36 − n)/39))';

export const areaOf = defineFunction({
  name: 'areaOf',
  group: GROUP,
  summary: 'Area of metal of a conductor size.',
  parameters: { size: sizeParameter },
  result: 'area, mm2',
  worst: 'low',
  validity:
    'Wire gauge, circular mils and mm² are areas of metal. Vehicle gauges have 6 to 12 % less than the wire gauge of their number.',
  sources: [GAUGE_SOURCE],
  examples: [
    {
      call: 'areaOf(size: 4/0 AWG)',
      gives: '211.6 kcmil',
      source: 'NEC Chapter 9 Table 8, 4/0 AWG, 211 600 circular mils',
    },
    {
      call: 'areaOf(size: 12 AWG)',
      gives: '6.53 kcmil',
      source: 'NEC Chapter 9 Table 8, 12 AWG, 6530 circular mils',
    },
  ],
  compute: ({ size }): Result => {
    const area = areaIn(size);
    const kcmil = inUnit(quantity(area, 'mm2'), 'kcmil');
    return known(
      // The size is known by name; what is asked for is the number.
      deriveQuantity('area of metal', quantity(area, 'mm2'), {
        symbol: 'A',
        inputs: [size],
        notes: [`${sizeText(area)} is ${formatNumber(area)} mm2 or ${formatNumber(kcmil)} kcmil`],
      }),
    );
  },
});

export const diameterOf = defineFunction({
  name: 'diameterOf',
  group: GROUP,
  summary: 'Diameter of a conductor as one solid wire; of the stranded one where the table lists it.',
  parameters: { size: sizeParameter },
  result: 'diameter, mm; .stranded',
  worst: 'high',
  validity:
    'Bare metal without insulation. Stranded conductors are some 12 to 16 % thicker than solid ones; fine-stranded more.',
  sources: [GAUGE_SOURCE, 'NEC Chapter 9 Table 8 (stranded)'],
  examples: [
    { call: 'diameterOf(size: 4/0 AWG)', gives: '11.684 mm', source: 'ASTM B258: 4/0 AWG is 0.4600 in' },
    { call: 'diameterOf(size: 10 AWG)', gives: '0.1019 in', source: 'ASTM B258: 10 AWG is 0.1019 in' },
  ],
  compute: ({ size }): Result => {
    const row = rowAtSize(necProperties, areaIn(size));
    const overall = row.ok ? row.row.overallDiameter : undefined;
    const stranded =
      overall === undefined
        ? undefined
        : fromTable('diameter, stranded', overall * INCH, 'mm', sourceOf(necProperties), {
            inputs: [size],
            notes: [`${formatNumber(overall)} in`],
          });
    return known(
      derive('diameter of the metal', 2 * Math.sqrt(numberIn(size, 'mm2') / Math.PI), 'mm', {
        symbol: 'd',
        formula: '2 · √(A / π)',
        inputs: [named(size, 'A')],
        parts: stranded ? { stranded } : {},
      }),
    );
  },
});
