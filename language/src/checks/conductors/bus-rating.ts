import { defineCheck } from '../define.js';
import { judgeRating } from './gear-rating.js';
import { PUBLISHED } from './shared.js';
import { isJoint } from '../../model/roles.js';

export const busRating = defineCheck({
  id: 'bus-rating',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A busbar or panel is rated below the current that meets in it.',
    guards: 'Busbars and panels that run hot behind their cover, where no device sees the sum.',
    how: 'In every source state the currents that meet are added up: all that draws at its design current, and all that charges at its limit; a bank absorbs or gives the difference, so the larger of the two sums goes through the bar. Banks on several sides and loops are solved as a network. On the AC side it is the design current of the run that feeds the panel, on its most loaded leg. The fix is the next standard rating.',
    fix: 'Use a larger busbar, or join sources and loads so that less meets in it.',
    sources: [PUBLISHED('Kirchhoff’s current law'), PUBLISHED('NEC', '240.6(A)', '2017-2023')],
    failing: `design Barn {
  battery Bank : Lfp48V280Ah
  bus Bar { rating: 100 A   dcVoltage: 80 V }
  load Mill { power: 4 kW   supply: dc }
  load Saw { power: 2 kW   supply: dc }
  run Main: Bank -> Bar { size: 2/0 AWG   length: 1 m }
  run ToMill: Bar -> Mill { size: 4 AWG   length: 3 m }
  run ToSaw: Bar -> Saw { size: 6 AWG   length: 3 m }
}
`,
    passing: `design Barn {
  battery Bank : Lfp48V280Ah
  bus Bar { rating: 200 A   dcVoltage: 80 V }
  load Mill { power: 4 kW   supply: dc }
  load Saw { power: 2 kW   supply: dc }
  run Main: Bank -> Bar { size: 2/0 AWG   length: 1 m }
  run ToMill: Bar -> Mill { size: 4 AWG   length: 3 m }
  run ToSaw: Bar -> Saw { size: 6 AWG   length: 3 m }
}
`,
  },
  judge: function* (context) {
    for (const thing of context.system.instances) if (isJoint(thing)) yield* judgeRating(thing, 'meet in', context);
  },
});
