import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CompletionItem } from 'vscode-languageserver-protocol';
import { withCursor } from '../helpers/fixture.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

/** A hut of our own invention. */
const hut = (at: Readonly<Record<string, string>> = {}): string => `part battery HutPack "Pack of the hut" {
  chemistry: lfp   voltage: 51.2 V   capacity: 280 Ah   cells: 16   maximumDischarge: 200 A   shortCircuitCurrent: 5 kA
}

design Hut {
  basis: nec 2023
  site { altitude: 300 m   ambient: 5..30 degC }
  generator Genset { rated: 5 kW   voltage: 120 V   frequency: 60 Hz }
  charger Rect { currentLimit: 60 A }
  battery Bank : HutPack { ${at['bank'] ?? ''} }
  fuse MainFuse { class: T   rating: ${at['rating'] ?? '125 A'} }
  fuse Spare { class: ${at['fuseClass'] ?? 'T'} }
  breaker Branch { class: ${at['breakerClass'] ?? 'UL489-AC'} }
  bus DcBus { rating: 200 A }
  load Heater { power: 2 kW   supply: dc   ${at['load'] ?? ''} }
  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: ${at['feed'] ?? '2/0 AWG'}   type: FineStranded90   length: 1.2 m   conductors: 2 }
  run Feed: DcBus -> Heater { size: ${at['size'] ?? '14 AWG'}   type: FineStranded90   length: 2 m   conductors: 2 }
  link BmsLink: Bank -> Rect { medium: can }
  ${at['member'] ?? ''}
}
`;

const folder = temporaryFolder({ 'empty.watt': '' });
const uri = pathToFileURL(`${folder}/hut.watt`).href;
let client: LanguageClient;

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  await client.open(uri, hut());
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

/** Types at a place of a design that has been judged, and asks for a list at once. */
async function typed(at: Readonly<Record<string, string>>): Promise<CompletionItem[]> {
  await client.change(uri, hut());
  await client.diagnostics(uri);
  const { text, cursor } = withCursor(hut(at));
  await client.change(uri, text);
  const list = await client.request<{ items: CompletionItem[] } | null>('textDocument/completion', {
    textDocument: { uri },
    position: cursor,
  });
  return [...(list?.items ?? [])].sort((left, right) => (left.sortText! < right.sortText! ? -1 : 1));
}

const labelsAt = async (at: Readonly<Record<string, string>>): Promise<string[]> =>
  (await typed(at)).map(({ label }) => label);

describe('what may be written', () => {
  test('after the class of a breaker is a class of breakers, of a fuse one of fuses', async () => {
    const breakers = await labelsAt({ breakerClass: '$0' });
    expect(breakers).toContain('UL489-AC');
    expect(breakers).not.toContain('T');
    const fuses = await labelsAt({ fuseClass: '$0' });
    expect(fuses).toContain('T');
    expect(fuses).not.toContain('UL489-AC');
  });

  test('as a rating is a standard one of the class, those that hold first, each with its margin', async () => {
    const items = await typed({ rating: '$0' });
    const numbers = items.flatMap(({ label }) => /^(\d+) A$/.exec(label)?.[1] ?? []).map(Number);
    // 2 kW at 51.2 V nominal is 39 A; 125 % of a continuous load asks for about 50 A (NEC 215.3), 2/0 AWG carries far more.
    const [first] = items;
    expect(first!.label).toBe(`${Math.min(...numbers.slice(0, 3))} A`);
    expect(first!.detail).toMatch(/over .* A needed.*conductors allow/);
    // Each row says its margin, whether or not it is looked at.
    expect(first!.labelDetails!.description).toMatch(/^\+\d+(\.\d+)? %$/);
    expect(items.find(({ label }) => label === '15 A')!.labelDetails!.description).toBe('✗ too small');
    const detail = (label: string): string => items.find((item) => item.label === label)?.detail ?? '';
    expect(detail('15 A')).toMatch(/^too small: .* A is needed/);
    expect(detail('600 A')).toMatch(/^too large: the conductors allow/);
    const at = (label: string): number => items.findIndex((item) => item.label === label);
    expect(at('125 A')).toBeLessThan(at('15 A'));
    // NEC 240.6(A) lists 110 A and no 120 A.
    expect(at('110 A')).toBeGreaterThanOrEqual(0);
    expect(at('120 A')).toBe(-1);
    expect(at('abs')).toBeGreaterThan(at('600 A'));
  });

  test('as a size is one of the series, those that hold first, each with ampacity and drop', async () => {
    const items = await typed({ size: '$0' });
    expect(items[0]!.label).toMatch(/AWG$/);
    expect(items[0]!.detail).toMatch(/^carries \d+(\.\d+)? A, loses \d+(\.\d+)? %$/);
    expect(items[0]!.labelDetails!.description).toMatch(/^\d+(\.\d+)? A, \d+(\.\d+)? %$/);
    const thin = items.find(({ label }) => label === '14 AWG')!;
    expect(thin.detail).toMatch(/breaks /);
    expect(items.indexOf(thin)).toBeGreaterThan(0);
    // ASTM B258 has no 5/0 AWG.
    expect(items.map(({ label }) => label)).not.toContain('5/0 AWG');
  });

  test('after a value is the next property, also where the value has no unit', async () => {
    expect(await labelsAt({ bank: 'cells: 16 $0' })).toContain('series');
    expect(await labelsAt({ bank: 'capacity: 280 Ah $0' })).toContain('series');
    expect((await labelsAt({ bank: 'capacity: 280 $0' }))[0]).toBe('Ah');
  });

  test('for a control is what can be controlled', async () => {
    const labels = await labelsAt({ member: 'control Auto of $0' });
    expect(labels).toEqual(expect.arrayContaining(['Genset', 'Heater']));
    expect(labels).not.toContain('MainFuse');
    expect(labels).not.toContain('BankFeed');
    expect(labels).not.toContain('DcBus');
  });

  test('of a rule is a condition of the banks and supplies there are, low ones for a start', async () => {
    const start = await typed({ member: 'control Auto of Genset { start when $0 }' });
    expect(start[0]!.label).toBe('soc(Bank) < 40 %');
    expect(start[0]!.textEdit!.newText).toBe('soc(Bank) < ${1:40 %}');
    const stop = await labelsAt({ member: 'control Auto of Genset { start when soc(Bank) < 40 %  stop when $0 }' });
    expect(stop[0]).toBe('soc(Bank) > 85 %');
    expect(stop).toContain('lost(BmsLink)');
    const quiet = await labelsAt({ member: 'control Auto of Genset { quiet: 22:00..06:30 unless $0 }' });
    expect(quiet[0]).toBe('soc(Bank) < 40 %');
  });

  test('to accept a finding on is what has that finding', async () => {
    expect(await labelsAt({ member: 'accept run-ampacity on $0' })).toEqual(['Feed']);
    expect((await labelsAt({ member: 'accept $0' })).slice(0, 20)).toContain('run-ampacity');
    expect(await labelsAt({ member: 'accept $0' })).not.toContain('syntax-error');
  });

  test('after a dot is every quantity, with its worked calculation when it is looked at', async () => {
    const items = await typed({ member: 'require Feed.$0' });
    const current = items.find(({ label }) => label === 'current')!;
    expect(items.map(({ label }) => label)).toEqual(expect.arrayContaining(['voltageDrop', 'ampacity', 'size']));
    const whole = await client.request<CompletionItem>('completionItem/resolve', current);
    expect(whole.detail).toMatch(/^\d+(\.\d+)? A$/);
    expect((whole.documentation as { value: string }).value).toContain('current');
  });

  test('of a thing is what things of its kind usually state, as one piece', async () => {
    const [first] = await typed({ member: 'run Other: DcBus -> Heater { $0 }' });
    expect(first!.label).toBe('usual properties of a run');
    expect(first!.textEdit!.newText).toBe('size: ${1:?}   type: ${2:?}   length: ${3:?}   conductors: ${4:?}');
  });

  test('of a kind that is new in the project is what examples of the practice state of it', async () => {
    const [first] = await typed({ member: 'inverter Inv { $0 }' });
    expect(first!.label).toBe('usual properties of a inverter');
    for (const name of ['rated', 'voltage', 'dcVoltage', 'efficiency'])
      expect(first!.textEdit!.newText).toMatch(new RegExp(`\\b${name}: \\$`));
    expect(first!.textEdit!.newText).not.toMatch(/apparent|surgeTime/);
  });

  test('as a part is what suits the voltage of the bank first, those of the project before the library', async () => {
    // The bank is nominally 51.2 V; a charger for 24 V has no use here.
    const chargers = await labelsAt({ member: 'charger Second : $0' });
    expect(chargers[0]).toContain('48V');
    expect(chargers.findIndex((label) => label.includes('24V'))).toBeGreaterThan(
      chargers.findLastIndex((label) => label.includes('48V')),
    );
    const banks = await labelsAt({ member: 'battery Second : $0' });
    expect(banks.slice(0, 2)).toEqual(['HutPack', expect.stringContaining('48V')]);
    // What a module gives is no voltage of a bank.
    const modules = await labelsAt({ member: 'solar Roof : $0' });
    const watts = modules.flatMap((label) => /^Module(\d+)W$/.exec(label)?.[1] ?? []).map(Number);
    expect(watts).toEqual([...watts].sort((left, right) => left - right));
  });

  test('as a part shows its ratings, and its text when it is looked at', async () => {
    const items = await typed({ member: 'battery Second : $0' });
    const pack = items[0]!;
    expect(pack.label).toBe('HutPack');
    expect(pack.detail).toBe(
      'Pack of the hut · voltage 51.2 V, capacity 280 Ah, maximumDischarge 200 A, shortCircuitCurrent 5 kA',
    );
    const whole = await client.request<CompletionItem>('completionItem/resolve', pack);
    expect((whole.documentation as { value: string }).value).toContain('```wattwright\npart battery HutPack');
  });

  test('in a requirement of a scenario is what may be asked of it', async () => {
    const items = await labelsAt({ member: 'scenario Dark { duration: 1 d   require $0 }' });
    expect(items.slice(0, 12)).toEqual(expect.arrayContaining(['unserved', 'runTime', 'min']));
    expect(await labelsAt({ member: 'scenario Dark { duration: 1 d   require runTime($0) }' })).toEqual(['Genset']);
  });

  test('as a value of a dimension are functions that give it, and no signals of time', async () => {
    const labels = await labelsAt({ load: 'note: "x"   startTime: $0' });
    expect(labels).toContain('chargeTime');
    expect(labels).not.toContain('soc');
    expect(labels).not.toContain('ampacity');
  });
});

describe('a list', () => {
  test('comes from the last tree while the text of the design is broken', async () => {
    await client.change(uri, hut());
    await client.diagnostics(uri);
    const { text, cursor } = withCursor(hut({ member: 'require Bank.$0' }).replace('run Feed:', 'run Feed'));
    await client.change(uri, text);
    const list = await client.request<{ items: CompletionItem[] }>('textDocument/completion', {
      textDocument: { uri },
      position: cursor,
    });
    expect(list.items.map(({ label }) => label)).toContain('faultCurrent');
  });

  test('is the same once the broken text has been judged', async () => {
    const before = await typed({ size: '$0' });
    await client.diagnostics(uri);
    const { cursor } = withCursor(hut({ size: '$0' }));
    const { items } = await client.request<{ items: CompletionItem[] }>('textDocument/completion', {
      textDocument: { uri },
      position: cursor,
    });
    expect(items.map(({ label, detail }) => [label, detail])).toEqual(
      before.map(({ label, detail }) => [label, detail]),
    );
  });

  test('does not wait for the findings of the text', async () => {
    await client.change(uri, hut());
    await client.diagnostics(uri);
    const { text, cursor } = withCursor(hut({ rating: '$0' }));
    const order: string[] = [];
    await client.change(uri, text);
    await Promise.all([
      client
        .request('textDocument/completion', { textDocument: { uri }, position: cursor })
        .then(() => order.push('list')),
      client.request('textDocument/hover', { textDocument: { uri }, position: cursor }).then(() => order.push('hover')),
    ]);
    expect(order).toEqual(['list', 'hover']);
  });
});
