import { describe, expect, test } from 'vitest';
import { handoverPage } from '../../language/src/index.js';
import { rowsOf, setOf } from './helpers/set-of.js';

/** Invented: a van with one inlet for what a place offers, and a generator. */
const VAN = (more = ''): string => `
design Van {
  basis: nec 2023
  grid Post "Post of the site" { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  grid Garage { voltage: 120 V   rating: 15 A   outlet: NEMA-5-15   neutralBond: bonded }
  generator Genset { rated: 2.4 kW   apparent: 2.4 kVA   voltage: 120 V   outlet: L5-30   breaker: 25 A   neutralBond: bonded   fuel: petrol }
  receptacle Inlet { plug: TT-30   oneCord: yes }
  receptacle GarageAdapter { plug: NEMA-5-15   outlet: TT-30 }
  receptacle GensetAdapter { plug: L5-30   outlet: TT-30 }
  inverter Inv {
    rated: 2 kW   voltage: 120 V   efficiency: 90 %   passThrough: yes   transferRating: 30 A   currentLimit: 60 A   absorb: 14.2 V   float: 13.5 V
    inputLimit: 24 A   inputLimitFrom: { Garage: 12 A }
  }
  battery House { chemistry: lfp   voltage: 12.8 V   capacity: 200 Ah }
  switch Main { rating: 300 A }
  fuse F1 { class: T   rating: 250 A }
  bus Panel { rating: 30 A }
  breaker B1 { rating: 15 A }
  load Kettle { power: 1 kW   voltage: 120 V }
  run PostCord: Post -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run GarageCord: Garage -> GarageAdapter -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run GensetCord: Genset -> GensetAdapter -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run Feed: Inlet -> Inv.input { size: 10 AWG   type: THHN   length: 2 m   conductors: 2 }
  run Out: Inv.ac -> Panel { size: 10 AWG   type: THHN   length: 2 m   conductors: 2 }
  run KettleLine: Panel -> B1 -> Kettle { size: 14 AWG   type: THHN   length: 3 m   conductors: 2 }
  run BankFeed: House -> F1 -> Main -> Inv.dc { size: 250 kcmil   type: THHN   length: 1 m   conductors: 2 }
  ${more}
}
`;

/** The same, with a supply that is wired in. */
const LODGE = VAN('')
  .replace(/ {2}(?:grid Garage|receptacle GarageAdapter|run GarageCord).*\n/g, '')
  .replace('outlet: TT-30   neutralBond', 'neutralBond')
  .replace('inputLimitFrom: { Garage: 12 A }', '')
  .replace('Post -> Inlet', 'Post -> B2 -> Inv.input')
  .replace(/ {2}(?:receptacle|run (?:GensetCord|Feed)).*\n/g, '')
  .replace('bus Panel', 'breaker B2 { rating: 30 A }\n  bus Panel');

const items = async (text: string, title: string): Promise<readonly string[]> =>
  (await setOf(text)).sheets
    .find(({ name }) => name === 'owner')!
    .blocks.flatMap((block) => (block.kind === 'list' && block.title === title ? block.items : []));

describe('what is plugged in', () => {
  test('has no service equipment to put labels on, and its warning stands at the inlet and not at an adapter', async () => {
    const labels = rowsOf(await setOf(VAN()), 'labels');
    const rules = labels.map(({ rule }) => rule);
    expect(rules.filter((rule) => /702\.7\(A\)|705\.10/.test(rule!))).toEqual([]);
    const inlets = labels.filter(({ rule }) => /702\.7\(C\)/.test(rule!));
    expect(inlets.map(({ where }) => where)).toEqual(['near the inlet (Inlet)']);
    expect(labels.find(({ rule }) => /551\.46/.test(rule!))!['says']).toMatch(/^Inlet is for 120 V 30 A \(TT-30\)/);
    expect(labels.find(({ says }) => says!.startsWith('Several power sources'))!['rule']).toBe(
      'common practice, no source',
    );
  });

  test('a supply that is wired in has them', async () => {
    const rules = rowsOf(await setOf(LODGE), 'labels').map(({ rule }) => rule!);
    expect(rules.some((rule) => rule.includes('702.7(A)'))).toBe(true);
    expect(rules.some((rule) => rule.includes('705.10'))).toBe(true);
    expect(rules.some((rule) => /551\.46|common practice, no source/.test(rule))).toBe(false);
  });

  test('changes the input limit with its supply: on the settings sheet, before its cord, and for the owner', async () => {
    const set = await setOf(VAN());
    const settings = rowsOf(set, 'settings').filter(({ setting }) => setting!.startsWith('input limit on'));
    expect(settings.map(({ setting, value }) => `${setting}: ${value}`)).toEqual([
      'input limit on Post: 24 A',
      'input limit on Garage: 12 A',
      'input limit on Genset: 24 A',
    ]);
    const steps = set.sheets
      .flatMap(({ blocks }) => blocks)
      .flatMap((block) => (block.kind === 'table' && /^steps\d+$/.test(block.key) ? rowsOf(set, block.key) : []))
      .map(({ do: doing }) => doing!);
    for (const [supply, limit] of [
      ['Post', '24 A'],
      ['Garage', '12 A'],
      ['Genset', '24 A'],
    ]) {
      const limited = steps.indexOf(`Inv: set its input limit to ${limit} before ${supply} is connected.`);
      const plugged = steps.findIndex((step) => step.startsWith(`${supply}Cord: plug it in`));
      expect(limited, supply).toBeGreaterThanOrEqual(0);
      expect(plugged, supply).toBeGreaterThan(limited);
    }
    expect((await items(VAN(), 'To start')).join('\n')).toContain(
      'Before you plug in, set the input limit of Inv: 24 A for Post of the site (Post), 12 A for Garage, 24 A for Genset.',
    );
  });

  test('is told to the owner: one cord at a time, and none that comes by itself', async () => {
    const start = (await items(VAN(), 'To start')).join('\n');
    expect(start).toContain('Inlet accepts one cord at a time, of Post of the site (Post), Garage or Genset.');
    expect(start).not.toContain('by itself');
    expect(start).toMatch(/Start Genset .*Plug in its cord first/);
    const danger = await items(VAN(), 'In an emergency');
    expect(danger.join('\n')).toContain('Unplug Post of the site (Post), Garage at the supply');
    expect((await items(LODGE, 'In an emergency')).join('\n')).toContain('B2, which brings in Post of the site (Post)');
  });

  test('is protected by the device of what it is plugged into', async () => {
    const by = new Map(rowsOf(await setOf(VAN()), 'protected').map((row) => [row['name'], row]));
    expect(by.get('GarageCord')).toMatchObject({ protection: '15 A', by: 'the service of Garage' });
    expect(by.get('GensetCord')).toMatchObject({ protection: '25 A', by: 'the breaker of Genset' });
    expect(by.get('KettleLine')).toMatchObject({ protection: '15 A', by: 'B1' });
    const bare = rowsOf(await setOf(VAN().replace('House -> F1 ->', 'House ->')), 'protected');
    expect(bare.find(({ name }) => name === 'BankFeed')).toMatchObject({ protection: undefined, by: '' });
  });
});

describe('the owner’s help', () => {
  const troubles = async (text: string) => rowsOf(await setOf(text), 'trouble');

  test('says what to do when it is dark, when the generator does not start, and how to leave it for the winter', async () => {
    const rows = await troubles(VAN());
    const doing = (seen: string): string => rows.find((row) => row['seen'] === seen)!['doing']!;
    expect(doing('Everything is dark')).toMatch(/^1\. Look at Inv: .* 2\. See whether the bank is switched on: Main,/);
    expect(doing('Genset does not start')).toContain('fuel (gasoline)');
    expect(doing('Genset does not start')).not.toContain('automatic');
    const rest = (await items(VAN(), 'When it is left unused, as over the winter')).join('\n');
    expect(rest).toContain('Charge House to about half');
    // The usual lowest temperature of charge of the chemistry: none is stated.
    expect(rest).toContain('must not be colder than 0 °C');
    const own = VAN().replace('capacity: 200 Ah', 'capacity: 200 Ah   chargeTemperature: 5..45 degC');
    expect((await items(own, 'When it is left unused, as over the winter')).join('\n')).toContain('colder than 5 °C');
  });

  test('speaks of what there is and of nothing else', async () => {
    const lead = VAN().replace('chemistry: lfp   voltage: 12.8 V', 'chemistry: flooded   voltage: 12 V');
    const rest = (await items(lead, 'When it is left unused, as over the winter')).join('\n');
    expect(rest).toContain('Charge House fully');
    expect(rest).not.toContain('about half');
    const quiet = VAN().replace(/ {2}(?:generator|receptacle GensetAdapter|run GensetCord).*\n/g, '');
    expect((await troubles(quiet)).map(({ seen }) => seen).join()).not.toMatch(/Genset|carbon|generator/);
  });
});

test('a very long title is cut at a word in heads and captions, and stands whole in the summary', async () => {
  const long = `${'A house with a long name '.repeat(80)}end`;
  const set = await setOf(VAN().replace('design Van {', `design Van "${long}" {`));
  expect(set.title.length).toBeLessThanOrEqual(121);
  expect(set.title).toMatch(/ (?:A|house|with|a|long|name)…$/);
  const page = handoverPage(set);
  expect(page.split(long)).toHaveLength(2);
  expect(page.slice(page.indexOf('<h1>'), page.indexOf('</h1>')).length).toBeLessThan(200);
});

describe('links', () => {
  const LINKED = (count: number): string =>
    VAN(
      Array.from(
        { length: count },
        (_, index) => `link L${index}: House -> Inv { medium: can   rate: 250 kbit/s }`,
      ).join('\n  '),
    );

  test('of which there are few stand upright below the settings, one to a column', async () => {
    const page = handoverPage(await setOf(LINKED(2)));
    expect(page).toContain('<th scope="col">L0</th><th scope="col">L1</th>');
    expect(page).toContain('<th scope="row">Rate</th><td><span class="v">250 kbit/s</span></td>');
    expect(page).toContain('#links{page:sheet-settings}');
    expect(page).toMatch(/@page sheet-settings\{[^}]*@top-left\{content:"Settings sheet · Links"/);
    expect(page).not.toContain('@page sheet-links');
  });

  test('of which there are many have a page of their own, across', async () => {
    const page = handoverPage(await setOf(LINKED(5)));
    expect(page).toContain('<section class="sheet wide" id="links"');
    expect(page).toMatch(/@page sheet-links\{size:Letter landscape/);
  });
});
