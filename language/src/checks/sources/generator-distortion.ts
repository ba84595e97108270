import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { cleanShare, needsCleanWave } from '../../quantities/supply/generator-rating.js';
import { fedBy } from '../../quantities/supply/supply.js';
import { collect, termOf } from '../../quantities/worst.js';
import { formatNumber } from '../../quantity/index.js';
import { defineCheck, type Use, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { fullest, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { inputPerAmpere, limitFixes, PRACTICE, turnedDown } from './shared.js';
import { isLoad, isSet, takesToCharge } from '../../model/roles.js';

/** The loads and chargers a set feeds in any state. */
function consumersOf(set: Instance, context: DesignContext): Instance[] {
  const fed = new Set<Instance>();
  for (const { state, circuit } of context.circuitStates) {
    if (!state.acSources.includes(set)) continue;
    for (const node of fedBy(set, circuit, context))
      if (isLoad(node.instance) || takesToCharge(node)) fed.add(node.instance);
  }
  return [...fed];
}

const percent = (share: Derivation): string => `${formatNumber(numberIn(share, '%'), 3)} %`;

function lowerLimit(
  consumers: readonly Instance[],
  clean: Derivation,
  demand: Derivation,
  context: DesignContext,
): ReturnType<typeof turnedDown> {
  const chargers = consumers.map((charger) => {
    const perAmpere = inputPerAmpere(charger, context);
    const part = termOf(demand, charger);
    const burdens =
      isLoad(charger) || !part || !perAmpere
        ? []
        : [
            {
              share: numberIn(part, 'W'),
              excess: numberIn(demand, 'W') - numberIn(clean, 'W'),
              perAmpere: perAmpere.W,
            },
          ];
    return { charger, burdens };
  });
  return turnedDown(chargers, context);
}

/** Consumers that accept less distortion than the set has: the first one found, and facts that are open. */
function* judgeDistortion(
  set: Instance,
  sensitive: readonly Instance[],
  context: DesignContext,
): Generator<Verdict, boolean> {
  const thd = context.maybe(set, 'thd');
  for (const consumer of sensitive) {
    const limit = context.maybe(consumer, 'thdLimit');
    if (!limit) continue;
    if (!thd) {
      yield notChecked(set, { kind: 'missing', missing: [`thd of ${set.name}`] });
      return true;
    }
    if (numberIn(thd, '') <= numberIn(limit, '') * (1 + 1e-9)) continue;
    const [distortion, accepted] = pairText(thd, limit);
    yield {
      verdict: 'failed',
      subject: set.path,
      place: placeOf(set, 'thd'),
      headline: `${set.name} distorts its voltage by ${distortion}; ${consumer.name} accepts ${accepted}`,
      advice: `Feed ${consumer.name} from an inverter-type generator, or from the bank through an inverter.`,
      use: atMost(thd, limit),
      numbers: { thd, limit },
      related: [{ place: consumer.place, text: `${consumer.name} accepts ${accepted}` }],
    };
    return true;
  }
  return false;
}

/** What its distortion uses of what each consumer accepts, where both are stated. */
function distortionUses(set: Instance, sensitive: readonly Instance[], context: DesignContext): Use[] {
  const thd = context.maybe(set, 'thd');
  const limits = sensitive.flatMap((consumer) => context.maybe(consumer, 'thdLimit') ?? []);
  return thd ? limits.map((limit) => atMost(thd, limit)) : [];
}

function* judgeSet(set: Instance, context: DesignContext): Generator<Verdict> {
  const consumers = consumersOf(set, context);
  const unsure = consumers.filter((consumer) => needsCleanWave(consumer, context) === undefined);
  const sensitive = consumers.filter((consumer) => needsCleanWave(consumer, context));
  if (yield* judgeDistortion(set, sensitive, context)) return;

  const [first, ...others] = distortionUses(set, sensitive, context);
  const distortion = first ? fullest(first, ...others) : NO_LIMIT;
  // Without a rectifier the load does not distort the wave.
  if (consumers.every(isLoad) || (unsure.length === 0 && sensitive.length === 0)) return yield passed(set, distortion);
  const share = cleanShare(set, context);
  // A set whose output stage forms the wave serves any charger; nothing more needs to be known.
  if (share.kind === 'known' && numberIn(share.derivation, '') >= 1)
    return yield passed(set, distortion, { share: share.derivation });
  const both = collect([context.quantity(set, 'cleanPower'), context.quantity(set, 'powerDemand')]);
  if (!both.ok) return yield notChecked(set, both.result);
  const [clean, demand] = both.derivations as [Derivation, Derivation];
  const numbers = { demand, limit: clean };
  const use = atMost(demand, clean);
  if (numberIn(demand, 'W') <= numberIn(clean, 'W') * (1 + 1e-9))
    return yield passed(set, distortion === NO_LIMIT ? use : fullest(use, distortion), numbers);
  if (sensitive.length === 0)
    return yield notChecked(set, {
      kind: 'missing',
      missing: unsure.map(({ name }) => `accepts or thdLimit of ${name}`),
    });
  const [asked, given] = pairText(demand, clean);
  const shareText = share.kind === 'known' ? percent(share.derivation) : '';
  const isRule = share.kind === 'known' && share.derivation.origin === 'table';
  const limits = lowerLimit(consumers, clean, demand, context);
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'rated'),
    headline: `${set.name} carries ${asked}; its waveform stays clean under chargers up to ${given}`,
    ...whyOf(
      `${shareText} of its power at this site`,
      `${firstFew(sensitive.map(({ name }) => name))} ${sensitive.length === 1 ? 'needs' : 'need'} a clean wave`,
      governingText(demand),
    ),
    ...(isRule ? { rule: 'a rule of thumb; state `cleanShare` if its maker says more' } : {}),
    advice:
      'Lower the limits of chargers, or choose a charger that accepts any waveform, or an inverter-type generator.',
    use,
    numbers,
    fixes: limitFixes(limits, `, so that ${set.name} stays within its clean share`),
  };
}

export const generatorDistortion = defineCheck({
  id: 'generator-distortion',
  formerly: 'generator-clean-share',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'A conventional alternator is loaded beyond the share at which its waveform stays clean, or distorts more than a consumer accepts.',
    guards:
      'Chargers and electronics reject the supply, run hot or switch to battery over and over although the generator is strong enough in watts.',
    how: 'Everything the generator feeds is held against its clean share of site power: 60 % for a conventional alternator under rectifier load (a rule of thumb; set it with `cleanShare`), all of it for a generator whose output stage forms the wave. Only consumers that need a clean wave count as reason: chargers with `accepts: sine` or any consumer with `thdLimit`. A charger that accepts any waveform is exempt.',
    fix: 'Use an inverter-type generator, charge with less, or feed the sensitive load from the bank.',
    sources: [PRACTICE],
    failing: `design Hut {
  generator Genset { rated: 4 kW   voltage: 230 V   waveform: conventional }
  charger Rect { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   accepts: sine }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  generator Genset { rated: 4 kW   voltage: 230 V   waveform: conventional }
  charger Rect { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   accepts: any }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isSet(instance)) yield* judgeSet(instance, context);
  },
});
