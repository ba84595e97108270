import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, lacking } from '../../helpers/analyse.js';

/*
 * Rules and fallbacks proven by playing them: faults that passed in silence, and sound rules that were accused. The designs are inventions.
 */

const PROVEN = [
  'stop-unreachable',
  'rule-latched',
  'rule-livelock',
  'rules-conflict',
  'rules-shadowed',
  'control-times',
];

interface Site {
  readonly charger?: string;
  readonly bank?: string;
  readonly load?: string;
  readonly set?: string;
  readonly more?: string;
}

/** A 48 V site with one set, one charger and a steady load; the rules are the case. */
const site = (
  rules: string,
  { charger = '', bank = '', load = '', set = '', more = '' }: Site = {},
): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   ${set} }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes   ${charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   protectionLow: 44.8 V   resistance: 8..16 mohm   cellTemperature: 20..25 degC   ${bank} }
  load Fan { power: 512 W   supply: dc   ${load} }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  ${more}
  ${rules.includes('control ') ? rules : `control Autostart of Genset { ${rules} }`}
}
`;

/** What the checks of rules say, each by check, severity and message. */
async function told(text: string): Promise<string[]> {
  const { findings } = await analyseText(text);
  return findings
    .filter(({ check }) => PROVEN.includes(check))
    .map(({ check, severity, message }) => `${check} ${severity}: ${message}`);
}

const LINK = 'link BmsLink: Bank -> Rect { medium: can   timeOut: 30 s }';
const BASE = 'start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 90 %';
const fallback = (stop: string): string =>
  `${BASE}   without BmsLink { start when voltage(Bank) < 50.4 V for 3 min   stop when ${stop} }`;

describe('a stop by voltage with a dwell', () => {
  const FLOATS = { charger: 'float: 54 V', more: LINK };

  it('does not last longer than the absorption: the set runs on, and the fixes end it', async () => {
    for (const dwell of ['20 min', '12 h']) {
      const text = site(fallback(`voltage(Bank) > 55.2 V for ${dwell}`), FLOATS);
      const { findings } = await analyseText(text);
      const [finding, ...others] = findings.filter(({ check }) => check === 'stop-unreachable');
      expect(others).toEqual([]);
      expect(finding?.severity).toBe('error');
      expect(
        lacking(finding?.told, /^Autostart without BmsLink can start Genset and never stop it: with Bank charged/),
      ).toEqual([]);
      expect(finding?.trace?.map(({ event }) => event)).toEqual([
        expect.stringMatching(/^BmsLink lost, .*: with Bank at .* Genset runs after .*$/),
        expect.stringMatching(/later Bank is charged$/),
        expect.stringMatching(/^it still runs .* after its start$/),
      ]);
      expect(finding?.curve?.soc.at(-1)).toBeGreaterThan(0.9);
      // A tail of a day would be an overcharge of its own.
      expect(finding?.fixes.length).toBe(dwell === '12 h' ? 1 : 2);
      for (const fix of finding!.fixes) expect(await told(applyFix(text, fix)), fix.title).toEqual([]);
    }
  });

  it('is sound where the charger has no float, where it waits for its tail, and where the dwell is short', async () => {
    expect(await told(site(fallback('voltage(Bank) > 55.2 V for 20 min'), { more: LINK }))).toEqual([]);
    expect(
      await told(
        site(fallback('voltage(Bank) > 55.2 V for 20 min'), { charger: 'float: 54 V   tailTime: 40 min', more: LINK }),
      ),
    ).toEqual([]);
    expect(await told(site(fallback('voltage(Bank) > 55.2 V for 30 s'), FLOATS))).toEqual([]);
  });

  it('ends with the absorption time too', async () => {
    const timed = (time: string): string =>
      site(fallback('voltage(Bank) > 55.2 V for 20 min'), {
        charger: `float: 54 V   tailTime: 40 min   absorbTime: ${time}`,
        more: LINK,
      });
    expect(await told(timed('1 h'))).toEqual([]);
    expect((await told(timed('5 min'))).join()).toContain('never stop it');
  });
});

describe('rules that are sound', () => {
  it.each<[string, string, Site?]>([
    ['a stop by the longest run alone', 'start when soc(Bank) < 40 %   maximumRun: 4 h'],
    [
      'a charger held between two charges',
      'control Hold of Rect { off when soc(Bank) > 95 %   on when soc(Bank) < 80 % }   control Autostart of Genset { start when soc(Bank) < 40 %   stop when soc(Bank) > 85 % }',
    ],
    [
      'a small differential held by the least run',
      'start when soc(Bank) < 40 %   stop when soc(Bank) > 41 %   minimumRun: 3 h',
    ],
    [
      'two controls that share the year',
      `control Winter of Genset { priority: 1   start when soc(Bank) < 40 % and day < 183   stop when soc(Bank) > 85 % }
       control Summer of Genset { priority: 2   start when soc(Bank) < 30 % and day >= 183   stop when soc(Bank) > 80 % }`,
    ],
  ])('%s', async (_, rules, more) => {
    expect(await told(site(rules, more))).toEqual([]);
  });
});

describe('rules that are not', () => {
  it('two controls that fight', async () => {
    const rules = `control Autostart of Genset { priority: 2   start when soc(Bank) < 40 %   stop when soc(Bank) > 80 % }
      control Second of Genset { priority: 1   start when soc(Bank) < 20 %   stop when soc(Bank) > 35 % }`;
    expect((await told(site(rules))).join('\n')).toMatch(/rule-livelock error: .* on and off again and again/);
  });

  it('a stop above all charge', async () => {
    expect((await told(site('start when soc(Bank) < 40 %   stop when soc(Bank) > 100 %'))).join('\n')).toMatch(
      /stop-unreachable error/,
    );
  });

  it('a set point that heat lowers below the stop', async () => {
    const text = `design D {
  site { altitude: 0 m   ambient: 15..42 degC }
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 28.8 V   float: 27 V   efficiency: 92 %   powerFactor: 0.98   remoteSense: yes   temperatureCompensation: -72 mV/K }
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   series: 2   capacity: 200 Ah   resistance: 3..5 mohm   cellTemperature: 38..42 degC }
  load Fan { power: 200 W   supply: dc }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Autostart of Genset { start when soc(Bank) < 50 %   stop when voltage(Bank) > 28.4 V for 1 min }
}
`;
    expect((await told(text)).join('\n')).toContain('stop-unreachable error');
  });

  it('a start in one hour of the day, with a bank that does not last until then', async () => {
    const rules = 'start when soc(Bank) < 40 % and hour >= 12 h and hour < 13 h   stop when soc(Bank) > 90 %';
    expect((await told(site(rules, { load: '', bank: '' }).replace('512 W', '800 W'))).join('\n')).toMatch(
      /rule-livelock error: .* leaves Genset off though Bank is empty/,
    );
    expect(await told(site(rules).replace('512 W', '60 W'))).toEqual([]);
  });

  it('a temperature that the cells never have', async () => {
    const rules = `${BASE}   start when temperature(Bank) > 40 degC`;
    expect((await told(site(rules))).join('\n')).toMatch(
      /temperature\(Bank\) lies between 20 (?:degC|°C) and 25 (?:degC|°C)/,
    );
  });

  it('times that contradict each other or the charge', async () => {
    expect((await told(site(`${BASE}   minimumRun: 12 h   maximumRun: 6 h`))).join('\n')).toMatch(/control-times/);
    expect((await told(site(`${BASE}   minimumRun: 20 h`))).join('\n')).toMatch(
      /keeps Genset running for .* after Bank is charged/,
    );
    const thirsty = { set: 'fuel: petrol   tank: 4 L   burn: { 25 %: 1.5 L/h, 100 %: 3 L/h }' };
    expect((await told(site(`${BASE}   minimumRun: 4 h`, thirsty))).join('\n')).toMatch(/control-times .*tank/);
    expect(await told(site(`${BASE}   minimumRun: 1 h   maximumRun: 6 h`, thirsty))).toEqual([]);
  });
});

describe('a requirement on a week with something lost', () => {
  const asked = (require: string): string =>
    site(fallback('voltage(Bank) > 55.2 V for 30 s'), { charger: 'float: 54 V', more: LINK }).replace(
      /\n}\n$/,
      `\n  ${require}\n}\n`,
    );

  it('is decided by playing that week', async () => {
    const { requirements, findings } = await analyseText(
      asked(
        'require runTime(Genset) <= 5 h * 7 during lost(BmsLink)   require runTime(Genset) <= 1 h during lost(BmsLink) because "of the noise"',
      ),
    );
    expect(findings.filter(({ severity }) => severity === 'error').map(({ check }) => check)).toContain(
      'requirement-failed',
    );
    expect(requirements.map(({ holds, scenario }) => [holds, scenario])).toEqual([
      [true, 'lost(BmsLink)'],
      [false, 'lost(BmsLink)'],
    ]);
  });

  it.each([
    ['require runTime(Genset) <= 5 h during lost(Nothing)', /no link or source of this design|Nothing/],
    ['require runTime(Genset) <= 5 h during lost(Fan)', /`lost\(…\)` with a link or a source of this design/],
    ['require runTime(Genset) <= 5 h during soc(Bank)', /`lost\(…\)` with a link or a source of this design/],
    [
      'scenario S { from: 2027-01-01   duration: 1 d   soc(Bank): 50 %   require runTime(Genset) <= 5 h during lost(BmsLink) }',
      /no `during`/,
    ],
  ])('%s', async (require, words) => {
    const { findings } = await analyseText(asked(require));
    expect(findings.map(({ told }) => told).join('\n')).toMatch(words);
  });
});

describe('a bank that was emptied, cut off and then charged a little', () => {
  const rules = (start: string): string =>
    site(`start when ${start} for 3 min   stop when soc(Bank) > 90 %   quiet: 22:00..06:30`, {
      bank: 'reserve: 0 %',
      load: 'profile: always',
      more: `grid Mains { voltage: 230 V   rating: 16 A }
  charger Shore { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }`,
    }).replace('capacity: 280 Ah', 'capacity: 80 Ah');

  it('rests above a start by low voltage, which then never comes', async () => {
    const found = await told(rules('voltage(Bank) < 48 V'));
    expect(found.join('\n')).toMatch(
      /rule-livelock info: Once Bank was emptied and charged a little, Autostart leaves Genset off/,
    );
  });

  it('is started for by its charge; that quiet hours bring it down is told once', async () => {
    const found = await told(rules('soc(Bank) < 20 %'));
    expect(found.join('\n')).not.toMatch(/emptied|is empty/);
    expect(found.filter((each) => /quiet hours/i.test(each))).toHaveLength(1);
  });
});
