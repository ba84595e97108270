import { describe, expect, test } from 'vitest';
import { type HandoverSet, handoverPage } from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';
import { rowsOf, setOf } from './helpers/set-of.js';

/** Invented: split phase behind an inverter, measured on site. */
const SPLIT = (reading: string): string => `
design Split {
  basis: nec 2023
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah }
  fuse Main { class: T   rating: 200 A }
  inverter Inv { rated: 4 kW   voltage: 120/240 V   efficiency: 90 % }
  load Lamp { power: 100 W   voltage: 120 V   legs: L1 }
  run Feed: Bank -> Main -> Inv.dc { size: 2/0 AWG   length: 1 m   torque: 15 Nm }
  run Line: Inv.ac -> Lamp { size: 12 AWG   length: 8 m }
  ${reading}
}
`;

describe('the commissioning sheet', () => {
  test('expects a voltage to neutral and one between lines, and nothing between the two', async () => {
    const row = async (reading: string) =>
      rowsOf(await setOf(SPLIT(reading)), 'steps4').find(({ measure }) => measure === 'voltage at its output')!;
    // 120 V and 240 V, each as far as ANSI C84.1 range A lets a service stray.
    expect((await row('')).expected).toMatch(/^114 V to 126 V to neutral, 228 V to 252 V between lines, ± /);
    expect((await row('')).measured).toBeUndefined();
    expect((await row('reading Inv.ac.voltage = 121 V')).measured).toBe('121 V PASS');
    expect((await row('reading Inv.ac.voltage = 242 V')).measured).toBe('242 V PASS');
    expect((await row('reading Inv.ac.voltage = 180 V')).measured).toBe('180 V FAIL');
  });

  test('looks for a BMS that has disconnected where there is one, and for a joint in one that has none', async () => {
    const said = async (text: string): Promise<string> => JSON.stringify((await setOf(text)).sheets);
    const lead = SPLIT('').replace(
      'chemistry: lfp   voltage: 51.2 V',
      'chemistry: flooded   voltage: 48 V   cells: 24',
    );
    expect(await said(SPLIT(''))).toMatch(/None: its BMS has disconnected.*The bank has switched itself off/s);
    expect(await said(lead)).toContain('None: a joint between its units is open.');
    expect(await said(lead)).not.toMatch(/own protection has opened|The bank has switched itself off/);
  });

  test('shows the last reading of a place, whatever an earlier one was', async () => {
    const measured = async (more: string) => {
      const rows = rowsOf(await setOf(HUT(more)), 'steps2');
      return rows.find(({ measure }) => measure === 'voltage of the bank')!['measured'];
    };
    expect(await measured('')).toBe('26.3 V PASS');
    expect(await measured('reading Bank.voltage = 19 V on 2028-01-01')).toBe('19 V FAIL');
    expect(await measured('reading Bank.voltage = 19 V on 2026-01-01')).toBe('26.3 V PASS');
    expect(await measured('reading Bank.voltage = 19 V')).toBe('26.3 V PASS');
    expect(await measured('reading Bank.voltage = 19 V on 2027-05-02')).toBe('19 V FAIL');
  });

  test('of a design with errors says first that nothing is switched on by it, and which errors', async () => {
    const first = async (text: string) => {
      const [block] = (await setOf(text)).sheets.find(({ name }) => name === 'commissioning')!.blocks;
      return block!.kind === 'caution' ? block.lines : [];
    };
    // 12 AWG behind 200 A.
    const thin = SPLIT('').replace('2/0 AWG', '12 AWG');
    expect((await first(thin))[0]).toMatch(
      /^This design has .*errors?\. Connect, close and switch on nothing by this sheet/,
    );
    expect((await first(thin)).join()).toContain('Feed');
    const page = handoverPage(await setOf(thin));
    // Once at the top, and on every sheet where a screen shows no head of a page.
    expect(page.match(/<p class="errors( unprinted)?">/g)).toHaveLength(
      1 + page.match(/<section class="sheet/g)!.length,
    );
    const sound = HUT();
    const { hasErrors } = await setOf(sound);
    expect((await first(sound)).join().includes('nothing by this sheet')).toBe(hasErrors);
  });

  test('predicts no range whose least is above its most', async () => {
    const six = SPLIT('').replace(
      'battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah }',
      'battery Bank { chemistry: flooded   voltage: 6 V   series: 3   capacity: 225 Ah }\n  charger Rect { currentLimit: 20 A   absorb: 14.4 V   float: 13.6 V }\n  run Charge: Rect.dc -> Bank { size: 10 AWG   length: 1 m }',
    );
    const row = rowsOf(await setOf(six), 'steps2').find(({ measure }) => measure === 'voltage of the bank')!;
    expect(row['expected']).toMatch(/^not predicted: by the design its least would be above its most/);
  });

  test('has one row of tests a run, with boxes for what nobody has measured', async () => {
    const rows = rowsOf(await setOf(SPLIT('reading Feed.torque = 15 Nm')), 'runTests');
    // 1 m of 2/0 AWG has a third of a milliohm: no meter for continuity shows it. NEC chapter 9 table 8: 12 AWG has
    // 1.98 Ω a thousand feet at 75 °C, by its note 2 1.98 · (1 + 0.00323 · (20 − 75)) = 1.628 Ω at 20 °C; 42.7 mΩ on 8 m.
    expect(rows[0]!['resistance']).toMatch(/^below 10 mΩ on the usual meter; by a micro-ohmmeter \d+ µΩ, ± /);
    expect(rows[1]!['resistance']).toBe('42.7 mΩ, ± 2.1 mΩ');
    expect(rows.map(({ run }) => run)).toEqual(['Feed', 'Line']);
    expect(rows[0]).toMatchObject({ torque: '15 N·m', tightened: '15 N·m PASS', polarity: undefined });
    expect(rows[1]).toMatchObject({ torque: undefined, tightened: undefined });
  });
});

/** Invented: a hut with what the wiring sheets need. */
const HUT = (more = '', bank = ''): string => `
design Hut {
  basis: iec
  cutAllowance: 0.4 m   cutReserve: 5 %
  generator Genset { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.5 A }
  chargeController Tracker { currentLimit: 20 A   absorb: 28.4 V   float: 27 V   enclosure: "board" }
  charger Rect { currentLimit: 40 A   absorb: 28.4 V   float: 27 V   enclosure: "board" }
  battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah   ${bank} }
  bus Bar { rating: 200 A   enclosure: "board"   stud: 8 mm }
  fuse Main { class: gG   rating: 100 A }
  inverter Inv { rated: 1 kW   apparent: 1 kVA   voltage: 230 V   cutOff: 23 V   reconnect: 25 V }
  load Lamp { power: 100 W   voltage: 230 V }
  run Feed: Bank -> Main -> Bar { size: 35 mm2   type: H07V-K   length: 1 m   conductors: 2   colour: "red, black"   number: "W1"   torque: 12 Nm }
  run InvFeed: Bar -> Inv.dc { size: 35 mm2   type: H07V-K   length: 2 m }
  run Sun: Array -> Tracker.solar { size: 6 mm2   length: 12 m }
  run SunFeed: Tracker.dc -> Bar { size: 6 mm2   length: 1 m }
  run Charge: Rect.dc -> Bar { size: 10 mm2   type: H07V-K   length: 1 m   conductors: 2   earth: 6 mm2 }
  run GenLine: Genset -> Rect.ac { size: 2.5 mm2   type: H07RN-F   length: 10 m }
  run Line: Inv.ac -> Lamp { size: 1.5 mm2   length: 8 m }
  reading Bank.voltage = 26.3 V on 2027-05-02
  ${more}
}
`;

describe('the settings sheet', () => {
  const rows = async (text: string) => rowsOf(await setOf(text), 'voltageOfBank');
  const row = async (what: string, text = HUT()) => (await rows(text)).find((each) => each['what'] === what)!;

  test('gives each set point its place, its reason and the distance that it must keep', async () => {
    // Hand calculation: 25 V − 23 V.
    expect(await row('Inv reconnects')).toMatchObject({ value: '25 V', at: 'Inv', tolerance: undefined });
    expect((await row('Inv reconnects'))['reason']).toMatch(/2 V above 23 V \(Inv cuts off\)\.$/);
    const protectedBank = HUT('', 'protectionHigh: 29.2 V');
    // 29.2 V − 28.4 V.
    expect((await row('absorb of Rect', protectedBank))['reason']).toMatch(/0\.8 V below 29\.2 V|800 mV below 29\.2 V/);
    const limit = await row('highest charge voltage of Bank', protectedBank);
    expect(limit).toMatchObject({ at: '', tolerance: '', set: '' });
  });

  test('says it where a set point does not keep its side, and a range as its tolerance', async () => {
    const wrong = HUT()
      .replace('reconnect: 25 V', 'reconnect: 22.5 V')
      .replace('absorb: 28.4 V', 'absorb: 28.4 V ± 0.2 V');
    expect((await row('Inv reconnects', wrong))['reason']).toMatch(/Not above 23 V \(Inv cuts off\): look at both\.$/);
    expect((await row('absorb of Tracker', wrong))['tolerance']).toMatch(/^± (0\.2 V|200 mV)$/);
  });

  test('a rule keeps apart from the one that undoes it, and acts before the inverter cuts off', async () => {
    const auto = HUT(
      'control Auto of Genset { start when voltage(Bank) < 24.5 V for 1 min   stop when voltage(Bank) > 27.5 V for 1 min }',
    );
    expect((await row('Auto starts Genset below', auto))['reason']).toBe(
      '3 V below 27.5 V (Auto stops Genset above). 1.5 V above 23 V (Inv cuts off).',
    );
    expect((await row('Auto stops Genset above', auto))['reason']).toBe('3 V above 24.5 V (Auto starts Genset below).');
  });
});

test('a control rule says why it stands where it does, and has a box where nothing is known', async () => {
  const reasons = async (control: string) => rowsOf(await setOf(HUT(control)), 'rules').map(({ reason }) => reason);
  const auto = 'control Auto of Genset { start when voltage(Bank) < 24.5 V for 1 min   stop when soc(Bank) > 90 % }';
  // Hand calculation: 24.5 V − 23 V; nothing else is set along the state of charge.
  expect(await reasons(auto)).toEqual([undefined, '1.5 V above 23 V (Inv cuts off).']);
  expect(await reasons(`/** For long nights. */ ${auto}`)).toEqual([
    'For long nights.',
    'For long nights. 1.5 V above 23 V (Inv cuts off).',
  ]);
});

test('a service that states its outlet is switched on there, one that is wired in by whoever may', async () => {
  const start = async (outlet: string) => {
    const set = await setOf(
      HUT(`grid Quay { voltage: 230 V   rating: 16 A   neutralBond: bonded   ${outlet} }
  charger Shore { currentLimit: 20 A   absorb: 28.4 V   float: 27 V }
  run Cord: Quay -> Shore.ac { size: 2.5 mm2   length: 15 m }
  run ShoreFeed: Shore.dc -> Bar { size: 10 mm2   length: 1 m }`),
    );
    const steps = commissioningText(set);
    return steps.filter((each) => each.startsWith('Quay: ') || each.startsWith('Cord: '));
  };
  expect((await start('outlet: IEC-60309-16')).join('\n')).toMatch(/Quay: switch its outlet on[^]*Cord: plug it in/);
  expect((await start('')).join('\n')).toMatch(/Quay: have it switched on by whoever may/);
  expect((await start('')).join('\n')).not.toContain('plug it in');
});

test('a set that rules start is tried by hand before it may start by itself', async () => {
  const auto =
    'control Auto of Genset { start when voltage(Bank) < 24.5 V for 1 min   stop when voltage(Bank) > 27.5 V }';
  const steps = commissioningText(await setOf(HUT(auto)));
  const tried = steps.findIndex((each) =>
    /^Genset: take its lock off, keep its automatic start off, check oil/.test(each),
  );
  const released = steps.findIndex((each) => /^Switch on the automatic start of Genset/.test(each));
  expect(tried).toBeGreaterThan(0);
  expect(released).toBeGreaterThan(tried);
  expect(commissioningText(await setOf(HUT())).join('\n')).not.toContain('automatic start');
});

/** What is done, step by step. */
function commissioningText({ sheets }: HandoverSet): readonly string[] {
  const blocks = sheets.find(({ name }) => name === 'commissioning')!.blocks;
  return blocks.flatMap((block) => {
    if (block.kind !== 'table' || !/^steps\d+$/.test(block.key)) return [];
    const at = block.columns.findIndex(({ key }) => key === 'do');
    return block.rows.flatMap((row) => {
      const cell = row[at];
      return cell?.kind === 'text' ? [cell.text] : [];
    });
  });
}

test('the diagram alone begins on its first page, other sheets with what stands before them', async () => {
  const set = await setOf(HUT());
  const front = (name: string) =>
    handoverPage({ ...set, sheets: set.sheets.filter((each) => each.name === name) }).includes(
      'header,nav{display:none}',
    );
  expect(front('diagram')).toBe(true);
  expect(front('wires')).toBe(false);
});

describe('panel schedules', () => {
  const BOARD = (breakers: string): string => `
design Board {
  basis: nec 2023
  inverter Inv { rated: 4 kW   voltage: 120/240 V }
  bus Panel "in the hall" { rating: 60 A }
  breaker B1 { class: UL489-AC   rating: 15 A   poles: 1 }
  breaker B2 { class: UL489-AC   rating: 20 A   poles: 2   groundFault: yes }
  load Lamp { power: 100 W   voltage: 120 V   legs: L1   count: 3 }
  load Pump { power: 1 kW   voltage: 240 V }
  run Out: Inv.ac -> Panel { size: 6 AWG }
  ${breakers}
}
`;
  const TWO = `run Light: Panel -> B1 -> Lamp { size: 14 AWG }
  run Water: Panel -> B2 -> Pump { size: 12 AWG }`;

  test('say what each circuit of a bus serves, with places to spare', async () => {
    const rows = rowsOf(await setOf(BOARD(TWO)), 'panel1');
    expect(rows).toHaveLength(3);
    // 3 · 100 W.
    expect(rows[0]).toMatchObject({
      number: '1',
      serves: 'Lamp',
      device: 'B1',
      rating: '15 A',
      legs: 'L1',
      power: '300 W',
    });
    expect(rows[1]).toMatchObject({ number: '2', serves: 'Pump', poles: '2', groundFault: 'yes', place: undefined });
    expect(rows[2]).toMatchObject({ number: 'spare', serves: undefined, device: undefined });
  });

  test('a bus that one circuit leaves has none', async () => {
    const set = await setOf(
      BOARD('run Light: Panel -> B1 -> Lamp { size: 14 AWG }\n  run Water: Inv.ac -> B2 -> Pump { size: 12 AWG }'),
    );
    expect(() => rowsOf(set, 'panel1')).toThrow('there is no table panel1');
  });
});

test('the page says whom each sheet is for in whole words, and nothing beside a table widens it on a phone', async () => {
  const page = handoverPage(await setOf(HUT()));
  expect(page).toContain('</a> for the owner</li>');
  expect(page).toContain('</a> for whoever sets the devices</li>');
  expect(page).not.toContain('for the who');
  // What is hidden from eyes is placed within its table: outside of it, it would make the whole page as wide as the table.
  expect(page).toContain('.scroll{overflow-x:auto;position:relative}');
});

test('upkeep has its own record: what, who, and boxes for when it was done', async () => {
  const rows = rowsOf(await setOf(HUT()), 'upkeep');
  expect(new Set(rows.map(({ every, who }) => `${every} ${who}`))).toEqual(
    new Set(['month you', 'year a qualified person']),
  );
  expect(rows.some(({ what }) => what!.startsWith('Run Genset under load'))).toBe(true);
  for (const row of rows) expect([row['first'], row['fourth']]).toEqual([undefined, undefined]);
});

describe('the wire schedule', () => {
  test('cuts each conductor with its reserve and its allowance at both ends, and totals what is known', async () => {
    const set = await setOf(HUT());
    const cut = (run: string) => rowsOf(set, 'wires').find(({ name }) => name === run)!['cut'];
    // 1 m · 1.05 + 2 · 0.4 m
    expect(cut('Feed')).toMatch(/^1\.85 m/);
    // 10 m · 1.05 + 2 · 0.4 m
    expect(cut('GenLine')).toMatch(/^11\.3 m/);
    const rows = rowsOf(set, 'cuts');
    const row = (size: string, type: string) => rows.find((each) => each['size'] === size && each['type'] === type)!;
    // A cord holds all its conductors: one piece.
    expect(row('2.5 mm²', 'H07RN-F')).toMatchObject({ runs: '1 × GenLine', total: '11.3 m' });
    // Two conductors of 1.85 m; their earth apart, which is cut of the same type.
    expect(row('10 mm²', 'H07V-K')).toMatchObject({ runs: '2 × Charge', total: '3.7 m' });
    expect(row('6 mm²', 'H07V-K')).toMatchObject({ runs: '1 × Charge (earth)', total: '1.85 m' });
    // How many conductors InvFeed has is stated nowhere: a box, and no total.
    expect(row('35 mm²', 'H07V-K')).toMatchObject({
      runs: '2 × Feed; number not stated: InvFeed',
      length: '3 m',
      total: undefined,
    });
  });

  test('says which conductors are landed where: those that a pole opens at gear, else all', async () => {
    const rows = rowsOf(await setOf(HUT()), 'wiring2');
    const at = (thing: string, run: string) =>
      rows.find((row) => row['thing'] === thing && row['run'] === run)!['conductors'];
    expect(at('Bank', 'Feed')).toBe('+, −');
    expect(at('Main', 'Feed')).toBe('+');
    // How many an alternating run has is not stated.
    expect(at('Inv', 'Line')).toBeUndefined();
    const two = HUT().replace('fuse Main { class: gG', 'breaker Main { poles: 2   class: gG');
    expect(rowsOf(await setOf(two), 'wiring2').find((row) => row['thing'] === 'Main')!['conductors']).toBe('+, −');
  });

  test('without an allowance there is no cut length', async () => {
    const set = await setOf(HUT().replace('cutAllowance: 0.4 m', ''));
    expect(rowsOf(set, 'wires').map(({ cut }) => cut)).toEqual(Array.from({ length: 7 }, () => undefined));
  });

  test('has a wiring view of each enclosure, with boxes for what is not stated', async () => {
    const board = rowsOf(await setOf(HUT()), 'wiring1');
    expect(new Set(board.map(({ thing }) => thing))).toEqual(new Set(['Tracker', 'Rect', 'Bar']));
    expect(board.find(({ thing, run }) => thing === 'Bar' && run === 'Feed')).toMatchObject({
      enclosure: 'board',
      number: 'W1',
      towards: 'Main',
      colour: 'red, black',
      stud: '8 mm',
      torque: '12 N·m',
      lug: undefined,
    });
    expect(board.find(({ thing, run }) => thing === 'Tracker' && run === 'Sun')).toMatchObject({
      terminal: 'solar',
      colour: undefined,
      number: undefined,
    });
    const rest = rowsOf(await setOf(HUT()), 'wiring2');
    // Both sides of a fuse are landed.
    expect(rest.filter(({ thing }) => thing === 'Main').map(({ terminal }) => terminal)).toEqual(['in', 'out']);
  });
});

describe('the label schedule', () => {
  test('calls for what the practice asks, with the figures of the design', async () => {
    const iec = rowsOf(await setOf(HUT()), 'labels');
    const says = (rule: RegExp) => iec.filter((each) => rule.test(each['rule']!)).map((each) => each['says']!);
    expect(says(/551\.7/)[0]).toContain('several supplies: Genset, Array, Bank');
    expect(says(/712/)[0]).toMatch(/Live parts of Array remain .*\d V/);
    expect(says(/514\.13\.1/)).toEqual(['Safety electrical connection: do not remove (Genset)']);
    expect(says(/16 CFR 1407/)).toHaveLength(1);
    expect(says(/NEC|ABYC/)).toEqual([]);
    const nec = rowsOf(await setOf(HUT().replace('basis: iec', 'basis: nec 2023')), 'labels');
    const battery = nec.find((each) => each['rule']!.includes('480.7'))!;
    expect(battery['says']).toMatch(/nominal 25\.6 V, available fault current (\d|…)/);
    expect(battery['rule']).toContain('(from memory)');
    expect(nec.some((each) => each['rule'] === 'NEC 690.13(B)')).toBe(true);
    for (const row of [...iec, ...nec]) expect(row['says']).not.toMatch(/[{}]/);
  });
});

describe('a part that was replaced years later', () => {
  test('is measured, set and tested again, and its checks are those of the new part', async () => {
    const before = await setOf(HUT());
    const measured = (set: typeof before) =>
      rowsOf(set, 'steps2').find(({ measure }) => measure === 'voltage of the bank')!['measured'];
    expect(measured(before)).toBe('26.3 V PASS');
    expect(() => rowsOf(before, 'replaced')).toThrow();
    // The lithium bank gives way to a flooded one of twice the capacity; nobody has touched the chargers.
    const text = `${HUT()}
variant Later of Hut {
  replace battery Bank { chemistry: flooded   voltage: 24 V   capacity: 200 Ah   replaced: 2031-06-01 }
}`;
    const later = await setOf(text, 'Later');
    expect(measured(later)).toBeUndefined();
    const again = rowsOf(later, 'replaced').map(({ what }) => what!);
    expect(again.join()).toContain('torque, polarity and insulation of Feed');
    expect(again.join()).toContain('Charge voltages and limits of Tracker, Rect');
    expect(again.join()).toContain('Measure again, since it was measured before: Bank.voltage');
    expect(rowsOf(later, 'replaced')[0]).toMatchObject({ thing: 'Bank', date: '2031-06-01', done: undefined });
  });

  test('the checks say what else must change', async () => {
    const text = HUT('', '').replace(
      'battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah    }',
      'battery Bank { chemistry: agm   voltage: 12 V   series: 1   capacity: 40 Ah   replaced: 2031-06-01 }',
    );
    const of = async (design: string) => (await analyseText({ 'hut.watt': design })).findings;
    const only = (await of(text)).filter(
      (each) =>
        each.severity !== 'info' && !before.some((old) => old.check === each.check && old.subject === each.subject),
    );
    // 12 V of lead behind chargers set for 24 V: the bank and what charges it no longer fit.
    expect(only.map(({ check, subject }) => `${check} ${subject}`)).toContain('bank-voltage Hut.Bank');
  });
});

describe('the appendix', () => {
  test('works out each calculation once, and refers to it by number where another rests on it', async () => {
    const { sheets } = await setOf(HUT());
    const worked = sheets.flatMap(({ blocks }) => blocks.flatMap((block) => (block.kind === 'worked' ? [block] : [])));
    const numbers = new Set(worked.map(({ number }) => number));
    const references = worked.flatMap(({ number, lines }) =>
      lines.flatMap(({ text }) => [...text.matchAll(/see \[(\d+)\]/g)].map(([, to]) => ({ number, to: Number(to) }))),
    );
    expect(references.length).toBeGreaterThan(5);
    for (const { number, to } of references) {
      expect(numbers.has(to)).toBe(true);
      expect(to).not.toBe(number);
    }
    // No reference leads to one that only refers back.
    for (const { lines } of worked) expect(lines[0]!.text).not.toContain('see [');
  });
});

const before = (await analyseText({ 'hut.watt': HUT() })).findings;

describe('reels', () => {
  /** 12 m, 10 m, 8 m, 5 m and 4 m of one cord, without allowance or reserve. */
  const runs = [12, 10, 8, 5, 4]
    .map(
      (length, index) => `load L${index} { power: 10 W   voltage: 230 V }
  run R${index}: Inv.ac -> L${index} { size: 4 mm2   type: H07RN-F   length: ${length} m }`,
    )
    .join('\n  ');
  const withReels = (reel: string): string =>
    HUT(runs).replace('cutAllowance: 0.4 m   cutReserve: 5 %', `cutAllowance: 0 m   cutReserve: 0 %   ${reel}`);

  test('each piece comes off the first reel that still has it, the longest first, and what is left is told', async () => {
    const rows = rowsOf(await setOf(withReels('reelLength: 20 m')), 'reels').filter(({ size }) => size === '4 mm²');
    expect(rows.map(({ reel, pieces, used, left }) => [reel, pieces, used, left])).toEqual([
      ['1 of 2', '1 × R0 (12 m), 1 × R2 (8 m)', '20 m', '0 m'],
      ['2 of 2', '1 × R1 (10 m), 1 × R3 (5 m), 1 × R4 (4 m)', '19 m', '1 m'],
    ]);
  });

  test('what is longer than a reel is bought by length, what is not known is a box', async () => {
    const rows = rowsOf(await setOf(withReels('reelLength: 9 m')), 'reels');
    const cords = rows.filter(({ size }) => size === '4 mm²');
    expect(cords[0]).toMatchObject({ pieces: '1 × R0 (12 m)', left: 'longer than a reel: buy it by length' });
    expect(cords.map(({ pieces }) => pieces)).toContain('1 × R3 (5 m), 1 × R4 (4 m)');
    // How many conductors InvFeed has is stated nowhere.
    expect(rows.find(({ size }) => size === '35 mm²')).toMatchObject({ reel: undefined, pieces: undefined });
  });

  test('are no matter of the sheet where their length is not stated', async () => {
    const set = await setOf(withReels(''));
    expect(() => rowsOf(set, 'reels')).toThrow('there is no table reels');
  });
});

describe('the owner’s pages', () => {
  /** Invented. */
  const MILL = `
design Mill {
  basis: iec
  hydro Turbine { }
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah }
  bus Bar { rating: 200 A }
  fuse BankFuse { rating: 125 A }
  switch BankSwitch { rating: 200 A }
  fuse TurbineFuse { rating: 63 A }
  inverter Inv { rated: 2 kW   voltage: 230 V }
  grid Mains { voltage: 230 V   rating: 16 A }
  breaker MainsBreaker { rating: 16 A }
  transfer Gear { rating: 25 A   operation: manual }
  load Lamp { power: 20 W   voltage: 230 V }
  run Feed: Bank -> BankFuse -> BankSwitch -> Bar { length: 1 m }
  run TurbineLine: Turbine -> TurbineFuse -> Bar { length: 20 m }
  run InvFeed: Bar -> Inv.dc { length: 1 m }
  run MainsLine: Mains -> MainsBreaker -> Gear.normal { length: 5 m }
  run Out: Inv.ac -> Gear.standby { length: 2 m }
  run Line: Gear.out -> Lamp { length: 5 m }
}
`;

  test('stop what turns before its bank, charge an inverter before the bank is closed on it, and name what is switched', async () => {
    const { sheets } = await setOf(MILL);
    const items = (title: string): readonly string[] =>
      sheets
        .find(({ name }) => name === 'owner')!
        .blocks.flatMap((block) => (block.kind === 'list' && block.title === title ? block.items : []));
    for (const title of ['In an emergency', 'To shut down']) {
      const [stopped, opened] = [/^Bring Turbine to a stop/, /^Open BankSwitch, the main switch of Bank/].map((text) =>
        items(title).findIndex((item) => text.test(item)),
      );
      expect(stopped, title).toBeGreaterThanOrEqual(0);
      expect(opened, title).toBeGreaterThan(stopped!);
    }
    expect(items('To start')[0]).toMatch(
      /^Charge the input of Inv first.*Then close BankSwitch, the main switch of Bank/,
    );
    // A bank that nothing opened by hand parts from the rest has no main switch to speak of.
    const bare = await setOf(
      MILL.replace('BankFuse -> BankSwitch', 'BankFuse').replace('switch BankSwitch { rating: 200 A }', ''),
    );
    const owner = JSON.stringify(bare.sheets.find(({ name }) => name === 'owner'));
    expect(owner).not.toContain('main switch');
    expect(owner).toContain('Keep away from Bank: nothing there is switched off by hand');
    expect(items('To start').join()).toContain('Gear chooses the supply: normal as a rule; set it to standby');
    expect(items('To shut down').join()).toContain('Open MainsBreaker, which brings in Mains.');
  });
});
