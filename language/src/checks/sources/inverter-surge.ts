import { governingText } from '../../glossary/reason-text.js';
import type { PropertyName } from '../../equipment/index.js';
import { type Derivation, displayValue, numberIn, otherReasons, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { carriedBy } from '../../quantities/supply/starting.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PRACTICE, termsOf } from './shared.js';
import { isInverter } from '../../model/roles.js';

/** Inverters that share their output, each group once, with the loads they carry in any state. */
function groupsOf(
  context: DesignContext,
): { readonly inverters: readonly Instance[]; readonly loads: readonly Instance[] }[] {
  const seen = new Set<Instance>();
  return context.system.instances.flatMap((inverter) => {
    if (!isInverter(inverter) || seen.has(inverter)) return [];
    const states = carriedBy(inverter, context);
    const inverters = [...new Set([inverter, ...states.flatMap((state) => state.inverters)])];
    for (const each of inverters) seen.add(each);
    const loads = [...new Set(states.flatMap((state) => state.loads))];
    return loads.length > 0 ? [{ inverters, loads }] : [];
  });
}

const names = (things: readonly Instance[]): string => things.map(({ name }) => name).join(' and ');

/** A rating of all inverters of a group together; the facts that lack otherwise. */
function together(inverters: readonly Instance[], property: PropertyName, unit: string, context: DesignContext) {
  const all = collect(inverters.map((inverter) => context.fact(inverter, property)));
  if (!all.ok) return all;
  const [first] = all.derivations;
  return {
    ok: true as const,
    derivation: all.derivations.length === 1 ? first! : sumOf(`${property} together`, 'P_r', unit, all.derivations),
  };
}

/** What runs for longer against the continuous rating, in W and, where it is stated, in VA. */
function* judgeRunning(
  inverters: readonly Instance[],
  rated: Derivation,
  demand: Derivation,
  context: DesignContext,
): Generator<Verdict, boolean> {
  const [first] = inverters;
  const apparent = inverters.every((each) => each.properties.has('apparent'))
    ? together(inverters, 'apparent', 'VA', context)
    : undefined;
  const loaded = context.quantity(first!, 'loadApparent');
  const pairs = [
    { unit: 'W', asked: demand, given: rated, property: 'rated' },
    ...(apparent?.ok && loaded.kind === 'known'
      ? [{ unit: 'VA', asked: loaded.derivation, given: apparent.derivation, property: 'apparent' }]
      : []),
  ];
  const broken = pairs.find(({ unit, asked, given }) => numberIn(asked, unit) > numberIn(given, unit) * (1 + 1e-9));
  if (!broken) return false;
  const [asked, given] = pairText(broken.asked, broken.given);
  const terms = termsOf(broken.asked);
  yield {
    verdict: 'failed',
    subject: first!.path,
    severity: 'error',
    place: placeOf(first!, broken.property),
    headline: `${names(inverters)} ${inverters.length === 1 ? 'gives' : 'give together'} ${given} continuously; loads draw ${asked}`,
    ...whyOf(terms, governingText(broken.asked)),
    advice: `Give the loads profiles that keep them apart, or choose an inverter of ${asked} or more.`,
    use: atMost(broken.asked, broken.given),
    numbers: { demand: broken.asked, limit: broken.given },
  };
  return true;
}

/** The largest start on top of what runs, against surge power and its time; facts that are open otherwise. */
function* judgeStart(
  inverters: readonly Instance[],
  loads: readonly Instance[],
  rated: Derivation,
  context: DesignContext,
): Generator<Verdict, readonly string[] | 'failed'> {
  const [first] = inverters;
  const start = context.quantity(first!, 'startDemand');
  if (start.kind !== 'known') return start.kind === 'missing' ? start.missing : [];
  const watts = numberIn(start.derivation, 'W');
  if (watts <= numberIn(rated, 'W') * (1 + 1e-9)) return [];
  const surge = together(inverters, 'surge', 'W', context);
  if (!surge.ok) return surge.result.kind === 'missing' ? surge.result.missing : [];
  const largest = start.derivation.inputs.at(-1)!;
  const load = loads.find(({ name }) => name === reasonOf(start.derivation, 'start')?.load);
  const factor = load && context.maybe(load, 'startFactor');
  if (!load || !factor) return [];
  const related = [
    { place: load.place, text: `${load.name} starts with ${displayValue(factor)} times its running current` },
  ];
  if (watts > numberIn(surge.derivation, 'W') * (1 + 1e-9)) {
    const [asked, given] = pairText(start.derivation, surge.derivation);
    const running = numberIn(largest, 'W') / (numberIn(factor, '') - 1);
    const soft =
      Math.floor((numberIn(factor, '') - (watts - numberIn(surge.derivation, 'W')) / running) * 10 + 1e-6) / 10;
    yield {
      verdict: 'failed',
      subject: first!.path,
      place: placeOf(first!, 'surge'),
      headline: `${names(inverters)} ${inverters.length === 1 ? 'gives' : 'give together'} ${given} for a start; ${load.name} needs ${asked}`,
      ...whyOf(
        `start at ${displayValue(factor)} times its running power, the rest running`,
        governingText({ governing: otherReasons(start.derivation, 'start') }),
      ),
      consequence: 'the inverter shuts down',
      advice: `Fit ${soft > 1 ? `a soft starter that holds ${load.name} to ${formatNumber(soft)} times, or ` : ''}an inverter with ${asked} of surge.`,
      use: atMost(start.derivation, surge.derivation),
      numbers: { demand: start.derivation, limit: surge.derivation },
      related,
    };
    return 'failed';
  }
  // The start needs surge power: it must last as long as the start.
  const needs = context.maybe(load, 'startTime');
  const lasts = inverters.map((inverter) => context.maybe(inverter, 'surgeTime'));
  const open = [
    ...(needs ? [] : [`startTime of ${load.name}`]),
    ...inverters.filter((_, index) => !lasts[index]).map(({ name }) => `surgeTime of ${name}`),
  ];
  if (!needs || open.length > 0) return open;
  const shortest = lasts
    .filter((each) => each !== undefined)
    .reduce((so, next) => (numberIn(next, 's') < numberIn(so, 's') ? next : so));
  if (numberIn(needs, 's') <= numberIn(shortest, 's') * (1 + 1e-9)) return [];
  const [wanted, given] = pairText(needs, shortest);
  yield {
    verdict: 'failed',
    subject: first!.path,
    place: placeOf(first!, 'surgeTime'),
    headline: `${load.name} needs surge power for ${wanted} to start; ${names(inverters)} give${inverters.length === 1 ? 's' : ''} it for ${given}`,
    why: `more than the continuous ${displayValue(rated)}`,
    consequence: 'the inverter shuts down in the middle of the start',
    advice: `Use a soft starter, or an inverter whose surge lasts ${wanted}.`,
    use: atMost(needs, shortest),
    numbers: { demand: start.derivation, time: needs, limit: shortest },
    related,
  };
  return 'failed';
}

function* judgeGroup(
  inverters: readonly Instance[],
  loads: readonly Instance[],
  context: DesignContext,
): Generator<Verdict> {
  const [first] = inverters;
  const rated = together(inverters, 'rated', 'W', context);
  const demand = context.quantity(first!, 'loadDemand');
  const both = collect([...(rated.ok ? [] : [rated.result]), demand]);
  if (!rated.ok || demand.kind !== 'known') return yield notChecked(first!, both.ok ? demand : both.result);
  if (yield* judgeRunning(inverters, rated.derivation, demand.derivation, context)) return;
  const outcome = yield* judgeStart(inverters, loads, rated.derivation, context);
  if (outcome === 'failed') return;
  if (outcome.length > 0) return yield notChecked(first!, { kind: 'missing', missing: outcome });
  yield passed(first!, atMost(demand.derivation, rated.derivation), {
    demand: demand.derivation,
    limit: rated.derivation,
  });
}

export const inverterSurge = defineCheck({
  id: 'inverter-surge',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'The loads of an inverter exceed its continuous rating, or a motor start exceeds its surge power or for longer.',
    guards: 'An inverter that shuts down each time the pump starts, and the lights with it.',
    how: 'Loads that can run at the same time of the day by their profiles are added up (all of them where no profile is stated) and held against `rated` and `apparent`; more is an error. The largest start (one piece, `startFactor` times its running power) on top of what runs then is held against `surge`, and `startTime` against `surgeTime` where the start needs more than the continuous rating; too much is a warning. Inverters whose outputs are joined count together. States in which a supply is passed through do not count. Loads that state no `startFactor` count as starting smoothly.',
    fix: 'Run fewer loads at once, start the motor softly, or use a larger inverter.',
    sources: [PRACTICE],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 3 kW   surge: 6 kW   surgeTime: 5 s   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V }
  load Pump { power: 1.1 kW   startFactor: 6   startTime: 1 s }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Pump { size: 4 mm2   length: 10 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 3 kW   surge: 7 kW   surgeTime: 5 s   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V }
  load Pump { power: 1.1 kW   startFactor: 6   startTime: 1 s }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Pump { size: 4 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const { inverters, loads } of groupsOf(context)) yield* judgeGroup(inverters, loads, context);
  },
});
