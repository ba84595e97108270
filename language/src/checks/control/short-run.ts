import { secondsText } from '../../control/index.js';
import { derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Scenario } from '../../model/types.js';
import { formatQuantity, quantity } from '../../quantity/index.js';
import { clockTime, type ScenarioResult } from '../../simulate/index.js';
import { defineCheck, type Verdict, atMost, atLeast, NO_LIMIT } from '../define.js';
import { notChecked, fullest, passed } from '../verdicts.js';
import { isStarted } from '../../model/roles.js';

const DAY = 86_400;

/** `2027-01-10 06:30`. */
const momentText = (result: ScenarioResult, seconds: number): string =>
  clockTime(result, seconds).slice(0, 16).replace('T', ' ');

/** A run of a generator in a played scenario, s from its start. Runs that the end of the scenario cuts off are none. */
interface Run {
  readonly from: number;
  readonly to: number;
}

function runsOf(name: string, { events }: ScenarioResult): { runs: Run[]; starts: number[] } {
  const runs: Run[] = [];
  const starts: number[] = [];
  let from: number | undefined;
  let isCut = false;
  for (const event of events) {
    if (event.of !== name) continue;
    // A set whose absence begins, or whose tank is empty, was not stopped by its rules.
    if (event.what === 'lost' || event.what === 'tank empty') isCut = true;
    if (event.what === 'start') {
      from = event.time;
      isCut = false;
      starts.push(event.time);
    }
    if (event.what === 'stop' && from !== undefined) {
      if (!isCut) runs.push({ from, to: event.time });
      from = undefined;
    }
  }
  return { runs, starts };
}

/** The most starts within any 24 h, and when these begin. */
function mostInADay(starts: readonly number[]): { count: number; from: number } {
  let most = { count: 0, from: 0 };
  let last = 0;
  for (const [first, from] of starts.entries()) {
    while (last < starts.length && starts[last]! < from + DAY) last += 1;
    if (last - first > most.count) most = { count: last - first, from };
  }
  return most;
}

function* judgePlay(context: DesignContext, scenario: Scenario, result: ScenarioResult): Generator<Verdict> {
  const least = context.setting('leastRun');
  const mostStarts = context.setting('mostStarts');
  for (const thing of context.system.instances) {
    const controls = context.system.controls.filter(({ target }) => target === thing);
    if (!isStarted(thing) || controls.length === 0) continue;
    const { runs, starts } = runsOf(thing.name, result);
    const [control] = controls;
    const head = `In ${scenario.name} ${thing.name}`;
    const lengths = runs.map(({ from, to }) => to - from);
    const runUse =
      least && lengths.length > 0 ? atLeast(derive('shortest run', Math.min(...lengths), 's'), least) : undefined;
    const rule = (setting: string): string => `common practice, no source; set by \`${setting}\``;
    const short = runs.filter(({ from, to }) => least && to - from < numberIn(least, 's') * (1 - 1e-9));
    const shortest = short.reduce<Run | undefined>(
      (so, next) => (so && so.to - so.from <= next.to - next.from ? so : next),
      undefined,
    );
    const daily = mostInADay(starts);
    const isOften = mostStarts !== undefined && daily.count > numberIn(mostStarts, '') * (1 + 1e-9);
    if (shortest && least) {
      const length = shortest.to - shortest.from;
      const span = formatQuantity(
        length < 120 ? quantity(Math.round(length), 's') : quantity(Number((length / 60).toFixed(1)), 'min'),
      );
      yield {
        verdict: 'failed',
        subject: control!.path,
        place: control!.place,
        headline: `${head} runs for only ${span}; it needs ${secondsText(numberIn(least, 's'))} to warm up`,
        why: `at ${momentText(result, shortest.from)}${short.length > 1 ? `, and ${short.length - 1} more short runs` : ''}`,
        rule: rule('leastRun'),
        advice: `Put start and stop further apart, or write \`minimumRun: ${secondsText(numberIn(least, 's'))}\`.`,
        use: atLeast(derive('shortest run', length, 's'), least),
        numbers: { run: derive('shortest run', shortest.to - shortest.from, 's'), least },
        related: [{ place: scenario.place, text: 'simulated here' }],
      };
    }
    if (isOften)
      yield {
        verdict: 'failed',
        subject: control!.path,
        place: control!.place,
        headline: `${head} starts ${daily.count} times within a day; at most ${numberIn(mostStarts, '')} allowed`,
        why: `from ${momentText(result, daily.from)} on`,
        rule: rule('mostStarts'),
        advice: 'Put start and stop further apart, or let it rest longer.',
        use: atMost(derive('starts in a day', daily.count, ''), mostStarts),
        numbers: { starts: derive('starts in a day', daily.count, ''), most: mostStarts },
        related: [{ place: scenario.place, text: 'simulated here' }],
      };
    const startsUse = mostStarts && atMost(derive('starts in a day', daily.count, ''), mostStarts);
    if (!shortest && !isOften)
      yield passed(control!, runUse && startsUse ? fullest(runUse, startsUse) : (runUse ?? startsUse ?? NO_LIMIT));
  }
}

export const shortRun = defineCheck({
  id: 'short-run',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'In a simulated scenario a generator runs for too short a time, or starts too often in a day.',
    guards: 'A generator that is worn out by starting, with water in its oil and soot in its exhaust.',
    how: 'The first run of every scenario is looked at: each run of a generator that a control stopped must last `leastRun` (20 min unless set), and no 24 h may hold more than `mostStarts` starts (6 unless set); both common practice, no source.',
    fix: 'Set thresholds further apart, state a least run, or fit a generator or charger that suits the load.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 60 L   powerFactor: 1 }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 500 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 43 %
  }
  scenario Dark { from: 2027-01-10   duration: 5 h   sun: none   soc(Bank): 42 % }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 60 L   powerFactor: 1 }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 500 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 80 %
  }
  scenario Dark { from: 2027-01-10   duration: 12 h   sun: none   soc(Bank): 42 % }
}
`,
  },
  judge: () => [],
  judgePlayed: function* (context, scenario, played) {
    if (played.kind === 'played') yield* judgePlay(context, scenario, played.result);
    else if (played.kind === 'missing')
      for (const control of context.system.controls)
        if (isStarted(control.target)) yield notChecked(control, { kind: 'missing', missing: played.missing });
  },
});
