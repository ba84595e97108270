import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { lowEnd } from '../../quantities/ends.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { namesOf } from '../storage/shared.js';
import { PRACTICE } from './shared.js';
import { monthly, waterOf } from './turbines.js';

function* judgeTurbine(turbine: Instance, context: DesignContext): Generator<Verdict> {
  const water = waterOf(turbine)!;
  const madeFor = context.maybe(turbine, water.madeFor);
  const least = context.maybe(turbine, water.least);
  const asked = least ?? madeFor;
  // A turbine that states neither takes what there is.
  if (!asked) return;
  const found = monthly(water.available, turbine, 'least', context);
  if (!found.ok) return yield notChecked(turbine, found.result);
  const wanted = lowEnd(asked);
  const flow = (each: Derivation): number => numberIn(each, 'L/s');
  const short = found.months.filter(({ derivation }) => flow(derivation) < flow(wanted) * (1 - 1e-9));
  const poorest = found.months.reduce((so, next) => (flow(next.derivation) < flow(so.derivation) ? next : so));
  const numbers = { available: poorest.derivation, wanted };
  const use = atLeast(poorest.derivation, wanted);
  if (short.length === 0) return yield passed(turbine, use, numbers);
  const inLitres = (each: Derivation): string => `${formatNumber(flow(each), 3)} L/s`;
  const [free, takes] = [inLitres(poorest.derivation), inLitres(wanted)];
  const when = short.length === found.months.length ? 'in every month' : `in ${namesOf(short)}`;
  const what = least ? 'needs at least' : 'needs';
  yield {
    verdict: 'failed',
    subject: turbine.path,
    place: placeOf(turbine, least ? water.least : water.madeFor),
    headline: `${turbine.name} ${what} ${takes}; the stream gives ${free}${short.length === found.months.length ? '' : ` in ${poorest.name}`}`,
    why: `${when} less than that is left beyond what must stay in it`,
    consequence: 'it draws air or runs the stream dry, and stands still while the flow is kept',
    advice: `Use smaller nozzles, or ${least ? 'fewer at a time' : 'state `leastFlow` if they can be closed down so far'}.`,
    use,
    numbers,
  };
}

export const streamFlow = defineCheck({
  id: 'stream-flow',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A turbine draws more than the stream gives beyond what must stay in it.',
    guards: 'Streams that run dry in late summer, permits that are broken, and turbines that draw air or stand still.',
    how: 'The flow by month (`flowByMonth`, else `flow`) less `ecologicalFlow`, against the least that the turbine runs with (`leastFlow`), or what its nozzles pass (`designFlow`) where they cannot be closed down. Every month below is a finding. The power is worked out with what is left all the same. What must stay in a stream is the word of the authority, not of this check.',
    fix: 'Draw less water in those months, or use a smaller turbine.',
    sources: [PRACTICE],
    failing: `design Mill {
  hydro Turbine { head: 40 m   flow: 7 L/s   ecologicalFlow: 2 L/s   designFlow: 6 L/s
    penstockLength: 200 m   penstockDiameter: 90 mm   penstock: plastic   turbineEfficiency: 65 %   generatorEfficiency: 80 %
    rated: 1500 W   voltage: 56 V   currentLimit: 30 A   heldBy: deflector }
  battery Bank : Lfp48V280Ah
  run Feed: Turbine -> Bank { size: 25 mm2   length: 20 m }
}
`,
    passing: `design Mill {
  hydro Turbine { head: 40 m   flow: 7 L/s   ecologicalFlow: 2 L/s   designFlow: 6 L/s   leastFlow: 2 L/s
    penstockLength: 200 m   penstockDiameter: 90 mm   penstock: plastic   turbineEfficiency: 65 %   generatorEfficiency: 80 %
    rated: 1500 W   voltage: 56 V   currentLimit: 30 A   heldBy: deflector }
  battery Bank : Lfp48V280Ah
  run Feed: Turbine -> Bank { size: 25 mm2   length: 20 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (waterOf(instance)) yield* judgeTurbine(instance, context);
  },
});
