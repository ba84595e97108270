import { derive, deriveFact, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { formatNumber } from '../../quantity/index.js';
import { CHEMISTRY_NAMES, type Point, cycleLifePoints, onCurve } from '../../reference/energy/index.js';
import { defineFunction, needs, word } from '../registry.js';

/** Cycles between two depths follow a straight line in log-log, the shape makers' curves have. Common practice, no source. */
const onLogCurve = (points: readonly Point[], depth: number): number | undefined => {
  const log = onCurve(
    points.map(([x, y]): Point => [Math.log(x), Math.log(y)]),
    Math.log(depth),
  );
  return log === undefined ? undefined : Math.exp(log);
};

export const lifeAt = defineFunction({
  name: 'lifeAt',
  group: 'storage',
  summary: 'Cycles a battery gives at a depth of discharge until 80 % of its capacity is left.',
  parameters: {
    depth: needs('ratio', '', 'depth of discharge of each cycle', { minimum: 0, maximum: 1, aboveMinimum: true }),
    chemistry: word(CHEMISTRY_NAMES, 'cell chemistry'),
  },
  result: 'cycles (a plain number), the low figure of the span; `.high` is the high figure',
  worst: 'low',
  validity:
    'Only between the depths for which figures exist; 25 °C, usual rates. Figures are from memory and scatter by two.',
  sources: ['cycle-life figures by chemistry [from memory]'],
  examples: [
    {
      call: 'lifeAt(depth: 80 %, chemistry: lfp)',
      gives: '4000',
      source: 'table row, from memory: 4000 to 6000 cycles',
    },
    { call: 'lifeAt(depth: 50 %, chemistry: agm)', gives: '600', source: 'table row, from memory: 600 to 1000 cycles' },
    {
      call: 'lifeAt(depth: 40 %, chemistry: flooded)',
      gives: '1500',
      source: 'hand calculation: 2000·(40/30)^−1, the exponent being ln(1200/2000)/ln(50/30) = −1.000',
      tolerance: 2e-3,
    },
  ],
  compute: ({ depth, chemistry }) => {
    const life = cycleLifePoints(chemistry);
    if (!life) return refused(`lifeAt has no figures for ${chemistry}`, 'chemistry');
    const at = numberIn(depth, '');
    const low = onLogCurve(
      life.points.map((point): Point => [point.depth, point.from]),
      at,
    );
    const high = onLogCurve(
      life.points.map((point): Point => [point.depth, point.to]),
      at,
    );
    if (low === undefined || high === undefined) {
      const depths = life.points.map((point) => `${formatNumber(point.depth * 100)} %`);
      return refused(`lifeAt has figures for ${chemistry} at ${depths.join(', ')} only, and between them`, 'depth');
    }
    const inputs = [depth, deriveFact('chemistry', chemistry, { origin: 'stated' })];
    return known(
      fromTable('cycle life', low, '1', life.source, {
        symbol: 'N',
        inputs,
        formula: 'straight line in log-log between the rows',
        governing: [{ kind: 'lowFigure' }],
        parts: {
          high: derive('cycle life, high figure', high, '1', { inputs, source: life.source, origin: 'table' }),
        },
      }),
    );
  },
});
