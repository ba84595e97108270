import { describe, expect, it } from 'vitest';
import type { Analysis } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/** A hut of our own invention whose one scenario holds with ease. */
const hut = (statement: string, head = 'from: 2027-01-10   duration: 1 d', more = ''): string => `design Hut {
  basis: iec
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  grid Mains { voltage: 230 V   rating: 16 A   frequency: 50 Hz }
  charger Rect { currentLimit: 20 A   maximumCurrent: 20 A   absorb: 28 V   float: 27 V   efficiency: 90 %   powerFactor: 1   input: 180..264 V }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 6 mohm   cellTemperature: 25 degC }
  load Lamp { power: 10 W   supply: dc   profile: always }
  run Cord: Mains -> Rect.ac { }
  run Feed: Rect.dc -> Bank { }
  run Line: Bank -> Lamp { }
  ${more}
  scenario S { ${head}   soc(Bank): 90 %   ${statement}
    require min(soc(Bank)) >= 30 %
  }
}
`;

const errors = ({ findings }: Analysis): string[] =>
  findings.filter(({ severity }) => severity === 'error').map(({ place, message }) => `${place.line + 1}: ${message}`);

const outcome = ({ scenarios, requirements }: Analysis): unknown => [
  scenarios[0]!.played.kind,
  requirements.at(-1)!.holds ?? requirements.at(-1)!.undecided,
];

describe('a scenario without faults', () => {
  it('is played and decides its requirement', async () => {
    const analysis = await analyseText(hut(''));
    expect(errors(analysis)).toEqual([]);
    expect(outcome(analysis)).toEqual(['played', true]);
  });

  it.each([
    'lost(Mains): 6 h .. 20 h',
    'lost(Mains): 0 h .. 40 h',
    'lost(Mains): always',
    'temperature(Bank): -20 degC',
    'runs: 2   seed: 7',
    'profile(Lamp): { 07:00..08:00: 150 % }',
  ])('%s', async (statement) => {
    const analysis = await analyseText(hut(statement));
    expect(errors(analysis)).toEqual([]);
    expect(analysis.scenarios[0]!.played.kind).toBe('played');
  });
});

/** Each is said at its place, and nothing is played or decided. */
async function expectRefused(text: string, message: string): Promise<void> {
  const analysis = await analyseText(text);
  const found = errors(analysis);
  expect(found.join('\n')).toContain(message);
  expect(found).toHaveLength(1);
  expect(found[0]).toMatch(/^(12|13): /);
  expect(outcome(analysis)).toEqual(['refused', 'S cannot be simulated: its text has errors']);
}

describe('a scenario whose text is wrong is not played', () => {
  it.each([
    ['runs: -3', '`runs` of scenario S is `-3`; it cannot be below 1.'],
    ['runs: 0', '`runs` of scenario S is `0`; it cannot be below 1.'],
    ['runs: 1e9', '`runs` of scenario S is `1e9`; it cannot be above 100000.'],
    ['runs: 1e308', '`runs` of scenario S is `1e308`; it is beyond anything that is built or measured.'],
    ['runs: 2.5', 'it must be a whole number'],
    ['runs: 2..5', 'it must be one whole number'],
    ['runs: 1e999', 'it is too large to be a number'],
    ['seed: -1', '`seed` of scenario S is `-1`; it cannot be negative.'],
    ['seed: 1e10', 'it cannot be above'],
    ['seed: 0.5', 'it must be a whole number'],
    ['at: 25:00', 'times of day go from 00:00 to 24:00'],
    ['at: -1 h', 'it cannot be negative'],
    ['at: 25 h', 'it cannot be above 24 h'],
    ['at: 1 h .. 2 h', 'it must be one value, not a range'],
    ['step: 1 min', '`step` is no property of a scenario: there are'],
    ['sun: bright', '`bright` is no value of'],
    ['weather: ""', 'is no relative path'],
    ['weather: "\ud83d.csv"', 'is no relative path'],
    ['weather: "/etc/sun.csv"', '`/etc/sun.csv` is no relative path'],
    ['weather: "https://example.org/sun.csv"', 'is no relative path'],
    ['weather: "../../sun.csv"', '`../../sun.csv` lies outside the workspace folder'],
    [
      'lost(Mains): 30 h .. 6 h',
      'The range is `30 h .. 6 h`; its first value is above its second; write the lower one first.',
    ],
    ['lost(Mains): -6 h .. 6 h', 'it begins before the scenario'],
    ['lost(Mains): 6 h .. 6 h', 'it has no length'],
    ['lost(Mains): 24 h .. 30 h', 'it begins after the scenario has ended'],
    ['lost(Mains): 1 h .. 1e300 h', 'it is beyond anything that is built or measured'],
    ['lost(Mains): 1 h .. 5 h, 4 h .. 6 h', 'it overlaps another one'],
    ['lost(Lamp): always', 'a source or a link of this design'],
    ['temperature(Bank): -300 degC', 'it is below absolute zero'],
    ['temperature(Bank): 5000 degC', 'a bank is simulated from -60 °C to 120 °C'],
    ['temperature(Bank): 10..20 degC', 'a scenario starts from one value, not from a range'],
    ['profile(Lamp): { 07:00..08:00: -50 % }', 'it cannot be negative'],
    ['profile(Lamp): { 07:00..08:00: 1e300 % }', 'it is beyond anything that is built or measured'],
    ['soc(Bank): 80 %', 'statement of this scenario'],
    ['require min(soc(Lamp)) >= 3 V', 'soc'],
  ])('%s', async (statement, message) => {
    await expectRefused(hut(statement), message);
  });

  it.each([
    ['soc(Bank): 150 %', '150 %'],
    ['soc(Bank): -5 %', 'a state of charge goes from 0 % to 100 %'],
    ['soc(Bank): 20..90 %', 'a scenario starts from one value, not from a range'],
    ['soc(Bank): 1e308', 'a share from 0 % to 100 %'],
  ])('%s', async (start, message) => {
    await expectRefused(hut('').replace('soc(Bank): 90 %', start), message);
  });

  it.each([
    ['from: 2027-01-10   duration: -5 d', '`duration` of scenario S is `-5 d`; it cannot be negative.'],
    ['from: 2027-01-10   duration: 0 d', '`duration` of scenario S is `0 d`; it must be above zero.'],
    ['from: 2027-01-10   duration: 40000 d', 'it cannot be above'],
    ['from: 2027-01-10   duration: 1e308 d', 'it is too large to be a number'],
    ['from: 2027-01-10   duration: 1..5 d', 'it must be one value, not a range'],
    ['from: 2027-01-10   duration: 5 V', 'needs duration (d); `5 V` is voltage'],
    ['from: 2027-01-10   duration: 1 d   duration: 2 d', 'duration'],
    ['from: 2027-02-30   duration: 1 d', 'there is no such day'],
    ['from: 0001-01-01   duration: 1 d', 'days from 1900-01-01 to 2199-12-31 can be simulated'],
    ['from: 9999-12-31   duration: 1 d', 'days from 1900-01-01 to 2199-12-31 can be simulated'],
    ['from: yesterday   duration: 1 d', 'a date such as 2027-01-15'],
  ])('%s', async (head, message) => {
    await expectRefused(hut('', head), message);
  });

  it('in a variant, where the base is sound, and in the variant of a base that is not', async () => {
    const sound = await analyseText(`${hut('')}variant Other of Hut { S.runs = -3 }\n`);
    expect(sound.scenarios.map(({ design, played }) => [design, played.kind])).toEqual([
      ['Hut', 'played'],
      ['Other', 'refused'],
    ]);
    const faulty = await analyseText(`${hut('runs: -3')}variant Other of Hut { Lamp.power = 11 W }\n`);
    expect(faulty.scenarios.map(({ played }) => played.kind)).toEqual(['refused', 'refused']);
  });
});

describe('what is stated, but wrongly,', () => {
  const missing = (text: string): Promise<string[]> =>
    analyseText(text).then(({ questions }) => [...new Set(questions.flatMap((question) => question.missing))]);

  it.each([
    ['battery Bank { capacity: -100 Ah   voltage: 12 V }', 'capacity of Bank (what is stated of it is wrong)'],
    ['battery Bank { capacity: 100 V   voltage: 12 V }', 'capacity of Bank (what is stated of it is wrong)'],
    ['battery Bank { capacity: oops   voltage: 12 V }', 'capacity of Bank (what is stated of it is wrong)'],
    ['battery Bank { capacity: 1e300 Ah   voltage: 12 V }', 'capacity of Bank (what is stated of it is wrong)'],
    ['battery Bank { voltage: 12 V }', 'capacity of Bank'],
  ])('is not called missing without a word: %s', async (bank, fact) => {
    const found = await missing(
      `design Hut { ${bank} load Lamp { power: 10 W supply: dc profile: always } run Line: Bank -> Lamp { } require Bank.energy >= 1 kWh }`,
    );
    expect(found).toContain(fact);
  });

  it('nor where a part states it, unless the design states it rightly', async () => {
    const text = (own: string): string =>
      `part battery Pack { capacity: -100 Ah   voltage: 12 V }\ndesign Hut { battery Bank : Pack { ${own} } require Bank.energy >= 1 kWh }`;
    expect(await missing(text(''))).toContain('capacity of Bank (what is stated of it is wrong)');
    expect((await missing(text('capacity: 90 Ah'))).join()).not.toContain('capacity');
  });
});

describe('ranges', () => {
  it.each([
    ['site { ambient: 30..-5 degC }', '30..-5 degC'],
    ['charger Rect { input: 264..216 V }', '264..216 V'],
    ['charger Rect { input: 264 V .. 0.2 kV }', '264 V .. 0.2 kV'],
    ['load Lamp { power: 5..3 W }', '5..3 W'],
    ['require 5 V..3 V < 9 V', '5 V..3 V'],
    ['let span = 3 h .. 90 min', '3 h .. 90 min'],
    ['grid Mains { faultCurrent: 10 kA .. 100 A }', '10 kA .. 100 A'],
  ])('that run from the higher to the lower are told: %s', async (member, text) => {
    expect(errors(await analyseText(`design Hut { ${member} }`))).toEqual([
      `1: The range is \`${text}\`; its first value is above its second; write the lower one first.`,
    ]);
  });

  it.each(['48 V ± -5 V', '48 V ± -5 %', '48 V +/- -1 V'])('with a spread below nothing are told: %s', async (text) => {
    expect(errors(await analyseText(`design Hut { battery Bank { voltage: ${text} } }`)).join()).toContain(
      'what stands behind ± cannot be negative',
    );
  });
});

describe('values that nothing can have', () => {
  it.each([
    ['inverter Inv { cutOff: 1e308 V   reconnect: 25 V }', 'cutOff'],
    ['battery Bank { capacity: 1e300 Ah }', 'capacity'],
    ['load Lamp { power: -1e300 W .. 1 W }', 'power'],
    ['grid Mains { voltage: 1e300 V }', 'voltage'],
    ['battery Bank { price: 1e300 EUR }', 'price'],
    ['generator Set { burn: { 25 %: 1e300 L/h } }', 'value'],
  ])('are told where they stand, and no number that is none gets out: %s', async (member, name) => {
    const analysis = await analyseText(`design Hut { ${member} }`);
    expect(errors(analysis).join()).toMatch(new RegExp(`${name}\\b.*(?:beyond anything|cannot be)`));
    expect(analysis.findings.map(({ told }) => told).join()).not.toMatch(/Infinity|NaN/);
  });

  it.each([
    'site { ambient: -300..20 degC }',
    'battery Bank { cellTemperature: -274 degC }',
    'run R { ambient: -500 degF }',
  ])('colder than absolute zero: %s', async (member) => {
    const text = `design Hut { ${member.replace('run R {', 'bus A run R: A -> A {')} }`;
    expect(errors(await analyseText(text)).join()).toContain('it is below absolute zero');
  });
});
