import { describe, expect, it } from 'vitest';
import { contentOf } from '../../../language/src/analyse/content.js';
import { analyseControls } from '../../../language/src/control/index.js';
import { analyseText, applyFix, lacking } from '../../helpers/analyse.js';
import { found, hut } from './helpers.js';
import { inverterInput } from '../../helpers/inverter-input.js';

/** An inverter with a television behind it that takes 3 kW a fifth of the time, and a grid. */
const MORE = `grid Mains { voltage: 230 V   rating: 16 A }
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 93 % }
  load Saw { power: 3 kW   duty: 20 %   voltage: 230 V }
  run InvFeed: Bank -> Inv.dc
  run Panel: Inv.ac -> Saw`;

/** What the grid feeds. */
const SHORE = `charger Shore { input: 180..264 V   currentLimit: 40 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }`;

const messages = async (rules: string, check: string, more = MORE): Promise<string[]> =>
  (await found(hut(rules, more), check)).map(({ told }) => told);

const CLEAN = 'start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 85 %';
const SEARCHED = ['rules-conflict', 'rules-shadowed', 'rule-livelock', 'rule-latched', 'stop-unreachable'];

describe('rules without a fault', () => {
  it.each([
    CLEAN,
    `${CLEAN}   minimumRun: 45 min   minimumRest: 15 min   maximumRun: 10 h   warmUp: 2 min   coolDown: 3 min`,
    'start when voltage(Bank) < 49.6 V for 3 min   stop when voltage(Bank) > 55.5 V for 20 min',
    'start when soc(Bank) < 40 % or voltage(Bank) < 48 V for 1 min   stop when soc(Bank) > 85 % or voltage(Bank) > 55.8 V for 1 h',
    'start when soc(Bank) < 40 %   stop when current(Bank) < 5 A and soc(Bank) > 60 % for 30 min',
    'start when soc(Bank) < 90 % and hour >= 9 h and hour < 10 h   start when soc(Bank) < 30 %   stop when soc(Bank) > 95 %',
    'start when not soc(Bank) >= 40 %   stop when not soc(Bank) <= 85 %',
  ])('%s', async (rules) => {
    const { findings, questions } = await analyseText(hut(rules, MORE, 'resistance: 8..16 mohm'));
    const told = findings.filter(({ check }) => SEARCHED.includes(check));
    expect(told.map(({ told }) => told)).toEqual([]);
    expect(questions.filter(({ check }) => SEARCHED.includes(check)).map(({ missing }) => missing)).toEqual([]);
  });
});

describe('rules-conflict of two controls', () => {
  const two = (first: string, second: string, more = ''): string =>
    hut(`${first} start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %`, MORE).replace(
      /\n}\n*$/,
      `\n  control Second of Genset { ${second} start when voltage(Bank) < 49.6 V for 3 min   stop when voltage(Bank) > 55.5 V for 20 min }\n${more}}\n`,
    );

  it('asks whose word counts where neither has a priority, and the fix says', async () => {
    const text = two('', '');
    const [finding, ...others] = await found(text, 'rules-conflict');
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(finding?.subject).toMatch(/\.Second$/);
    expect(
      lacking(finding?.told, /none states a `priority`: Genset runs until the last that asked for it is content/),
    ).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      expect.stringMatching(/^Give \w+ priority 1 and Second priority 2$/),
    ]);
    expect(await found(applyFix(text, finding!.fixes[0]!), 'rules-conflict')).toEqual([]);
  });

  it('takes ranks that differ, and finds two that are the same', async () => {
    expect(await found(two('priority: 1', 'priority: 2'), 'rules-conflict')).toEqual([]);
    expect(await found(two('priority: 1', ''), 'rules-conflict')).toEqual([]);
    const text = two('priority: 3', 'priority: 3');
    const [finding] = await found(text, 'rules-conflict');
    expect(lacking(finding?.told, 'have the same priority 3')).toEqual([]);
    expect(await found(applyFix(text, finding!.fixes[0]!), 'rules-conflict')).toEqual([]);
  });

  it('gives no rank that a third control has', async () => {
    const third =
      'control Third of Genset { priority: 1   start when hour > 9 h   stop when hour > 10 h and hour < 11 h }';
    const equal = (await found(two('', '', third), 'rules-conflict')).filter(({ message }) =>
      message.includes('priority'),
    );
    expect(equal[0]?.fixes[0]?.title).toMatch(/priority 2 and Second priority 3$/);
  });
});

describe('rules-conflict', () => {
  it('finds rules of any form that hold together, and says how it comes to that', async () => {
    const [finding] = await found(
      hut('start when not soc(Bank) > 60 %   stop when soc(Bank) > 50 % and hour >= 8 h', MORE),
      'rules-conflict',
    );
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'soc(Bank) falls: between 50 % and 60 %')).toEqual([]);
    expect(finding?.trace?.at(-1)?.state).toMatchObject({ 'soc(Bank)': 'between 50 % and 60 %' });
    expect(finding?.related.map(({ text }) => text)).toEqual(
      expect.arrayContaining([expect.stringMatching(/^holds in step \d: /)]),
    );
  });

  it('leaves rules alone that a third signal keeps apart', async () => {
    const rules =
      'start when soc(Bank) < 60 % and power(Mains) == 0 W   stop when soc(Bank) > 50 % and power(Mains) > 0 W';
    expect(await messages(rules, 'rules-conflict')).toEqual([]);
  });

  it('knows that a bank is not at its charge voltage while it is empty', async () => {
    const rules = 'start when soc(Bank) < 40 %   stop when voltage(Bank) > 55.5 V for 20 min';
    // At 40 % it rests at 52.6 V; 60 A through 16 mΩ and 0.1 V a cell make 55.2 V, through 32 mΩ 56.1 V.
    const bank = (ohms: string): string => hut(rules, MORE, `resistance: ${ohms}`);
    // Bounds as wide as the second do not tell the two apart, but no week of play brings them together.
    expect(await found(bank('8..16 mohm'), 'rules-conflict')).toEqual([]);
    expect(await found(bank('16..32 mohm'), 'rules-conflict')).toEqual([]);
  });

  it('takes a stop on another signal for a lock: an information, with a fix that ends it', async () => {
    const text = hut(
      `start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   stop when power(Mains) > 0 W`,
      `${MORE}\n${SHORE}`,
    );
    const [finding] = await found(text, 'rules-conflict');
    expect(finding?.severity).toBe('info');
    const fixed = applyFix(text, finding!.fixes[0]!);
    expect(fixed).toContain('start when soc(Bank) < 40 % and not (power(Mains) > 0 W)');
    expect((await found(fixed, 'rules-conflict')).map(({ told }) => told)).toEqual([]);
  });

  it('leaves plain thresholds out of order to the check of their order', async () => {
    const text = hut('start when soc(Bank) < 50 %   stop when soc(Bank) > 45 %', MORE);
    expect(await found(text, 'rules-conflict')).toEqual([]);
    expect(await found(text, 'threshold-order')).toHaveLength(1);
  });

  it('looks at every end of a limit that is a range', async () => {
    const rules = (start: string): string => `start when soc(Bank) < ${start} and not power(Saw) > 1 W
      stop when soc(Bank) > 50 % or soc(Bank) > 50 % and power(Saw) > 1 W`;
    expect(await messages(rules('40..49 %'), 'rules-conflict')).toEqual([]);
    expect(await messages(rules('40..52 %'), 'rules-conflict')).toHaveLength(1);
  });

  it('asks for the facts of a condition', async () => {
    const { questions } = await analyseText(
      hut('start when power(Inv) > 0.8 * Inv.surge   stop when power(Inv) < 1 kW', MORE),
    );
    expect(questions.filter(({ check }) => check === 'rules-conflict').map(({ missing }) => missing)).toEqual([
      ['surge of Inv'],
    ]);
  });
});

describe('rules-shadowed', () => {
  it.each([
    ['start when soc(Bank) < 40 %   start when soc(Bank) < 30 %   stop when soc(Bank) > 85 %', ['soc(Bank) < 30 %']],
    ['start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   stop when soc(Bank) > 95 %', ['soc(Bank) > 95 %']],
    [`${CLEAN}   start when power(Saw) > 4 kW`, ['power(Saw) lies between 0 kW and 3 kW']],
    [`${CLEAN}   start when soc(Bank) < 30 % and soc(Bank) > 60 %`, ['is never true']],
    [
      'start when soc(Bank) < 40 %   start when soc(Bank) < 20 %   stop when soc(Bank) > 85 %   quiet: 22:00..06:00',
      ['soc(Bank) < 20 %'],
    ],
    [`${CLEAN}   start when power(Saw) > 2 kW for 5 min`, []],
    [`${CLEAN}   start when voltage(Bank) < 48 V`, []],
    ['start when soc(Bank) < 40 % for 1 h   start when soc(Bank) < 30 %   stop when soc(Bank) > 85 %', []],
  ])('%s', async (rules, words) => {
    const told = await messages(rules, 'rules-shadowed');
    expect(told).toHaveLength(words.length);
    words.forEach((word, index) => expect(told[index]).toContain(word));
  });

  it('looks at fallbacks too', async () => {
    const rules = `${CLEAN}   without L { start when voltage(Bank) < 49 V   start when voltage(Bank) < 47 V   stop when voltage(Bank) > 55.5 V }`;
    const [told] = await messages(rules, 'rules-shadowed', `${MORE} link L: Bank -> Rect { medium: can }`);
    expect(lacking(told, 'Autostart without L: `start when voltage(Bank) < 47 V` can never act')).toEqual([]);
  });
});

describe('rule-livelock', () => {
  it('finds a set that never starts though the bank is empty', async () => {
    const [told] = await messages(
      'start when soc(Bank) < 40 % and power(Saw) > 1 kW   stop when soc(Bank) > 85 %',
      'rule-livelock',
    );
    expect(lacking(told, 'leaves Genset off though Bank gives nothing any more')).toEqual([]);
    expect(lacking(told, 'nothing is left with Genset off after 5.8 h')).toEqual([]);
  });

  it('finds a stop that holds an empty bank’s start back for ever', async () => {
    const rules = 'start when soc(Bank) < 40 %   stop when soc(Bank) > 85 % or power(Mains) == 0 W';
    expect((await messages(rules, 'rule-livelock'))[0]).toContain('leaves Genset off');
  });

  it('finds a rule that cannot come before a longer one', async () => {
    const rules = 'start when soc(Bank) < 40 % for 10 min   stop when soc(Bank) < 90 % for 1 min';
    expect((await messages(rules, 'rule-livelock'))[0]).toContain('leaves Genset off');
  });

  it('says how far quiet hours bring the bank down, and where to make an exception', async () => {
    const text = hut(`${CLEAN}   quiet: 20:00..08:00`, MORE).replace('Fan { size: 6 mm2   length: 2 m }', 'Fan');
    const [finding] = await found(text, 'rule-livelock');
    // 512 W always, and 3 kW for a fifth of the time through the inverter, for twelve hours out of 280 Ah at 51.2 V.
    const watts = 512 + inverterInput(600, { rated: 5000, efficiency: 0.93 });
    const taken = (((watts / 51.2) * 12) / 280) * 100;
    expect(lacking(finding?.told, `from 20:00 to 08:00 the loads take ${taken.toFixed(1)} % of it`)).toEqual([]);
    expect(finding?.severity).toBe('warning');
    const fixed = applyFix(text, finding!.fixes[0]!);
    expect(fixed).toContain('quiet: 20:00..08:00 unless soc(Bank) < 20 %');
    expect((await found(fixed, 'rule-livelock')).map(({ told }) => told)).toEqual([]);
  });

  it('counts the load of just those hours', async () => {
    const night = (profile: string): string =>
      hut(`${CLEAN}   quiet: 22:00..06:00`)
        .replace('profile: always', `profile: { ${profile}: 100 % }`)
        .replace('512 W', '2 kW');
    expect(await found(night('08:00..20:00'), 'rule-livelock')).toEqual([]);
    expect(await found(night('21:00..07:00'), 'rule-livelock')).toHaveLength(1);
  });

  it.each([
    // 10 A for 11 h are 110 Ah, 39.3 % of 280 Ah; for 16 h 160 Ah, 57.1 %. Told is what a simulated week shows.
    ['quiet: 20:00..07:00', 0],
    ['quiet: 16:00..08:00', 1],
  ])('%s against a bank that is at 40 %% at their beginning: %i', async (quiet, count) => {
    expect(await found(hut(`${CLEAN}   ${quiet}`), 'rule-livelock')).toHaveLength(count);
  });

  it('finds rules on two signals that switch the set on and off in place', async () => {
    const rules = 'start when power(Saw) > 2 kW   stop when soc(Bank) > 85 %';
    // The set does not know of the bank: that it is left empty is told too.
    const chatters = async (own: string): Promise<string[]> =>
      (await messages(own, 'rule-livelock')).filter((told) => told.includes('on and off again and again'));
    expect(await chatters(rules)).toHaveLength(1);
    expect(await chatters(`${rules}   minimumRun: 20 min`)).toEqual([]);
    expect(await chatters(`${rules}   minimumRun: 2 min`)).toHaveLength(1);
  });

  it('takes the shortest run from the design', async () => {
    const text = hut('start when power(Saw) > 2 kW   stop when soc(Bank) > 85 %   minimumRun: 2 min', MORE);
    const chatters = async (of: string): Promise<boolean> =>
      (await found(of, 'rule-livelock')).some(({ told }) => told.includes('on and off again and again'));
    expect(await chatters(text)).toBe(true);
    expect(await chatters(text.replace('design D {', 'design D { leastRun: 1 min'))).toBe(false);
  });
});

describe('rule-latched', () => {
  it.each([
    ['start when lost(Mains) for 10 s   stop when soc(Bank) > 90 % and lost(Mains)', 1],
    ['start when lost(Mains) for 10 s   stop when not lost(Mains) for 1 min', 0],
    ['start when lost(Mains) for 10 s   stop when soc(Bank) > 90 %', 0],
    // The charger of the set pushes that of the grid aside, so that the grid gives nothing though it is there.
    ['start when power(Mains) == 0 W for 10 s   stop when soc(Bank) > 90 % and power(Mains) == 0 W', 0],
    ['start when lost(Mains) for 10 s   stop when soc(Bank) > 90 % and lost(Mains)   maximumRun: 8 h', 0],
  ])('%s: %i', async (rules, count) => {
    expect(await messages(rules, 'rule-latched', `${MORE}\n${SHORE}`)).toHaveLength(count);
  });

  it.each([
    ['off when soc(Bank) < 25 %   on when soc(Bank) > 45 %', 0],
    ['off when soc(Bank) < 25 %', 1],
    ['off when soc(Bank) < 25 %   on when soc(Bank) > 45 % and soc(Bank) < 20 %', 1],
    ['off when soc(Bank) < 25 %   on when soc(Bank) > 45 % and hour < 6 h', 0],
  ])('a load: %s: %i', async (rules, count) => {
    const text = hut(CLEAN, `control Shed of Fan { ${rules} }`);
    expect(await found(text, 'rule-latched')).toHaveLength(count);
  });
});

describe('rule-latched of what charges the bank', () => {
  it.each([
    // The bank drains while it is off, whatever stands at full charge.
    ['off when soc(Bank) > 95 %   on when soc(Bank) < 80 %', 0],
    ['off when soc(Bank) > 95 %', 1],
    ['off when soc(Bank) > 95 %   on when soc(Bank) > 97 %', 1],
  ])('%s: %i', async (rules, count) => {
    const text = hut(CLEAN, `control Keep of Rect { ${rules} }`);
    expect(await found(text, 'rule-latched')).toHaveLength(count);
  });
});

describe('stop-unreachable', () => {
  it.each([
    ['start when soc(Bank) < 40 %   stop when voltage(Bank) > 58 V or soc(Bank) > 100 %', 1],
    ['start when soc(Bank) < 40 %   stop when voltage(Bank) > 58 V or soc(Bank) > 95 %', 0],
    ['start when soc(Bank) < 40 %   stop when not voltage(Bank) < 57 V', 1],
    ['start when soc(Bank) < 40 %   stop when not voltage(Bank) < 55 V', 0],
    ['start when soc(Bank) < 40 %   stop when hour >= 12 h and soc(Bank) > 80 % or voltage(Bank) > 59 V', 1],
  ])('of any form: %s: %i', async (rules, count) => {
    expect(await messages(rules, 'stop-unreachable')).toHaveLength(count);
  });

  it('sees that the loads eat what the chargers give', async () => {
    const eaten =
      'load Kiln { power: 3.2 kW   supply: dc   profile: always }   run K: Bank -> Kiln { size: 70 mm2   length: 1 m }';
    const rules = 'start when soc(Bank) < 40 %   stop when soc(Bank) > 85 % or voltage(Bank) > 57 V';
    const [told] = await messages(rules, 'stop-unreachable', eaten);
    expect(lacking(told, 'the loads draw as much as its chargers give')).toEqual([]);
  });
});

describe('the search', () => {
  it('is not given up for the rules of a large site, and is not made again when only other text has changed', async () => {
    const rules = `start when soc(Bank) < 40 % for 1 min   start when power(Saw) > 2 kW for 5 min   start when voltage(Bank) < 48 V for 30 s
      stop when soc(Bank) > 85 % and power(Saw) < 1 kW   stop when voltage(Bank) > 55.8 V for 1 h
      without L { start when voltage(Bank) < 49 V for 3 min   stop when voltage(Bank) > 55.5 V for 20 min }
      minimumRun: 45 min   minimumRest: 15 min   maximumRun: 10 h   warmUp: 2 min   coolDown: 3 min   quiet: 22:00..06:30 unless soc(Bank) < 20 %`;
    const more = `${MORE} link L: Bank -> Rect { medium: can }`;
    const text = hut(rules, more);
    const { context } = (await analyseText(text)).designs[0]!;
    expect(analyseControls(context)[0]?.refused).toBeUndefined();
    // What a proof is kept under: a remark changes nothing, a limit does.
    const keptUnder = async (of: string): Promise<string> => contentOf((await analyseText(of)).designs[0]!.system);
    expect(await keptUnder(`// a remark\n${text}`)).toBe(await keptUnder(text));
    expect(await keptUnder(text.replace('soc(Bank) < 40 %', 'soc(Bank) < 41 %'))).not.toBe(await keptUnder(text));
  });
});

describe('why a rule is never true', () => {
  it('names bounds only where they rule its limit out', async () => {
    // The set never starts, so that nothing charges: 28.4 V lies within what the bank could have, and 20 V below all of it.
    const text = `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 28.8 V   float: 27 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { chemistry: flooded   voltage: 24 V   cells: 12   capacity: 200 Ah   cellTemperature: 20..25 degC   resistance: 5..10 mohm }
  load Lamp { power: 100 W   supply: dc   profile: always }
  run In: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
  run Out: Bank -> Lamp { size: 16 mm2   length: 1 m }
  control Autostart of Genset { start when voltage(Bank) < 20 V   stop when voltage(Bank) > 28.4 V for 20 min   stop when soc(Bank) > 95 % }
}
`;
    const messages = (await found(text, 'rules-shadowed')).map(({ told }) => told);
    const [start, stop] = [
      messages.find((each) => each.includes('< 20 V')),
      messages.find((each) => each.includes('> 28.4 V')),
    ];
    expect(start).toContain('voltage(Bank) lies between');
    expect(stop).toContain('nothing that these rules do brings it about');
    expect(stop).not.toContain('lies between');
  });
});
