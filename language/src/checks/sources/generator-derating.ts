import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { collect } from '../../quantities/worst.js';
import { generatorPractice } from '../../reference/energy/sources.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { fullest, notChecked, passed, placeOf, pairText, shareOf, whyOf } from '../verdicts.js';
import { PRACTICE } from './shared.js';
import { isSet } from '../../model/roles.js';

/** What takes power away at a site, the property in which a set states its own figure, and the usual figure with the step it counts for. */
const LOSSES = [
  {
    part: 'altitudeFactor',
    property: 'altitudeDerate',
    usual: generatorPractice('altitude-loss'),
    step: 'for each 305 m',
  },
  {
    part: 'temperatureFactor',
    property: 'temperatureDerate',
    usual: generatorPractice('temperature-loss'),
    step: 'for each 5.6 K above 25 °C',
  },
] as const;

const percentText = (share: number): string => `${formatNumber(share * 100, 3)} %`;

/** Facts without which nobody can say what is left of the rating at the site. */
function openFacts(set: Instance, context: DesignContext): string[] {
  const fuel = context.maybe(set, 'fuel')?.value;
  const isGas = fuel === 'propane' || fuel === 'naturalGas';
  return [
    ...(context.siteFact('altitude') ? [] : ['altitude of the site']),
    ...(context.siteFact('ambient') ? [] : ['ambient of the site']),
    // The same set gives 10 to 20 % less on gas than on petrol: which of them the rating is for makes the difference.
    ...(isGas && !context.maybe(set, 'ratedFuel') ? [`ratedFuel of ${set.name}`] : []),
  ];
}

/** The alternator: apparent power that is within its rating, but above what it gives where it is cooled badly. */
function* judgeAlternator(set: Instance, context: DesignContext): Generator<Verdict, boolean> {
  const demand = context.quantity(set, 'apparentDemand');
  const rating = context.quantity(set, 'apparentRating');
  const usable = context.quantity(set, 'usableApparent');
  if (demand.kind !== 'known' || rating.kind !== 'known' || usable.kind !== 'known') return false;
  // A set whose engine is overloaded there is told once, by `generator-overload`.
  const engine = collect([context.quantity(set, 'powerDemand'), context.quantity(set, 'usablePower')]);
  if (engine.ok && numberIn(engine.derivations[0]!, 'W') > numberIn(engine.derivations[1]!, 'W') * (1 + 1e-9))
    return false;
  const asked = numberIn(demand.derivation, 'VA');
  const given = numberIn(usable.derivation, 'VA') * (1 + 1e-9);
  // Above the rating itself it is overloaded anywhere.
  if (asked <= given || asked > numberIn(rating.derivation, 'VA') * (1 + 1e-9)) return false;
  const [wanted, left] = pairText(demand.derivation, usable.derivation);
  const larger = (numberIn(rating.derivation, 'kVA') * asked) / numberIn(usable.derivation, 'VA');
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, set.properties.has('apparent') ? 'apparent' : 'rated'),
    headline: `The alternator of ${set.name} carries ${wanted}; it gives ${left} at this site`,
    ...whyOf(
      `rated ${displayValue(rating.derivation)} up to 1000 m and 40 °C; cooled less by hot air or at altitude`,
      governingText(demand.derivation),
    ),
    advice: `Lower the limits of the chargers, run fewer loads at once, or choose a generator of ${formatNumber(Math.ceil(larger * 10) / 10)} kVA.`,
    use: atMost(demand.derivation, usable.derivation),
    numbers: { demand: demand.derivation, limit: usable.derivation, rating: rating.derivation },
  };
  return true;
}

/** What a set loses by usual figures because it states none, and by how much that may be. */
function lossesOf(set: Instance, usable: Derivation, context: DesignContext) {
  const most = context.setting('deratingShare') ?? derive('loss that needs no figure', 0, '%');
  return LOSSES.flatMap((loss) => {
    const factor = usable.parts[loss.part];
    if (!factor || set.properties.has(loss.property)) return [];
    const share = derive('lost by the usual figure', (1 - numberIn(factor, '')) * 100, '%', {
      formula: '1 − k',
      inputs: [factor],
    });
    return [{ ...loss, factor, use: atMost(share, most) }];
  });
}

/** A loss that counts, reckoned with the usual figure because the set states none. */
function* judgeOwnFigures(set: Instance, usable: Derivation, context: DesignContext): Generator<Verdict, boolean> {
  const lacking = lossesOf(set, usable, context).filter(({ use }) => shareOf(use) > 1 + 1e-9);
  const [first, ...others] = lacking;
  if (!first) return false;
  const rated = context.maybe(set, 'rated');
  const parts = lacking.map(
    ({ factor, usual, step }) =>
      `${percentText(1 - numberIn(factor, ''))} by the usual ${percentText(usual.value)} ${step}`,
  );
  const names = lacking.map(({ property }) => `\`${property}\``).join(' and ');
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'rated'),
    headline: `${set.name}${rated ? `, rated ${displayValue(rated)},` : ''} gives ${displayValue(usable, 3)} at this site by usual figures, not its own`,
    why: `loses ${parts.join(' and ')}; published figures differ`,
    advice: `State ${names} from its data sheet.`,
    use: fullest(first.use, ...others.map(({ use }) => use)),
    numbers: { usable, ...Object.fromEntries(lacking.map(({ part, factor }) => [part, factor])) },
    fixes: [
      propose(
        `Assume the usual ${lacking.map(({ property, usual }) => `${property} of ${percentText(usual.value)}`).join(' and ')} for ${set.name} until its data sheet says more`,
        lacking.map(({ property, usual }) => setProperty(set, property, `assumed ${percentText(usual.value)}`)),
        true,
      ),
    ],
  };
  return true;
}

function* judgeSet(set: Instance, context: DesignContext): Generator<Verdict> {
  if (yield* judgeAlternator(set, context)) return;
  const usable = context.quantity(set, 'usablePower');
  if (usable.kind !== 'known') return yield notChecked(set, usable);
  if (yield* judgeOwnFigures(set, usable.derivation, context)) return;
  const open = openFacts(set, context);
  if (open.length > 0) return yield notChecked(set, { kind: 'missing', missing: open });
  // What is stated on its data sheet is no loss that nobody knows of.
  const [first, ...others] = lossesOf(set, usable.derivation, context).map(({ use }) => use);
  yield passed(set, first ? fullest(first, ...others) : NO_LIMIT, { usable: usable.derivation });
}

export const generatorDerating = defineCheck({
  id: 'generator-derating',
  formerly: 'generator-altitude',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A generator’s rating is used without knowing what altitude, heat and fuel leave of it.',
    guards:
      'A generator that carries its load on paper and stalls at the site, or whose alternator overheats in thin air.',
    how: points(
      'What altitude, heat and fuel leave of the rating, with the generator’s own figures (`altitudeDerate`, `temperatureDerate`), else with the usual ones: 3.5 % for each 305 m above the sea and 1 % for each 5.6 K above 25 °C.',
      'A generator that states no figure of its own and loses more than `deratingShare` of the design (3 % unless said; common practice, no source) is a finding.',
      'Its alternator keeps 3 % less for each 500 m above 1000 m and for each 5 K above 40 °C. Apparent power within the rating but above that is a finding, too.',
      'Questions: altitude and highest temperature of the site and, of generators that run on gas, the fuel the rating is for. What is demanded of the generator is judged by `generator-overload`.',
    ),
    fix: 'State altitude, temperature and the loss figures of the generator, then choose its size by what is left.',
    sources: [
      {
        standard: 'home standby generator owner’s manual',
        table: '3.5 % per 305 m, 1 % per 5.6 K above 25 °C',
        provenance: 'published',
      },
      generatorPractice('alternator-altitude-loss').source,
      PRACTICE,
    ],
    failing: `design Hut {
  site { altitude: 2200 m   ambient: -20..25 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   waveform: conventional   fuel: petrol }
  load Kettle { power: 2 kW }
  run Cord: Genset -> Kettle { size: 4 mm2   length: 10 m }
}
`,
    passing: `design Hut {
  site { altitude: 2200 m   ambient: -20..25 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   waveform: conventional   fuel: petrol   altitudeDerate: 3 % }
  load Kettle { power: 2 kW }
  run Cord: Genset -> Kettle { size: 4 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isSet(instance)) yield* judgeSet(instance, context);
  },
});
