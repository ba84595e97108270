import { derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { INVERTER_KINDS, inverterLossOf } from '../../reference/energy/index.js';
import { defineFunction, may, needs, wordOr } from '../registry.js';

const lossBounds = { minimum: 0, maximum: 0.5 };

export const inverterEfficiency = defineFunction({
  name: 'inverterEfficiency',
  group: 'sources',
  summary: 'Efficiency of an inverter at a load, from idle, linear and quadratic loss.',
  parameters: {
    output: needs('power', 'W', 'AC output power', { minimum: 0, aboveMinimum: true }),
    rated: needs('power', 'W', 'rated output power', { minimum: 0, aboveMinimum: true }),
    kind: wordOr(INVERTER_KINDS, 'highFrequency', 'kind of inverter, for loss figures that are not given'),
    idle: may('ratio', '', 'idle power over the rating', lossBounds),
    linear: may('ratio', '', 'loss that grows with the load, over the rating', lossBounds),
    quadratic: may('ratio', '', 'loss that grows with the square of the load, over the rating', lossBounds),
  },
  result: 'ratio; `.input` is the DC power',
  worst: 'low',
  validity: 'Output up to the rating; default coefficients are typical figures from memory.',
  sources: ['Schmidt and Sauer, inverter loss approximation, 1996 [from memory]'],
  examples: [
    {
      call: 'inverterEfficiency(output: 300 W, rated: 3 kW)',
      gives: '0.8783',
      source: 'hand calculation: 0.1/(0.1 + 0.012 + 0.015·0.1 + 0.035·0.01)',
    },
    {
      call: 'inverterEfficiency(output: 60 W, rated: 3 kW)',
      gives: '0.6189',
      source: 'hand calculation: the idle power is a third at 2 % load',
    },
  ],
  compute: ({ output, rated, kind, ...own }) => {
    const load = numberIn(output, 'W') / numberIn(rated, 'W');
    if (load > 1 + 1e-9) return refused('`output` of inverterEfficiency is above the rating', 'output');
    const usual = inverterLossOf(kind);
    const idle = own.idle ?? fromTable('idle loss', usual.idle, '1', usual.source, { symbol: 'a' });
    const linear = own.linear ?? fromTable('linear loss', usual.linear, '1', usual.source, { symbol: 'b' });
    const quadratic = own.quadratic ?? fromTable('quadratic loss', usual.quadratic, '1', usual.source, { symbol: 'c' });
    const lost = numberIn(idle, '') + numberIn(linear, '') * load + numberIn(quadratic, '') * load ** 2;
    const inputs = [output, rated, idle, linear, quadratic];
    const input = derive('DC power', (load + lost) * numberIn(rated, 'W'), 'W', {
      symbol: 'P_dc',
      formula: 'P + S·(a + b·p + c·p²), p = P/S',
      inputs,
      source: usual.source,
    });
    return known(
      derive('inverter efficiency', load / (load + lost), '1', {
        symbol: 'η',
        formula: 'p/(p + a + b·p + c·p²), p = P/S',
        inputs,
        source: usual.source,
        parts: { input },
      }),
    );
  },
});
