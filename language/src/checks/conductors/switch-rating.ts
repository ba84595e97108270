import { defineCheck } from '../define.js';
import { OF_RELAY, judgeRating } from './gear-rating.js';
import { PUBLISHED } from './shared.js';
import { isShunt, isSwitchgear } from '../../model/roles.js';

export const switchRating = defineCheck({
  id: 'switch-rating',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A switch, transfer gear, shunt or transfer relay is rated below the current that goes through it.',
    guards: 'Contacts that run hot and weld shut: the switch that does not open when it must.',
    how: 'The largest design current of the runs it is in, over all source states; where several runs meet at it, what meets there as for `bus-rating`. An inverter that passes a supply through is held to its `transferRating` by the loads behind it, on the most loaded leg. What the gear can open or close under load is another matter and not judged. The fix is the next standard rating.',
    fix: 'Use gear with a higher rating, or send less through it.',
    sources: [PUBLISHED('Kirchhoff’s current law'), PUBLISHED('NEC', '240.6(A)', '2017-2023')],
    failing: `design Barn {
  battery Bank : Lfp48V280Ah
  switch Main { rating: 60 A   dcVoltage: 80 V }
  load Mill { power: 4 kW   supply: dc }
  run Line: Bank -> Main -> Mill { size: 2/0 AWG   length: 2 m }
}
`,
    passing: `design Barn {
  battery Bank : Lfp48V280Ah
  switch Main { rating: 150 A   dcVoltage: 80 V }
  load Mill { power: 4 kW   supply: dc }
  run Line: Bank -> Main -> Mill { size: 2/0 AWG   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const thing of context.system.instances)
      if (isSwitchgear(thing) || isShunt(thing)) yield* judgeRating(thing, 'go through', context);
    const passing = new Set(context.circuitStates.flatMap(({ circuit }) => [...circuit.passing]));
    for (const inverter of passing) yield* judgeRating(inverter, 'go through the transfer relay of', context, OF_RELAY);
  },
});
