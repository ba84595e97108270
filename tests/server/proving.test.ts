import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

/** A hut of our own invention that asks three things of itself, one of them too much. */
const HUT = `design Hut {
  basis: nec 2023
  site { altitude: 300 m   ambient: 5..30 degC }
  battery Bank {
    chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah   cells: 16   shortCircuitCurrent: 4 kA   resistance: 10..25 mohm
    maximumDischarge: 100 A   reserve: 0 %
  }
  fuse MainFuse { class: T   rating: 60 A }
  load Lamp { power: 51.2 W   supply: dc   profile: always }
  run Feed: Bank -> MainFuse @ 150 mm -> Lamp { size: 6 AWG   type: FineStranded90   length: 1 m   conductors: 2 }
  require Feed.current <= 20 A because "the lamp is small"
  require Feed.current <= 0.5 A
  reading Feed.current = 1 A on 2027-05-02
  scenario Night { from: 2027-01-10   duration: 12 h   soc(Bank): 90 %
    require min(soc(Bank)) >= 20 %
    require min(soc(Bank)) >= 85 %
  }
}
`;

interface Provable {
  readonly id: string;
  readonly sort: string;
  readonly label: string;
  readonly range: { readonly start: { readonly line: number } };
  readonly within?: string;
}
interface Outcome {
  readonly id: string;
  readonly state: string;
  readonly message: string;
  readonly output?: string;
}

const folder = temporaryFolder({ 'hut.watt': HUT });
const uri = pathToFileURL(`${folder}/hut.watt`).href;
let client: LanguageClient;

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  await client.open(uri, HUT);
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

const line = (text: string): number => HUT.slice(0, HUT.indexOf(text)).split('\n').length - 1;

test('what a design asks of itself is listed at its lines, that of a scenario within it', async () => {
  const provables = await client.request<Provable[]>('wattwright/provables', { uri });
  expect(provables.map(({ id, sort, within, range }) => [id, sort, within, range.start.line])).toEqual([
    ['Hut/Night', 'scenario', undefined, line('scenario Night')],
    ['Hut/require//Feed.current <= 20 A', 'requirement', undefined, line('require Feed.current <= 20 A')],
    ['Hut/require//Feed.current <= 0.5 A', 'requirement', undefined, line('require Feed.current <= 0.5 A')],
    ['Hut/require/Night/min(soc(Bank)) >= 20 %', 'requirement', 'Hut/Night', line('>= 20 %')],
    ['Hut/require/Night/min(soc(Bank)) >= 85 %', 'requirement', 'Hut/Night', line('>= 85 %')],
    ['Hut/reading/Feed.current/2027-05-02', 'reading', undefined, line('reading Feed')],
  ]);
});

test('running it gives what came of it, with the numbers; a scenario fails with one of its requirements', async () => {
  const outcomes = await client.request<Outcome[]>('wattwright/prove', { uri });
  const of = (id: string): Outcome => outcomes.find((each) => each.id === id)!;
  // 51.2 W at 51.2 V is 1 A, and 12 h of it draw 12 Ah of 100 Ah: from 90 % to 78 %.
  expect(of('Hut/require//Feed.current <= 20 A').state).toBe('passed');
  expect(of('Hut/require//Feed.current <= 0.5 A')).toMatchObject({ state: 'failed' });
  expect(of('Hut/require//Feed.current <= 0.5 A').message).toMatch(/1(\.\d+)? A \(limit ≤ 0\.5 A\)/);
  expect(of('Hut/reading/Feed.current/2027-05-02').state).toBe('passed');
  expect(of('Hut/require/Night/min(soc(Bank)) >= 20 %')).toMatchObject({ state: 'passed' });
  expect(of('Hut/require/Night/min(soc(Bank)) >= 85 %')).toMatchObject({ state: 'failed' });
  expect(of('Hut/Night').state).toBe('failed');
  expect(of('Hut/Night').output).toContain('Bank lowest charge 78');
});

test('only what is asked for is run', async () => {
  const ids = ['Hut/require//Feed.current <= 20 A'];
  const outcomes = await client.request<Outcome[]>('wattwright/prove', { uri, ids });
  expect(outcomes.map(({ id }) => id)).toEqual(ids);
});

test('a file says how it stands, with what it asks', async () => {
  const state = await client.request<{ errors: number; questions: { fact: string; whom: string }[] }>(
    'wattwright/state',
    { uri },
  );
  expect(state.errors).toBeGreaterThan(0);
  for (const { fact, whom } of state.questions) {
    expect(fact).not.toBe('');
    expect(['nameplate', 'site', 'customer']).toContain(whom);
  }
});

test('what is asked without a file, or of one that is not there, is nothing', async () => {
  expect(await client.request('wattwright/provables', {})).toEqual([]);
  expect(await client.request('wattwright/state', { uri: `${uri}x` })).toBeNull();
  expect(await client.request('wattwright/prove', { uri: 5 })).toEqual([]);
});
