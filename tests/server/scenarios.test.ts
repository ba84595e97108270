import type { Diagnostic, Hover } from 'vscode-languageserver-protocol/node';
import { writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

/** A hut of our own invention whose bank feeds 512 W day and night. */
const hut = (scenario: string, name = 'Hut'): string => `design ${name} {
  site { altitude: 0 m   ambient: 10..20 degC   latitude: 46 deg   longitude: 9 deg }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 60 L
    burn: { 25 %: 0.8 L/h, 50 %: 1.1 L/h, 75 %: 1.5 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %
    powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 16 mohm }
  load Fan { power: 512 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Autostart of Genset { start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 85 % }
  scenario S { from: 2027-01-10   ${scenario} }
}
`;

const SHORT = 'duration: 3 d   soc(Bank): 90 %   sun: none   require min(soc(Bank)) >= 45 %';
/** Takes minutes to be played. */
const LONG = 'duration: 36500 d   runs: 2   soc(Bank): 90 %   sun: none   require min(soc(Bank)) >= 45 %';

const textOf = (message: Diagnostic['message']): string => (typeof message === 'string' ? message : message.value);

const failed = (list: readonly Diagnostic[]): boolean => list.some(({ code }) => code === 'requirement-failed');

let client: LanguageClient;
const folder = temporaryFolder({});
const uri = (name: string): string => pathToFileURL(`${folder}/${name}`).href;
beforeAll(async () => {
  client = await LanguageClient.start(folder);
});
afterAll(() => client.stop());

describe('scenarios in the editor', () => {
  it('are played behind the findings, and not again for an edit elsewhere', async () => {
    const file = uri('short.watt');
    await client.open(file, hut(SHORT));
    const fast = await client.diagnostics(file);
    expect(fast.length).toBeGreaterThan(0);
    expect(failed(fast)).toBe(false);
    const whole = await client.diagnosticsWhen(file, failed);
    expect(whole.length).toBe(fast.length + 1);

    // What was played counts at once where the text still means the same.
    await client.change(file, `// A remark.\n${hut(SHORT)}`);
    const again = await client.diagnostics(file);
    expect(failed(again)).toBe(true);

    // A change of the design plays it again.
    await client.change(file, hut(SHORT).replace('capacity: 280 Ah', 'capacity: 281 Ah'));
    expect(failed(await client.diagnostics(file))).toBe(false);
    await client.diagnosticsWhen(file, failed);
  });

  it('tell under the cursor what came of them, of their requirements and of readings', async () => {
    const file = uri('hover.watt');
    const text = hut(SHORT).replace(
      '  control Autostart',
      `  require Feed.current <= 70 A
  reading Bank.voltage = 53 V on 2027-03-02
  reading Bank.voltage = 70 V on 2027-03-03
  control Autostart`,
    );
    const hoverAt = async (mark: string): Promise<string> => {
      const lines = text.slice(0, text.indexOf(mark) + 2).split('\n');
      const position = { line: lines.length - 1, character: lines.at(-1)!.length };
      const hover = await client.request<Hover | null>('textDocument/hover', {
        textDocument: { uri: file },
        position,
      });
      return hover ? (hover.contents as { value: string }).value : '';
    };
    await client.open(file, text);
    await client.diagnostics(file);
    expect(await hoverAt('require Feed.current')).toMatch(/\*\*PASS\*\* .*= 60 A \(limit ≤ 70 A\)/);
    expect(await hoverAt('reading Bank.voltage = 53 V')).toMatch(/\*\*PASS\*\* .*= 53 V \(predicted \S+ V to \S+ V\)/);
    expect(await hoverAt('reading Bank.voltage = 70 V')).toMatch(/\*\*FAIL\*\* .*= 70 V \(predicted/);
    await client.diagnosticsWhen(file, failed);
    expect(await hoverAt('require min(soc')).toMatch(/\*\*FAIL\*\* .*= \S+ % \(limit ≥ 45 %\)/);
    for (const mark of ['scenario S', ' S {']) {
      const outcome = await hoverAt(mark);
      expect(outcome).toMatch(/\| Bank \| lowest charge \| \S+ %/);
      expect(outcome).toMatch(/\*\*FAIL\*\* .*limit ≥ 45 %/);
    }
    // What is being played again is not told from before.
    await client.change(file, text.replace('duration: 3 d', 'duration: 36500 d'));
    await client.diagnostics(file);
    expect(await hoverAt('scenario S')).toMatch(/Not (?:played|simulated) yet/);
  });

  it('tell no outcome of a text with errors: what is left of it is another design', async () => {
    const file = uri('faulty.watt');
    const text = hut('duration: 3 d   soc(Bank): 90 %   sun: none').replace(
      'power: 512 W',
      'powr: 512 W   power: 512 W',
    );
    await client.open(file, text);
    await client.diagnosticsWhen(file, (list) => list.some(({ code }) => code === 'unknown-name'));
    const at = text.indexOf('scenario S');
    const before = text.slice(0, at).split('\n');
    const hover = await client.request<Hover>('textDocument/hover', {
      textDocument: { uri: file },
      position: { line: before.length - 1, character: before.at(-1)!.length + 1 },
    });
    expect((hover.contents as { value: string }).value).toMatch(/cannot be simulated: its text has errors/);
  });

  it('that take long hold nothing up, and end with the text they belong to', async () => {
    const file = uri('long.watt');
    await client.open(file, hut(LONG));
    await client.diagnostics(file);
    // The play is under way now.
    await new Promise((resolve) => setTimeout(resolve, 600));
    for (const remark of ['one', 'two', 'three']) {
      await client.request('textDocument/hover', { textDocument: { uri: file }, position: { line: 3, character: 5 } });
      await client.change(file, `// ${remark}\n${hut(LONG)}`);
      // Findings of the text have come, and what only the play shows has not.
      expect((await client.diagnostics(file)).some(({ code }) => code === 'requirement-failed')).toBe(false);
    }
    // A scenario that can be played in a moment does not wait for one that is no longer asked about.
    await client.change(file, hut(SHORT));
    await client.diagnosticsWhen(file, failed);
  });

  it('are no longer spoken of when their file is gone', async () => {
    const file = uri('gone.watt');
    await client.open(file, hut(LONG, 'Gone'));
    await client.diagnostics(file);
    await client.close(file);
    await client.diagnosticsWhen(file, (list) => list.length === 0);
    await new Promise((resolve) => setTimeout(resolve, 1000));
    expect(await client.diagnosticsWhen(file, () => true)).toEqual([]);
  });

  it('read weather from a file beside the design, and from nowhere else', async () => {
    writeFileSync(`${folder}/weather.csv`, 'nothing of use');
    const scenario = (path: string): string =>
      `duration: 1 d   soc(Bank): 90 %   weather: "${path}"   require min(soc(Bank)) >= 45 %`;
    const array = `solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V
    series: 3   powerCoefficient: -0.35 %/K   noct: 44 degC   tilt: 30 deg   azimuth: 180 deg }
  chargeController Tracker { currentLimit: 50 A   absorb: 56 V   float: 54 V   efficiency: 97 % }
  run ArrayRun: Array -> Tracker.solar { size: 6 mm2   length: 10 m }
  run TrackerRun: Tracker.dc -> Bank { size: 16 mm2   length: 1 m }
  site { timeZone: "Europe/Zurich"   `;
    const asked = async (name: string, path: string): Promise<string> => {
      const file = uri(name);
      await client.open(file, hut(scenario(path)).replace('site {', array));
      const isMeant = ({ message }: Diagnostic): boolean =>
        textOf(message).includes('weather.csv') || textOf(message).includes('lies outside');
      return textOf((await client.diagnosticsWhen(file, (all) => all.some(isMeant))).find(isMeant)!.message);
    };
    expect(await asked('near.watt', 'weather.csv')).toContain('the weather file weather.csv cannot be used');
    expect(await asked('far.watt', '../outside.csv')).toContain('`../outside.csv` lies outside the workspace folder');
  });
});

describe('work that lasts', () => {
  it('goes on where the editor refuses to show it', async () => {
    const within = temporaryFolder({});
    const { client: own } = await LanguageClient.startWithin(within, undefined, { window: { workDoneProgress: true } });
    try {
      let asked = 0;
      own.connection.onRequest('window/workDoneProgress/create', () => {
        asked += 1;
        throw new Error('no room for it');
      });
      await own.notify('initialized', {});
      const file = pathToFileURL(`${within}/long.watt`).href;
      await own.open(file, hut(LONG));
      await expect.poll(() => asked, { timeout: 600_000 }).toBeGreaterThan(0);
      await own.change(file, hut(SHORT));
      await own.diagnosticsWhen(file, failed);
    } finally {
      own.stop();
    }
  });

  it('is shown by the editor, and can be left off there', async () => {
    const within = temporaryFolder({});
    const seen: { readonly token: string | number; readonly value: Record<string, unknown> }[] = [];
    const { client: own } = await LanguageClient.startWithin(within, undefined, { window: { workDoneProgress: true } });
    try {
      own.connection.onRequest('window/workDoneProgress/create', () => null);
      own.connection.onNotification('$/progress', (progress: (typeof seen)[number]) => void seen.push(progress));
      await own.notify('initialized', {});
      const file = pathToFileURL(`${within}/long.watt`).href;
      await own.open(file, hut(LONG));
      const kindOf = (kind: string) => seen.find(({ value }) => value['kind'] === kind);
      await expect.poll(() => kindOf('report'), { timeout: 600_000 }).toBeTruthy();
      const begun = kindOf('begin')!;
      expect(begun.value).toMatchObject({ cancellable: true, title: expect.stringContaining('long.watt') as string });
      await own.notify('window/workDoneProgress/cancel', { token: begun.token });
      await expect.poll(() => kindOf('end'), { timeout: 600_000 }).toBeTruthy();
      const count = seen.length;
      await new Promise((resolve) => setTimeout(resolve, 1500));
      expect(seen).toHaveLength(count);
    } finally {
      own.stop();
    }
  });
});
