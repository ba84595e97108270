import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const messages = async (text: string, check: string): Promise<string[]> =>
  findingsOf(await analyseText(`design D {\n${text}\n}`), check).map(({ told }) => told);

describe('unlike-terminals', () => {
  const of = (text: string): Promise<string[]> => messages(text, 'unlike-terminals');

  it.each([
    ['a grid to a bank', 'grid G { voltage: 230 V }   battery B { voltage: 12 V }   run R: G -> B', 1],
    ['a bank to a charger’s AC side', 'charger C   battery B { voltage: 12 V }   run R: B -> C.ac', 1],
    ['a bank to an inverter’s AC side', 'inverter I   battery B { voltage: 12 V }   run R: B -> I.ac', 1],
    ['a DC load to a grid', 'grid G { voltage: 230 V }   load L { power: 1 W   supply: dc }   run R: G -> L', 1],
    ['a bank to an inverter', 'inverter I   battery B { voltage: 12 V }   run R: B -> I.dc', 0],
    ['through a fuse', 'fuse F   grid G { voltage: 230 V }   battery B { voltage: 12 V }   run R: G -> F -> B', 1],
  ])('%s', async (_, text, count) => {
    expect(await of(text)).toHaveLength(count);
  });

  const supply = (source: string, charger: string): string =>
    `generator G { rated: 5 kW   ${source} }   charger C { ${charger} }   run R: G -> C.ac`;

  it.each([
    ['in the window', 'voltage: 230 V', 'input: 180..264 V', 0],
    ['at the very edge with its tolerance', 'voltage: 230 V   tolerance: 5 %', 'input: 241.5..264 V', 0],
    ['above it', 'voltage: 230 V   tolerance: 5 %', 'input: 90..140 V', 1],
    ['split phase on both legs', 'voltage: 120/240 V', 'input: 180..264 V', 0],
    ['split phase on one leg', 'voltage: 120/240 V', 'input: 90..140 V   legs: L1', 0],
    ['three phases wanted', 'voltage: 230 V', 'phases: three   input: 342..418 V', 1],
    ['three phases given', 'voltage: three 400 V', 'phases: three   input: 342..418 V', 0],
    ['wrong frequency', 'voltage: 230 V   frequency: 60 Hz', 'input: 180..264 V   frequency: 47..53 Hz', 1],
    ['right frequency', 'voltage: 230 V   frequency: 50 Hz', 'input: 180..264 V   frequency: 47..63 Hz', 0],
  ])('a supply %s', async (_, source, charger, count) => {
    expect(await of(supply(source, charger))).toHaveLength(count);
  });

  // NEMA WD 6: a 15 A plug goes into the 20 A receptacle of its family, not the other way round.
  it.each([
    ['L14-30', 'L14-30', 0],
    ['L14-30', 'NEMA-14-50', 1],
    ['NEMA-5-20', 'NEMA-5-15', 0],
    ['NEMA-5-15', 'NEMA-5-20', 1],
  ])('an outlet %s with a plug %s', async (outlet, plug, count) => {
    expect(await of(supply(`voltage: 120 V   outlet: ${outlet}`, `input: 90..140 V   plug: ${plug}`))).toHaveLength(
      count,
    );
  });

  it('a pass-through inverter and a supply of another voltage', async () => {
    const text = (volts: string): string =>
      `grid G { voltage: ${volts} }   inverter I { voltage: 230 V   passThrough: yes }   run R: G -> I.input`;
    expect(await of(text('230 V'))).toEqual([]);
    expect(await of(text('120 V'))).toEqual([expect.stringContaining('passes 120 V of G through')]);
  });

  it('a load and a supply of another voltage, said once for all states', async () => {
    const text = `grid G { voltage: 120 V }   generator S { voltage: 120 V }   transfer T
load L { power: 100 W   voltage: 230 V }
run A: G -> T.normal   run B: S -> T.standby   run C: T.out -> L`;
    expect(await of(text)).toEqual([
      expect.stringContaining('L runs on 230 V; G gives 120 V'),
      expect.stringContaining('L runs on 230 V; S gives 120 V'),
    ]);
  });
});

describe('not-connected', () => {
  const of = (text: string): Promise<string[]> => messages(text, 'not-connected');

  it.each([
    ['a thing without a run', 'load L { power: 1 W }', ['Nothing is connected to L']],
    ['a charger without its supply', 'charger C   battery B { voltage: 12 V }   run R: C.dc -> B', ['`C.ac`']],
    [
      'an inverter whose input is not used',
      'inverter I { passThrough: yes }   battery B { voltage: 12 V }   load L { power: 1 W }   run R: B -> I.dc   run S: I.ac -> L',
      [],
    ],
    [
      'transfer gear with one supply',
      'grid G { voltage: 230 V }   transfer T   load L { power: 1 W }   run R: G -> T.normal   run S: T.out -> L',
      ['`T.standby`'],
    ],
    [
      'gear in a run',
      'battery B { voltage: 12 V }   fuse F   load L { power: 1 W   supply: dc }   run R: B -> F -> L',
      [],
    ],
    [
      'a spare fuse',
      'battery B { voltage: 12 V }   fuse F   load L { power: 1 W   supply: dc }   run R: B -> L',
      ['Nothing is connected to F'],
    ],
  ])('%s', async (_, text, expected) => {
    expect(await of(text)).toEqual(expected.map((part) => expect.stringContaining(part)));
  });
});

describe('dead-end', () => {
  const of = (text: string): Promise<string[]> => messages(text, 'dead-end');

  it.each([
    ['a load behind an empty panel', 'bus P   load L { power: 1 W }   run R: P -> L', 1],
    [
      'a load behind transfer gear with one supply',
      'grid G { voltage: 230 V }   transfer T   load L { power: 1 W }   run R: G -> T.standby   run S: T.out -> L',
      0,
    ],
    [
      'a load behind an inverter',
      'battery B { voltage: 12 V }   inverter I { voltage: 230 V }   load L { power: 1 W }   run R: B -> I.dc   run S: I.ac -> L',
      0,
    ],
    [
      'a load on a charger',
      'grid G { voltage: 230 V }   charger C   load L { power: 1 W   supply: dc }   run R: G -> C.ac   run S: C.dc -> L',
      0,
    ],
    [
      'a load on the input of a charger alone',
      'charger C   load L { power: 1 W }   bus P   run R: P -> C.ac   run S: P -> L',
      1,
    ],
    [
      'a load with the generator running only',
      'generator G { voltage: 230 V }   load L { power: 1 W }   run R: G -> L',
      0,
    ],
    ['a load without a run', 'load L { power: 1 W }', 0],
  ])('%s', async (_, text, count) => {
    expect(await of(text)).toHaveLength(count);
  });
});

describe('plugs in a run', () => {
  const told = async (outlet: string, plug: string, adapter = ''): Promise<string[]> =>
    findingsOf(
      await analyseText(`design D {
  grid Mains { voltage: 230 V   rating: 16 A   outlet: ${outlet} }
  receptacle Between { ${adapter} }
  charger Rect { input: 90..264 V   plug: ${plug} }
  run Cord: Mains -> ${adapter ? 'Between -> ' : ''}Rect.ac
}
`),
      'unlike-terminals',
    ).map(({ told }) => told);

  // CEE 7, from memory: a plug 7/7 has the contacts of both earthed systems; the flat plug fits both without earth.
  it.each([
    ['CEE-7-4', 'CEE-7-7', 0],
    ['CEE-7-6', 'CEE-7-7', 0],
    ['CEE-7-4', 'CEE-7-16', 0],
    ['CEE-7-4', 'CEE-7-6', 1],
    ['CEE-7-7', 'CEE-7-4', 1],
    ['NEMA-5-20', 'NEMA-1-15', 0],
    ['NEMA-1-15', 'NEMA-5-15', 1],
    ['BS-1363', 'CEE-7-7', 1],
    // The short name is the same configuration.
    ['IEC-60309-16', 'IEC-60309-16-230-2P-E-6h', 0],
    ['IEC-60309-16', 'IEC-60309-32-230-2P-E-6h', 1],
  ])('%s with %s', async (outlet, plug, count) => {
    expect(await told(outlet, plug)).toHaveLength(count);
  });

  it('are joined by an adapter that has both, the right way round', async () => {
    expect(await told('NEMA-5-15', 'TT-30')).toEqual([
      expect.stringContaining('`receptacle Adapter { plug: NEMA-5-15   outlet: TT-30 }`'),
    ]);
    expect(await told('NEMA-5-15', 'TT-30', 'plug: NEMA-5-15   outlet: TT-30')).toEqual([]);
    expect(await told('NEMA-5-15', 'TT-30', 'plug: TT-30   outlet: NEMA-5-15')).toHaveLength(2);
    expect(await told('NEMA-5-15', 'TT-30', 'plug: NEMA-5-15   outlet: L5-30')).toHaveLength(1);
  });
});

describe('assumed-fact', () => {
  it('lists each assumption once, also when a variant repeats it or a part states it for several', async () => {
    const analysis = await analyseText(`part load Lamp { power: assumed 40 W }
design D {
  dcDropLimit: assumed 3 %
  site { altitude: assumed 300 m }
  load A : Lamp
  load B : Lamp { count: assumed 2 }
}
variant V of D { A.count = 3 }`);
    expect(findingsOf(analysis, 'assumed-fact').map(({ subject }) => subject)).toEqual([
      'D',
      'D.site',
      'D.A',
      'D.B',
      'D.B',
    ]);
  });

  it('lists a table of which one row is assumed', async () => {
    const analysis = await analyseText(`design D {
  generator Genset { rated: 5 kW   voltage: 230 V   burn: { 25 %: 0.8 L/h, 100 %: assumed 2 L/h } }
}`);
    const [finding, ...others] = findingsOf(analysis, 'assumed-fact');
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'burn of Genset is assumed to be { 25 %: 0.8 L/h, 100 %: assumed 2 L/h }')).toEqual(
      [],
    );
  });
});
