import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { ControlMachine } from '../../../language/src/control/index.js';
import { Bench, machineOf } from './machines.js';

const HOUR = 3600;

/** Rules of one set, with times in whole seconds so that a plain count of seconds can check them. */
interface Case {
  readonly start: number;
  readonly stop: number;
  readonly startDwell: number;
  readonly stopDwell: number;
  readonly run: number;
  readonly rest: number;
  readonly most: number;
  readonly warm: number;
  readonly cool: number;
  readonly quiet: boolean;
}

const cases = fc.record<Case>({
  start: fc.integer({ min: 20, max: 60 }),
  stop: fc.integer({ min: 40, max: 90 }),
  startDwell: fc.constantFrom(0, 1, 7, 60),
  stopDwell: fc.constantFrom(0, 1, 13, 60),
  run: fc.constantFrom(0, 1, 20, 90),
  rest: fc.constantFrom(0, 1, 15, 90),
  most: fc.constantFrom(0, 1, 50, 200),
  warm: fc.constantFrom(0, 1, 5),
  cool: fc.constantFrom(0, 1, 6),
  quiet: fc.boolean(),
});

/** Stretches of whole seconds with a state of charge in percent. */
const course = fc.array(fc.tuple(fc.integer({ min: 1, max: 80 }), fc.integer({ min: 10, max: 99 })), {
  minLength: 1,
  maxLength: 40,
});

const QUIET_FROM = 12 * HOUR + 300;
const QUIET_TO = 12 * HOUR + 600;

const textOf = (c: Case): string => `control Autostart of Genset {
  start when soc(Bank) < ${c.start} % for ${c.startDwell} s   stop when soc(Bank) > ${c.stop} % for ${c.stopDwell} s
  minimumRun: ${c.run} s   minimumRest: ${c.rest} s   ${c.most > 0 ? `maximumRun: ${c.most} s` : ''}
  warmUp: ${c.warm} s   coolDown: ${c.cool} s   ${c.quiet ? 'quiet: 12:05..12:10 unless soc(Bank) < 15 %' : ''}
}`;

/** What language/CONTROL.md says of one control of a generator, counted second by second: written without a look at the machine. */
function* bySeconds(c: Case, stretches: readonly (readonly [number, number])[]): Generator<string> {
  let phase: 'off' | 'starting' | 'on' | 'cooling' = 'off';
  let [since, run, startFor, stopFor] = [Infinity, 0, 0, 0];
  let time = 12 * HOUR;
  const settle = (soc: number): void => {
    if (soc >= c.start) startFor = 0;
    if (soc <= c.stop) stopFor = 0;
    const stops = soc > c.stop && stopFor >= c.stopDwell;
    const isQuiet = c.quiet && time >= QUIET_FROM && time < QUIET_TO && soc >= 15;
    const starts = soc < c.start && startFor >= c.startDwell && !stops && !isQuiet;
    for (let again = 0; again < 4; again += 1) {
      if (phase === 'starting' && since >= c.warm) phase = 'on';
      if (phase === 'on' && ((c.most > 0 && run >= c.most) || (stops && run >= Math.max(1, c.run))))
        [phase, since] = ['cooling', 0];
      if (phase === 'cooling' && since >= c.cool) [phase, since] = ['off', 0];
      if (phase === 'off' && starts && since >= Math.max(1, c.rest)) [phase, since, run] = ['starting', 0, 0];
    }
  };
  for (const [seconds, soc] of stretches)
    for (let second = 0; second < seconds; second += 1) {
      settle(soc);
      yield phase;
      time += 1;
      since += 1;
      run += 1;
      if (soc < c.start) startFor += 1;
      if (soc > c.stop) stopFor += 1;
      // What is due at the end of the second comes before what is heard next.
      settle(soc);
    }
}

const machines = new Map<string, Promise<ControlMachine>>();
const machineFor = (text: string): Promise<ControlMachine> => {
  const known = machines.get(text) ?? machineOf(text);
  machines.set(text, known);
  return known;
};

describe('the machine', () => {
  test('does second by second what the page on control says', async () => {
    await fc.assert(
      fc.asyncProperty(cases, course, async (c, stretches) => {
        const set = new Bench(await machineFor(textOf(c)));
        const expected = bySeconds(c, stretches);
        for (const [seconds, soc] of stretches) {
          set.set({ 'soc(Bank)': soc / 100 });
          for (let second = 0; second < seconds; second += 1) {
            set.pass(0);
            expect({ at: set.time, phase: set.phase() }).toEqual({ at: set.time, phase: expected.next().value });
            set.pass(1);
          }
        }
      }),
      { numRuns: 150, seed: 11 },
    );
  });

  test('gives the same at the end of a stretch whether it is taken at once or in pieces', async () => {
    await fc.assert(
      fc.asyncProperty(cases, course, fc.integer({ min: 1, max: 9 }), async (c, stretches, pieces) => {
        const machine = await machineFor(textOf(c));
        const [whole, cut] = [new Bench(machine), new Bench(machine)];
        for (const [seconds, soc] of stretches) {
          whole.set({ 'soc(Bank)': soc / 100 }).pass(seconds);
          cut.set({ 'soc(Bank)': soc / 100 });
          for (let piece = 0; piece < pieces; piece += 1) cut.pass(seconds / pieces);
          cut.time = Math.round(cut.time);
          expect(cut.phase()).toBe(whole.phase());
          for (const [index, value] of whole.state.entries())
            if (value !== cut.state[index]) expect(cut.state[index]).toBeCloseTo(value, 6);
        }
      }),
      { numRuns: 60, seed: 12 },
    );
  });

  test('changes nothing but its timers before the time it names', async () => {
    await fc.assert(
      fc.asyncProperty(cases, course, fc.double({ min: 0.01, max: 0.99, noNaN: true }), async (c, stretches, share) => {
        const set = new Bench(await machineFor(textOf(c)));
        for (const [seconds, soc] of stretches) {
          set.set({ 'soc(Bank)': soc / 100 }).pass(0);
          const until = set.next();
          expect(until).toBeGreaterThan(0);
          const phase = set.phase();
          const held = set.machine.compiled.rules.map((rule) => set.machine.holds(set.state, rule));
          const later = set.machine.advance(set.state, set.inputs, Math.min(until, 1e5) * share);
          expect(set.machine.phase(later, 0)).toBe(set.machine.phase(set.state, 0));
          expect(set.machine.compiled.rules.map((rule) => set.machine.holds(later, rule))).toEqual(held);
          set.pass(seconds);
          expect(['off', 'starting', 'on', 'cooling']).toContain(phase);
        }
      }),
      { numRuns: 60, seed: 13 },
    );
  });

  test('leaves the state it is given as it was', async () => {
    const set = new Bench(await machineFor(textOf({ ...CALM, start: 40, stop: 80 })));
    set.set({ 'soc(Bank)': 0.3 });
    const before = set.state.slice();
    set.machine.advance(set.state, set.inputs, 100);
    expect([...set.state]).toEqual([...before]);
  });

  test('looks at each comparison a few times a step, however long it has run and however long a step is', async () => {
    const set = new Bench(await machineFor(textOf({ ...CALM, start: 40, stop: 80, quiet: true })));
    let looks = 0;
    const counted = (soc: number): Bench['inputs'] => {
      const { truths, ...rest } = set.set({ 'soc(Bank)': soc }).inputs;
      const get = (target: readonly number[], key: string | symbol): unknown => {
        if (typeof key === 'string' && /^\d+$/.test(key)) looks += 1;
        return Reflect.get(target, key) as unknown;
      };
      return { ...rest, truths: new Proxy(truths, { get }) };
    };
    const [low, high] = [counted(0.3), counted(0.9)];
    const state = set.machine.initial();
    const looksIn = (steps: number, seconds: number): number => {
      const before = looks;
      for (let step = 0; step < steps; step += 1) set.machine.step(state, step % 7 < 3 ? low : high, seconds);
      return looks - before;
    };
    const [early, late, long] = [looksIn(7_000, 60), looksIn(7_000, 60), looksIn(7_000, 600)];
    expect(early).toBeGreaterThan(0);
    expect(early / 7_000 / set.machine.comparisons.length).toBeLessThanOrEqual(4);
    expect(late).toBeLessThanOrEqual(early * 1.01);
    expect(long).toBeLessThanOrEqual(early * 1.01);
  });
});

const CALM: Case = {
  start: 40,
  stop: 80,
  startDwell: 0,
  stopDwell: 0,
  run: 0,
  rest: 0,
  most: 0,
  warm: 0,
  cool: 0,
  quiet: false,
};
