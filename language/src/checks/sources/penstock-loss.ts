import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, raise } from '../../quantity/index.js';
import { driveFacts } from '../../quantities/plant/drive.js';
import { lowEnd } from '../../quantities/ends.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, fullest, whyOf } from '../verdicts.js';
import { PRACTICE, roundUp } from './shared.js';
import { largest, monthly, waterOf } from './turbines.js';

/** Share of the gross head from which a larger pipe is worth its price, and velocity from which pipes and bends suffer: common practice, no source. */
const MOST_SHARE = 0.15;
const MOST_VELOCITY = 3;
/** Power of the diameter that the loss falls with, by Hazen and Williams. */
const BY_DIAMETER = 4.8704;

/** Inner diameter at which loss and velocity would do, in whole 5 mm. */
function widerPipe(diameter: Derivation, share: number, velocity: number): Derivation {
  const wider = Math.max(raise(share / MOST_SHARE, 1 / BY_DIAMETER), Math.sqrt(velocity / MOST_VELOCITY), 1);
  return derive('inner diameter that would do', roundUp(numberIn(diameter, 'mm') * wider, 5), 'mm', {
    formula: 'D·max((h/H/0.15)^(1/4.87), √(v/3 m/s))',
    inputs: [diameter],
  });
}

function* judgeTurbine(turbine: Instance, context: DesignContext): Generator<Verdict> {
  const water = waterOf(turbine)!;
  const [losses, velocities] = [water.loss, water.velocity].map((term) => monthly(term, turbine, 'most', context)) as [
    ReturnType<typeof monthly>,
    ReturnType<typeof monthly>,
  ];
  if (!losses.ok) return yield notChecked(turbine, losses.result);
  if (!velocities.ok) return yield notChecked(turbine, velocities.result);
  const head = driveFacts(turbine, 1, context)(water.head);
  const diameter = context.maybe(turbine, water.diameter);
  if (!head || !diameter) return yield notChecked(turbine, { kind: 'missing', missing: [`head of ${turbine.name}`] });
  const { name: month, derivation: loss } = largest(losses.months, 'm');
  const velocity = largest(velocities.months, 'm/s').derivation;
  const gross = lowEnd(head);
  const share = numberIn(loss, 'm') / numberIn(gross, 'm');
  const speed = numberIn(velocity, 'm/s');
  const numbers = { loss, head: gross, velocity };
  const [isLossy, isFast] = [share > MOST_SHARE * (1 + 1e-9), speed > MOST_VELOCITY * (1 + 1e-9)];
  const uses = [
    atMost(
      loss,
      derive('largest loss that is usual', numberIn(gross, 'm') * MOST_SHARE, 'm', {
        formula: `${MOST_SHARE}·H`,
        inputs: [gross],
      }),
    ),
    atMost(velocity, derive('highest velocity that is usual', MOST_VELOCITY, 'm/s')),
  ] as const;
  const use = fullest(...uses);
  if (!isLossy && !isFast) return yield passed(turbine, use, numbers);
  const wider = widerPipe(diameter, share, speed);
  const isSame = losses.months.every((each) => numberIn(each.derivation, 'm') === numberIn(loss, 'm'));
  const percent = formatNumber(share * 100, 3);
  const limits = [
    ...(isLossy ? [`${formatNumber(MOST_SHARE * 100)} % of the head`] : []),
    ...(isFast ? [`${formatNumber(MOST_VELOCITY)} m/s`] : []),
  ].join(' and ');
  yield {
    verdict: 'failed',
    subject: turbine.path,
    place: placeOf(turbine, water.diameter),
    headline: `The penstock of ${turbine.name} loses ${percent} % of its head at ${displayValue(velocity, 3)}; at most ${limits} usual`,
    ...whyOf(
      `${displayValue(loss, 3)} of ${displayValue(gross, 3)} gross head${isSame ? '' : ` in ${month}`}`,
      share > 1 / 2.852 && 'beyond 35 % more water gives less power',
    ),
    rule: 'common practice, no source',
    advice: 'Use a wider pipe, or less water.',
    use,
    numbers: { ...numbers, wider },
    fixes: [
      propose(
        `Change the inner diameter of the penstock of ${turbine.name} to ${displayValue(wider)}`,
        [setProperty(turbine, water.diameter, displayValue(wider))],
        true,
      ),
    ],
  };
}

export const penstockLossCheck = defineCheck({
  id: 'penstock-loss',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'The penstock of a turbine loses much of the head, or the water in it is fast.',
    guards: 'Turbines that never reach their power, and pipes that water hammer and sand wear out.',
    how: 'Friction by Hazen and Williams with the roughness that is stated or that of the material, bends, valves and inlet by `minorLosses`, at the flow the turbine gets in its wettest month. More than 15 % of the gross head, or more than 3 m/s, is a finding (common practice, no source: 10 % is usual, and 1.5 m/s in plastic). The most power of all comes at 35 % of loss (dP/dQ = 0 at H/2.852); beyond it more water gives less. Water hammer itself is not worked out.',
    fix: 'Use a wider or shorter pipe, or draw less water.',
    sources: [
      { standard: 'handbooks of hydraulics: Hazen-Williams', provenance: 'published' },
      { standard: 'loss of 1/2.852 of the head at most power', provenance: 'own derivation' },
      PRACTICE,
    ],
    failing: `design Mill {
  hydro Turbine { head: 40 m   flow: 8 L/s   ecologicalFlow: 2 L/s   designFlow: 6 L/s
    penstockLength: 200 m   penstockDiameter: 60 mm   penstock: plastic   turbineEfficiency: 65 %   generatorEfficiency: 80 %
    rated: 1500 W   voltage: 56 V   currentLimit: 30 A   heldBy: deflector }
  battery Bank : Lfp48V280Ah
  run Feed: Turbine -> Bank { size: 25 mm2   length: 20 m }
}
`,
    passing: `design Mill {
  hydro Turbine { head: 40 m   flow: 8 L/s   ecologicalFlow: 2 L/s   designFlow: 6 L/s
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
