import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { cleanShare } from '../../quantities/sources.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { governedBy, pairText, PRACTICE, roundDown } from './shared.js';

/** The loads and chargers a set feeds in any state. */
function consumersOf(set: Instance, context: DesignContext): Instance[] {
  const fed = new Set<Instance>();
  for (const { state, circuit } of context.circuitStates) {
    if (!state.acSources.includes(set)) continue;
    for (const [key, feeders] of circuit.supply) {
      const node = feeders.has(set) ? context.graph.nodes.get(key) : undefined;
      if (!node) continue;
      const { instance, terminal } = node;
      if (instance.kind === 'load' || (instance.kind === 'charger' && terminal.name === 'ac')) fed.add(instance);
      if (instance.kind === 'inverter' && terminal.name === 'input') fed.add(instance);
    }
  }
  return [...fed];
}

/** Whether a consumer needs a clean wave: it says so, or names the distortion it accepts. Undefined when nothing is stated of a charger. */
function needsCleanWave(consumer: Instance, context: DesignContext): boolean | undefined {
  if (context.maybe(consumer, 'thdLimit')) return true;
  if (consumer.kind !== 'charger') return false;
  const accepts = context.maybe(consumer, 'accepts')?.value;
  return accepts === undefined ? undefined : accepts === 'sine';
}

function lowerLimit(
  set: Instance,
  consumers: readonly Instance[],
  clean: Derivation,
  demand: Derivation,
  context: DesignContext,
): Fix[] {
  const excess = numberIn(demand, 'W') - numberIn(clean, 'W');
  return consumers.flatMap((charger) => {
    const current = context.quantity(charger, 'outputCurrent');
    const share = context.quantity(charger, 'inputPower');
    if (charger.kind === 'load' || current.kind !== 'known' || share.kind !== 'known') return [];
    const amperes = roundDown(numberIn(current.derivation, 'A') * (1 - excess / numberIn(share.derivation, 'W')), 1);
    return amperes < 1
      ? []
      : [
          propose(
            `Limit ${charger.name} to ${amperes} A, so that ${set.name} stays within its clean share`,
            [setProperty(charger, 'currentLimit', `${amperes} A`)],
            true,
          ),
        ];
  });
}

function* judgeSet(set: Instance, context: DesignContext): Generator<Verdict> {
  const consumers = consumersOf(set, context);
  const unsure = consumers.filter((consumer) => needsCleanWave(consumer, context) === undefined);
  const sensitive = consumers.filter((consumer) => needsCleanWave(consumer, context));
  if (unsure.length > 0 && sensitive.length === 0) {
    const share = cleanShare(set, context);
    // A set whose output stage forms the wave serves any charger; nothing more needs to be known.
    if (share.kind === 'known' && numberIn(share.derivation, '') >= 1)
      return yield passed(set, { share: share.derivation });
    return yield notChecked(set, {
      kind: 'missing',
      missing: unsure.map(({ name }) => `accepts or thdLimit of ${name}`),
    });
  }
  if (sensitive.length === 0) return yield passed(set);

  const thd = context.maybe(set, 'thd');
  for (const consumer of sensitive) {
    const limit = context.maybe(consumer, 'thdLimit');
    if (!limit) continue;
    if (!thd) {
      yield notChecked(set, { kind: 'missing', missing: [`thd of ${set.name}`] });
      continue;
    }
    if (numberIn(thd, '') <= numberIn(limit, '')) continue;
    yield {
      verdict: 'failed',
      subject: set.path,
      place: placeOf(set, 'thd'),
      message: `${set.name} distorts its voltage by ${displayValue(thd)}; ${consumer.name} accepts ${displayValue(limit)}. Feed ${consumer.name} from an inverter-type set, or through a charger that accepts any waveform and an inverter.`,
      numbers: { thd, limit },
      related: [{ place: consumer.place, text: `${consumer.name} accepts ${displayValue(limit)}` }],
    };
    return;
  }

  const clean = context.quantity(set, 'cleanPower');
  const demand = context.quantity(set, 'powerDemand');
  for (const result of [clean, demand]) if (result.kind !== 'known') return yield notChecked(set, result);
  if (clean.kind !== 'known' || demand.kind !== 'known') return;
  const numbers = { demand: demand.derivation, limit: clean.derivation };
  if (numberIn(demand.derivation, 'W') <= numberIn(clean.derivation, 'W') * (1 + 1e-9))
    return yield passed(set, numbers);
  const [asked, given] = pairText(demand.derivation, clean.derivation);
  const share = cleanShare(set, context);
  const shareText = share.kind === 'known' ? displayValue(share.derivation) : '';
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'rated'),
    message: `${set.name} carries ${asked}${governedBy(demand.derivation)}, above the ${given} up to which its waveform stays clean (share ${shareText} of rated power at this site), and ${sensitive.map(({ name }) => name).join(', ')} ${sensitive.length === 1 ? 'needs' : 'need'} a clean wave. Turn the chargers down, take a charger that accepts any waveform, or an inverter-type set.`,
    numbers,
    fixes: lowerLimit(set, consumers, clean.derivation, demand.derivation, context),
  };
}

export const generatorCleanShare = defineCheck({
  id: 'generator-clean-share',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'A conventional alternator is loaded beyond the share at which its waveform stays clean, or distorts more than a consumer accepts.',
    guards:
      'Chargers and electronics reject the supply, run hot or switch to battery over and over although the set is strong enough in watts.',
    how: 'Everything the set feeds is held against its clean share of site power: 60 % for a conventional alternator under rectifier load (a rule of thumb; set it with `cleanShare`), all of it for a set whose output stage forms the wave. Only consumers that need a clean wave count as reason: chargers with `accepts: sine` or any consumer with `thdLimit`. A charger that accepts any waveform is exempt.',
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
    for (const instance of context.system.instances)
      if (instance.kind === 'generator') yield* judgeSet(instance, context);
  },
});
