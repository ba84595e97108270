import type { PlayedScenario } from '../analyse/types.js';
import { derive } from '../derivation/index.js';
import type { System } from '../model/types.js';
import type { ScenarioResult } from '../simulate/types.js';
import type { Causes } from './causes.js';
import { moved, shownPair } from './shown.js';
import type { Sides } from './side.js';
import type { Line, LineOf, Pair, TotalKind } from './types.js';

const DAY = 86_400;

/** Run hours, fuel and charge that move by less than this are no other way of running. Common practice of reviews, no source. */
const LEAST_MOVE = 0.05;

type NumberOf = ReadonlyMap<string, number>;

/** The mean of a sum over all runs of a scenario, by the name of the thing. */
function meanOf(
  { totals }: ScenarioResult,
  of: 'shed' | 'unserved' | 'curtailed' | 'runTime' | 'fuel' | 'starts',
): NumberOf {
  const sums = new Map<string, number>();
  for (const total of totals)
    for (const [name, value] of total[of]) sums.set(name, (sums.get(name) ?? 0) + value / totals.length);
  return sums;
}

/** How often something happened to a thing in the first run. */
function countOf({ events }: ScenarioResult, ...what: readonly string[]): NumberOf {
  const counts = new Map<string, number>();
  for (const event of events) if (what.includes(event.what)) counts.set(event.of, (counts.get(event.of) ?? 0) + 1);
  return counts;
}

/** How many of the starts of each set fall into the quiet hours that its control keeps. */
function quietStarts(result: ScenarioResult, system: System): NumberOf {
  const counts = new Map<string, number>();
  for (const { target, properties } of system.controls) {
    const quiet = properties.get('quiet')?.value;
    if (quiet?.type !== 'quiet') continue;
    const isQuiet = (time: number): boolean => {
      const hour = (result.start.timeOfDay + time) % DAY;
      return quiet.from <= quiet.to ? hour >= quiet.from && hour < quiet.to : hour >= quiet.from || hour < quiet.to;
    };
    const starts = result.events.filter(({ what, of }) => what === 'start' && of === target.name);
    counts.set(target.name, starts.filter(({ time }) => isQuiet(time)).length);
  }
  return counts;
}

const energy = (joules: number): ReturnType<typeof derive> => derive('energy', joules / 3600, 'Wh');

/** What runs otherwise in the scenarios that are played on both sides. */
export function playLines(sides: Sides, causes: Causes): Line[] {
  const { before, after, renamed } = sides;
  return after.scenarios.flatMap((now) => {
    const was = before.scenarios.find(({ scenario }) => renamed(scenario.name) === now.scenario.name);
    return was ? scenarioLines(was, now, sides, causes) : [];
  });
}

function scenarioLines(was: PlayedScenario, now: PlayedScenario, sides: Sides, causes: Causes): Line[] {
  const line = (
    subject: string,
    what: TotalKind,
    values: Pair,
    lineClass: 'runs' | 'fails' | 'better',
  ): LineOf<'total'> => ({
    class: lineClass,
    kind: 'total',
    subject,
    scenario: now.scenario.name,
    what,
    values,
    causes: causes.played,
    isAnyOf: true,
    place: now.scenario.place,
    also: [],
    variants: [],
  });
  if (was.played.kind !== 'played' || now.played.kind !== 'played') {
    if (was.played.kind === now.played.kind) return [];
    const values = { before: playedText(was), after: playedText(now) };
    return [line(now.scenario.name, 'notPlayed', values, now.played.kind === 'played' ? 'better' : 'fails')];
  }
  const [one, other] = [was.played.result, now.played.result];
  return [...pairsOf(one, other, sides)].map(({ subject, what, values }) => line(subject, what, values, 'runs'));
}

function playedText({ played }: PlayedScenario): string {
  switch (played.kind) {
    case 'played':
      return 'simulated';
    case 'missing':
      return `missing ${played.missing.join(', ')}`;
    case 'refused':
      return played.reason;
    case 'cancelled':
      return 'not simulated';
  }
}

interface Moved {
  readonly subject: string;
  readonly what: TotalKind;
  readonly values: Pair;
}

function* pairsOf(one: ScenarioResult, other: ScenarioResult, sides: Sides): Generator<Moved> {
  const names = [
    ...other.totals[0]!.energy.keys(),
    ...other.totals[0]!.runTime.keys(),
    ...other.totals[0]!.curtailed.keys(),
  ];
  const formerly = new Map(sides.before.design.system.instances.map(({ name }) => [sides.renamed(name), name]));
  const starts = [meanOf(one, 'starts'), meanOf(other, 'starts')] as const;
  const counts = [countOf(one, 'shed'), countOf(other, 'shed')] as const;
  const quiet = [quietStarts(one, sides.before.design.system), quietStarts(other, sides.after.design.system)] as const;
  const sums = (of: 'shed' | 'unserved' | 'curtailed' | 'runTime' | 'fuel') =>
    [meanOf(one, of), meanOf(other, of)] as const;
  for (const name of new Set(names)) {
    const former = formerly.get(name);
    if (former === undefined) continue;
    const at = ([before, after]: readonly [NumberOf, NumberOf]): readonly [number, number] => [
      before.get(former) ?? 0,
      after.get(name) ?? 0,
    ];
    const [shedBefore, shedAfter] = at(counts);
    const [lost, losing] = at(sums('shed'));
    const often = (count: number, joules: number): string =>
      count === 0 && joules < 1 ? 'never' : `${times(count)}, ${shownPair(energy(joules), energy(joules)).after}`;
    if (shedBefore !== shedAfter || differs(lost, losing))
      yield {
        subject: name,
        what: 'shed',
        values: { before: often(shedBefore, lost), after: often(shedAfter, losing) },
      };
    const [quietBefore, quietAfter] = at(quiet);
    const [startsBefore, startsAfter] = at(starts);
    if (quietBefore !== quietAfter)
      yield {
        subject: name,
        what: 'quietStarts',
        values: { before: `${quietBefore} of ${startsBefore}`, after: `${quietAfter} of ${startsAfter}` },
      };
    for (const what of ['unserved', 'curtailed'] as const) {
      const [before, after] = at(sums(what));
      if (differs(before, after)) yield { subject: name, what, values: shownPair(energy(before), energy(after)) };
    }
    const [ranBefore, ranAfter] = at(sums('runTime'));
    if (differs(ranBefore, ranAfter))
      yield {
        subject: name,
        what: 'runTime',
        values: shownPair(derive('time', ranBefore / 3600, 'h'), derive('time', ranAfter / 3600, 'h')),
      };
    const trips = [countOf(one, 'trip', 'open'), countOf(other, 'trip', 'open')] as const;
    for (const [what, events] of [
      ['outOfFuel', [countOf(one, 'out of fuel', 'tank empty'), countOf(other, 'out of fuel', 'tank empty')] as const],
      ['trips', trips],
    ] as const) {
      const [before, after] = at(events);
      if (before !== after) yield { subject: name, what, values: { before: times(before), after: times(after) } };
    }
  }
}

const times = (count: number): string => (count === 0 ? 'never' : count === 1 ? 'once' : `${count} times`);

/** Energies of less than a watt-hour, and moves of less than a twentieth, are nothing that runs otherwise. */
const differs = (before: number, after: number): boolean =>
  Math.max(before, after) >= 3600 && moved(before, after) >= LEAST_MOVE;
