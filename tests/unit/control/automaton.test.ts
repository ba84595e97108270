import { describe, expect, test } from 'vitest';
import { bench, Bench, machineOf } from './machines.js';

const MINUTE = 60;
const HOUR = 3600;

const autostart = (rules: string): string => `control Autostart of Genset { ${rules} }`;
const START_STOP = 'start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %';

describe('a pair of rules', () => {
  test('starts below one threshold, stops above the other, and keeps its mind between them', async () => {
    const set = await bench(autostart(START_STOP));
    expect(set.set({ 'soc(Bank)': 0.5 }).pass(HOUR)).toBe('off');
    expect(set.set({ 'soc(Bank)': 0.39 }).pass(0)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.6 }).pass(HOUR)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.86 }).pass(0)).toBe('off');
    expect(set.set({ 'soc(Bank)': 0.6 }).pass(HOUR)).toBe('off');
  });

  test('takes the sign of a comparison at its word', async () => {
    const set = await bench(autostart(START_STOP));
    expect(set.set({ 'soc(Bank)': 0.4 }).pass(HOUR)).toBe('off');
    const atMost = await bench(autostart('start when soc(Bank) <= 40 %   stop when soc(Bank) > 85 %'));
    expect(atMost.set({ 'soc(Bank)': 0.4 }).pass(0)).toBe('on');
  });

  test('stays off while a rule to stop holds beside the one to start', async () => {
    const set = await bench(autostart('start when soc(Bank) < 50 %   stop when soc(Bank) > 45 %'));
    expect(set.set({ 'soc(Bank)': 0.47 }).pass(HOUR)).toBe('off');
    expect(set.set({ 'soc(Bank)': 0.44 }).pass(0)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.47 }).pass(1)).toBe('off');
  });

  test('once switched, stays so for a second', async () => {
    const set = await bench(autostart(START_STOP));
    set.set({ 'soc(Bank)': 0.3 }).pass(0);
    expect(set.set({ 'soc(Bank)': 0.9 }).pass(0.999)).toBe('on');
    expect(set.pass(0.001)).toBe('off');
    expect(set.set({ 'soc(Bank)': 0.3 }).pass(0.999)).toBe('off');
    expect(set.pass(0.001)).toBe('on');
  });
});

describe('conditions', () => {
  test('join with and, or and not', async () => {
    const set = await bench(
      autostart(
        'start when soc(Bank) < 40 % and not power(Mains) > 0 W or soc(Bank) < 20 %   stop when soc(Bank) > 85 %',
      ),
    );
    expect(set.set({ 'soc(Bank)': 0.3, 'power(Mains)': 500 }).pass(HOUR)).toBe('off');
    expect(set.set({ 'power(Mains)': 0 }).pass(0)).toBe('on');
    set.set({ 'soc(Bank)': 0.9 }).pass(1);
    expect(set.set({ 'soc(Bank)': 0.19, 'power(Mains)': 500 }).pass(1)).toBe('on');
  });

  test('on the clock are worked out by the machine', async () => {
    const set = await bench(autostart('start when hour >= 14 h and hour < 15 h   stop when hour >= 16 h'));
    expect(set.machine.comparisons).toEqual([]);
    expect(set.pass(0)).toBe('off');
    expect(set.next()).toBe(2 * HOUR);
    expect(set.pass(2 * HOUR - 1)).toBe('off');
    expect(set.pass(1)).toBe('on');
    expect(set.pass(2 * HOUR - 1)).toBe('on');
    expect(set.pass(1)).toBe('off');
    expect(set.pass(22 * HOUR - 1)).toBe('off');
    expect(set.pass(1)).toBe('on');
  });
});

describe('a dwell', () => {
  test('counts only time without a break', async () => {
    const set = await bench(autostart('start when soc(Bank) < 40 % for 3 min   stop when soc(Bank) > 85 %'));
    set.set({ 'soc(Bank)': 0.3 });
    expect(set.pass(3 * MINUTE - 1)).toBe('off');
    set.set({ 'soc(Bank)': 0.5 }).pass(0);
    set.set({ 'soc(Bank)': 0.3 });
    expect(set.pass(3 * MINUTE - 1)).toBe('off');
    expect(set.next()).toBe(1);
    expect(set.pass(1)).toBe('on');
  });
});

describe('run, rest, warm-up and cool-down', () => {
  test('warm up before load and cool down before rest, by the set where the control says nothing', async () => {
    const set = await bench(autostart(START_STOP), 'warmUp: 2 min   coolDown: 3 min');
    expect(set.set({ 'soc(Bank)': 0.3 }).pass(0)).toBe('starting');
    expect(set.pass(2 * MINUTE - 1)).toBe('starting');
    expect(set.pass(1)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.9 }).pass(0)).toBe('cooling');
    expect(set.machine.isRunning(set.state, 0)).toBe(true);
    expect(set.machine.isLoaded(set.state, 0)).toBe(false);
    expect(set.pass(3 * MINUTE - 1)).toBe('cooling');
    expect(set.pass(1)).toBe('off');
  });

  test('the control’s own times go before those of the set', async () => {
    const set = await bench(autostart(`${START_STOP}   warmUp: 1 min`), 'warmUp: 2 min');
    set.set({ 'soc(Bank)': 0.3 }).pass(0);
    expect(set.pass(MINUTE)).toBe('on');
  });

  test('the least run counts from the start, and a stop waits for its end', async () => {
    const set = await bench(autostart(`${START_STOP}   minimumRun: 45 min   warmUp: 2 min`));
    set.set({ 'soc(Bank)': 0.3 }).pass(0);
    set.set({ 'soc(Bank)': 0.9 });
    expect(set.pass(45 * MINUTE - 1)).toBe('on');
    expect(set.pass(1)).toBe('off');
  });

  test('a stop that no longer holds when the least run ends is forgotten', async () => {
    const set = await bench(autostart(`${START_STOP}   minimumRun: 45 min`));
    set.set({ 'soc(Bank)': 0.3 }).pass(0);
    set.set({ 'soc(Bank)': 0.9 }).pass(10 * MINUTE);
    expect(set.set({ 'soc(Bank)': 0.6 }).pass(2 * HOUR)).toBe('on');
  });

  test('the least rest holds a start back', async () => {
    const set = await bench(autostart(`${START_STOP}   minimumRest: 15 min`));
    set.set({ 'soc(Bank)': 0.3 }).pass(0);
    set.set({ 'soc(Bank)': 0.9 }).pass(1);
    set.set({ 'soc(Bank)': 0.3 });
    expect(set.pass(15 * MINUTE - 1)).toBe('off');
    expect(set.pass(1)).toBe('on');
  });

  test('the longest run ends a run whatever the rules say, and a start afterwards is a new one', async () => {
    const set = await bench(autostart(`${START_STOP}   maximumRun: 8 h   minimumRest: 30 min`));
    set.set({ 'soc(Bank)': 0.3 }).pass(0);
    expect(set.pass(8 * HOUR - 1)).toBe('on');
    expect(set.pass(1)).toBe('off');
    expect(set.pass(30 * MINUTE - 1)).toBe('off');
    expect(set.pass(1)).toBe('on');
    expect(set.pass(8 * HOUR - 1)).toBe('on');
  });
});

describe('quiet hours', () => {
  const QUIET = `${START_STOP}   quiet: 22:00..06:30 unless soc(Bank) < 20 %`;

  test('hold starts back from their first second to their last', async () => {
    const set = new Bench(await machineOf(autostart(QUIET)), 22 * HOUR);
    set.set({ 'soc(Bank)': 0.3 });
    expect(set.pass(8.5 * HOUR - 1)).toBe('off');
    expect(set.next()).toBe(1);
    expect(set.pass(1)).toBe('on');
  });

  test('make their exception', async () => {
    const set = new Bench(await machineOf(autostart(QUIET)), 22 * HOUR);
    set.set({ 'soc(Bank)': 0.21 });
    expect(set.pass(HOUR)).toBe('off');
    expect(set.set({ 'soc(Bank)': 0.19 }).pass(0)).toBe('on');
  });

  test('do not end a run that began before them', async () => {
    const set = new Bench(await machineOf(autostart(QUIET)), 22 * HOUR - 1);
    expect(set.set({ 'soc(Bank)': 0.3 }).pass(0)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.6 }).pass(4 * HOUR)).toBe('on');
  });
});

describe('loss of a link', () => {
  const RULES = `${START_STOP}
    without BmsLink { start when voltage(Bank) < 50.8 V for 3 min   stop when voltage(Bank) > 55.6 V }`;

  test('counts after the time-out; until then the last values stand', async () => {
    const set = await bench(autostart(RULES));
    set.set({ 'soc(Bank)': 0.5, 'voltage(Bank)': 50 }).pass(0);
    set.silent.add('BmsLink');
    // The charge falls, but nobody hears it.
    expect(set.set({ 'soc(Bank)': 0.1 }).pass(29)).toBe('off');
    expect(set.next()).toBe(1);
    expect(set.pass(1)).toBe('off');
    expect(set.next()).toBe(3 * MINUTE);
    expect(set.pass(3 * MINUTE)).toBe('on');
    expect(set.set({ 'voltage(Bank)': 56 }).pass(1)).toBe('off');
  });

  test('a break shorter than the time-out changes nothing', async () => {
    const set = await bench(autostart(RULES));
    set.set({ 'soc(Bank)': 0.5, 'voltage(Bank)': 50 }).pass(0);
    set.silent.add('BmsLink');
    set.pass(20);
    set.silent.clear();
    set.pass(1);
    set.silent.add('BmsLink');
    expect(set.pass(29)).toBe('off');
    expect(set.next()).toBe(1);
  });

  test('the own rules return with the link', async () => {
    const set = await bench(autostart(RULES));
    set.set({ 'soc(Bank)': 0.5, 'voltage(Bank)': 50 }).pass(0);
    set.silent.add('BmsLink');
    expect(set.pass(10 * MINUTE)).toBe('on');
    set.silent.clear();
    expect(set.pass(HOUR)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.9 }).pass(0)).toBe('off');
  });

  test('without a fallback a rule that needs the link neither starts nor stops', async () => {
    const set = await bench(autostart(START_STOP));
    set.silent.add('BmsLink');
    expect(set.set({ 'soc(Bank)': 0.1 }).pass(HOUR)).toBe('off');
    set.silent.clear();
    expect(set.pass(0)).toBe('on');
    set.silent.add('BmsLink');
    expect(set.set({ 'soc(Bank)': 0.99 }).pass(HOUR)).toBe('on');
  });

  test('what is known of a condition decides where it can', async () => {
    const set = await bench(
      autostart(
        'start when soc(Bank) < 40 % or voltage(Bank) < 48 V   stop when soc(Bank) > 85 % or voltage(Bank) > 56 V',
      ),
    );
    set.silent.add('BmsLink');
    expect(set.set({ 'soc(Bank)': 0.1, 'voltage(Bank)': 50 }).pass(HOUR)).toBe('off');
    expect(set.set({ 'voltage(Bank)': 47 }).pass(0)).toBe('on');
    expect(set.set({ 'voltage(Bank)': 57 }).pass(1)).toBe('off');
  });

  test('a fallback may have times of its own', async () => {
    const set = await bench(
      autostart(`${START_STOP}   minimumRun: 1 h
        without BmsLink { start when voltage(Bank) < 50 V   stop when voltage(Bank) > 55 V   minimumRun: 10 min }`),
    );
    set.silent.add('BmsLink');
    set.set({ 'voltage(Bank)': 49 }).pass(30);
    expect(set.phase()).toBe('on');
    set.set({ 'voltage(Bank)': 56 });
    expect(set.pass(10 * MINUTE - 1)).toBe('on');
    expect(set.pass(1)).toBe('off');
  });
});

describe('several controls of one thing', () => {
  const bySoc = (more = ''): string => `control ByCharge of Genset { ${START_STOP} ${more} }`;
  const byLoad = (more = ''): string =>
    `control ByLoad of Genset { start when power(Inv) > 4 kW for 1 min   stop when power(Inv) < 3 kW ${more} }`;

  test('without a rank, a run lasts until the last that asked for it is content', async () => {
    const set = await bench(bySoc() + byLoad());
    expect(set.set({ 'soc(Bank)': 0.3, 'power(Inv)': 1000 }).pass(0)).toBe('on');
    set.set({ 'power(Inv)': 5000 }).pass(MINUTE);
    expect(set.set({ 'soc(Bank)': 0.9 }).pass(HOUR)).toBe('on');
    expect(set.set({ 'power(Inv)': 1000 }).pass(0)).toBe('off');
  });

  test('the lower number wins where they disagree', async () => {
    const set = await bench(bySoc('priority: 1') + byLoad('priority: 2'));
    set.set({ 'soc(Bank)': 0.9, 'power(Inv)': 5000 });
    expect(set.pass(HOUR)).toBe('off');
    expect(set.set({ 'soc(Bank)': 0.6 }).pass(0)).toBe('on');
    expect(set.set({ 'soc(Bank)': 0.9 }).pass(1)).toBe('off');
  });

  test('one that states a rank goes before one that does not', async () => {
    const set = await bench(bySoc() + byLoad('priority: 9'));
    set.set({ 'soc(Bank)': 0.3, 'power(Inv)': 1000 });
    expect(set.pass(HOUR)).toBe('off');
    expect(set.set({ 'power(Inv)': 3500 }).pass(0)).toBe('on');
  });
});

describe('a load', () => {
  const SHED = 'control Shed of Pump { off when soc(Bank) < 25 %   on when soc(Bank) > 45 % }';

  test('is on until it is switched off, and then off until it is switched on', async () => {
    const pump = await bench(SHED);
    expect(pump.set({ 'soc(Bank)': 0.3 }).pass(0)).toBe('on');
    expect(pump.set({ 'soc(Bank)': 0.2 }).pass(0)).toBe('off');
    expect(pump.set({ 'soc(Bank)': 0.4 }).pass(HOUR)).toBe('off');
    expect(pump.set({ 'soc(Bank)': 0.5 }).pass(0)).toBe('on');
  });

  test('off wins where both hold', async () => {
    const pump = await bench('control Shed of Pump { off when soc(Bank) < 50 %   on when soc(Bank) > 45 % }');
    expect(pump.set({ 'soc(Bank)': 0.47 }).pass(HOUR)).toBe('off');
  });

  test('stays off while one control of several wants it off', async () => {
    const pump = await bench(`${SHED} control Peak of Pump { off when power(Inv) > 4 kW   on when power(Inv) < 3 kW }`);
    expect(pump.set({ 'soc(Bank)': 0.2, 'power(Inv)': 1000 }).pass(HOUR)).toBe('off');
    expect(pump.set({ 'soc(Bank)': 0.5 }).pass(0)).toBe('on');
    expect(pump.set({ 'power(Inv)': 5000 }).pass(1)).toBe('off');
  });

  test('is not switched on in quiet hours, and rests after its longest run', async () => {
    const pump = new Bench(
      await machineOf(
        'control Shed of Pump { off when soc(Bank) < 25 %   on when soc(Bank) > 45 %   maximumRun: 2 h   minimumRest: 1 h   quiet: 20:00..06:00 }',
      ),
    );
    pump.set({ 'soc(Bank)': 0.5 });
    expect(pump.pass(2 * HOUR - 1)).toBe('on');
    expect(pump.pass(1)).toBe('off');
    expect(pump.pass(HOUR - 1)).toBe('off');
    expect(pump.pass(1)).toBe('on');
    pump.time = 19 * HOUR;
    pump.pass(2 * HOUR);
    expect(pump.phase()).toBe('off');
    expect(pump.pass(9 * HOUR - 1)).toBe('off');
    expect(pump.pass(1)).toBe('on');
  });
});

describe('two targets', () => {
  test('have each their own phase', async () => {
    const both = await bench(
      `control Shed of Pump { off when soc(Bank) < 25 %   on when soc(Bank) > 45 % } ${autostart(START_STOP)}`,
    );
    both.set({ 'soc(Bank)': 0.2 }).pass(0);
    expect([both.phase(0), both.phase(1)]).toEqual(['off', 'on']);
  });
});

describe('facts that lack', () => {
  test('are named, and the rule they belong to never holds', async () => {
    const set = await bench(autostart('start when power(Inv) > 0.8 * Inv.surge   stop when power(Inv) < 1 kW'));
    expect(set.machine.compiled.missing.map(({ facts }) => facts)).toEqual([['surge of Inv']]);
    expect(set.set({ 'power(Inv)': 1e9 }).pass(HOUR)).toBe('off');
  });
});

describe('the clock', () => {
  test('goes on after the last instant before midnight, which rounding may make of midnight', async () => {
    const { untilClockChanges } = await import('../../../language/src/control/index.js');
    const comparison = {
      terms: [{ factor: 1, signal: { kind: 'clock', signal: 'hour' } }],
      comparison: '>=',
      limit: { value: 12 * 3600 },
    } as never;
    for (const timeOfDay of [0, 1e-9, 86_400 - 1e-9, 86_400 - 1e-7])
      expect(untilClockChanges(comparison, { day: 1, timeOfDay })).toBeCloseTo(12 * 3600, 3);
  });
});
