import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { type Feed, feedInto } from '../../../language/src/checks/conductors/feeding.js';
import { createContext } from '../../../language/src/quantities/context.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

/** What is driven into the near end of `Line`, as `run-unprotected` and its sisters see it ('run-unprotected'). */
async function feed(text: string): Promise<Feed> {
  const { context } = (await analyseText(text)).designs[0]!;
  return feedInto(
    context.system.runs.find(({ name }) => name === 'Line')!,
    'near',
    context,
  );
}
const amperes = (found: Feed): number => (found.kind === 'limited' ? numberIn(found.current, 'A') : NaN);

const shed = (fuse: string, facts: string): string => `design Shed {
  battery Bank : Lfp12V100Ah
  fuse F1 { ${fuse} }
  bus Bar {}
  load Heater { power: 400 W   supply: dc }
  run Feed: Bank -> F1 @ 100 mm -> Bar { size: 4 AWG   length: 1 m   ${facts} }
  run Line: Bar -> Heater { size: 8 AWG   length: 3 m }
}
`;

describe('what feeds a run', () => {
  it('is held by the device before it', async () => {
    expect(amperes(await feed(shed('rating: 50 A', '')))).toBe(50);
  });

  it('names its banks where the device before it does not say its rating', async () => {
    const found = await feed(shed('', ''));
    expect(found).toMatchObject({ kind: 'open', missing: ['rating of F1'], sources: [{ name: 'Bank' }] });
  });

  it('is held by a device that stands in a run whose protection is said to be unknown', async () => {
    expect(amperes(await feed(shed('rating: 50 A', 'protection: unknown')))).toBe(50);
    const without = shed('rating: 50 A', 'protection: unknown').replace('-> F1 @ 100 mm ', '');
    expect(await feed(without)).toMatchObject({ kind: 'open', sources: [{ name: 'Bank' }] });
  });

  /** Two supplies on either side of transfer gear. */
  const house = (normal: string, standby: string): string => `design House {
  battery Bank : Lfp48V280Ah
  ${normal}
  ${standby}
  transfer Ats { switches: phases-and-neutral   rating: 63 A }
  load Stove { power: 2 kW }
  run A: Normal.ac -> Ats.normal { size: 6 mm2   length: 2 m }
  run B: Standby.ac -> Ats.standby { size: 6 mm2   length: 2 m }
  run Line: Ats.out -> Stove { size: 4 mm2   length: 5 m }
}
`;
  const inverter = (name: string, watts: number): string =>
    `inverter ${name} { rated: ${watts} W   voltage: 230 V   dcVoltage: 44..60 V }\n  run ${name}Bank: Bank -> ${name}.dc { length: 1 m }`;

  it('limits itself where either of two inverters does, to what the larger gives', async () => {
    for (const [one, other] of [
      [2300, 4600],
      [4600, 2300],
    ] as const) {
      const found = await feed(house(inverter('Normal', one), inverter('Standby', other)));
      expect(found.kind).toBe('self-limited');
      expect(found.kind === 'self-limited' && numberIn(found.most!.current, 'A')).toBeCloseTo(20, 9);
    }
  });

  it('is held by a device where one of two supplies has one', async () => {
    const grid = 'grid Normal { voltage: 230 V   rating: 16 A   neutralBond: bonded }';
    const found = await feed(house(grid, inverter('Standby', 4600)).replace('run A: Normal.ac', 'run A: Normal'));
    // The inverter gives 20 A by itself, more than the 16 A of the service.
    expect(amperes(found)).toBeCloseTo(20, 9);
  });

  // A service of 16 A and an inverter of 20 A on one bus: 36 A, IEC 60364-5-52 Table B.52.4, method C, 4 mm²: 36 A.
  it('adds up where a source that limits itself meets one that a device holds', async () => {
    const panel = (watts: number): string => `design House {
  basis: iec
  battery Bank : Lfp48V280Ah
  grid Normal { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  ${inverter('Inv', watts)}
  bus Panel {}
  bus Hall {}
  load Stove { power: 2 kW }
  run A: Normal -> Panel { size: 10 mm2   length: 2 m }
  run B: Inv.ac -> Panel { size: 10 mm2   length: 2 m }
  run Line: Panel -> Hall { size: 4 mm2   type: H07V-U   method: C   ambient: 30 degC   length: 5 m }
  run End: Hall -> Stove { size: 4 mm2   length: 5 m }
}
`;
    expect(amperes(await feed(panel(4600)))).toBeCloseTo(36, 9);
    const subjects = async (watts: number): Promise<string[]> =>
      findingsOf(await analyseText(panel(watts)), 'run-unprotected').map(({ subject }) => subject);
    expect(await subjects(4600)).not.toContain('House.Line');
    expect(await subjects(4700)).toContain('House.Line');
  });
});

describe('what feeds a run over unlike ways', () => {
  it('is the sum of sources that limit themselves, where they meet', async () => {
    const text = `design House {
  battery Bank : Lfp48V280Ah
  inverter One { rated: 2300 W   voltage: 230 V   dcVoltage: 44..60 V }
  inverter Two { rated: 4600 W   voltage: 230 V   dcVoltage: 44..60 V }
  bus Panel {}
  load Stove { power: 2 kW }
  run OneBank: Bank -> One.dc { length: 1 m }
  run TwoBank: Bank -> Two.dc { length: 1 m }
  run A: One.ac -> Panel { size: 10 mm2   length: 2 m }
  run B: Two.ac -> Panel { size: 10 mm2   length: 2 m }
  run Line: Panel -> Stove { size: 4 mm2   length: 5 m }
}
`;
    const found = await feed(text);
    expect(found.kind === 'self-limited' && numberIn(found.most!.current, 'A')).toBeCloseTo(30, 9);
  });

  it('is found around a ring', async () => {
    const ring = shed('rating: 50 A', '').replace(
      'bus Bar {}',
      'bus Bar {}   bus Left {}   bus Right {}   run R1: Bar -> Left { size: 4 AWG   length: 1 m }   run R2: Bar -> Right { size: 4 AWG   length: 1 m }   run R3: Left -> Right { size: 4 AWG   length: 1 m }',
    );
    expect(amperes(await feed(ring.replace('run Line: Bar', 'run Line: Left')))).toBe(50);
  });

  it('names what a set does not say that has no breaker', async () => {
    const text = `design Camp {
  generator Genset { voltage: 230 V   neutralBond: bonded   waveform: sine }
  load Stove { power: 2 kW }
  run Line: Genset -> Stove { size: 4 mm2   length: 5 m }
}
`;
    expect(await feed(text)).toMatchObject({
      kind: 'open',
      missing: ['rated of Genset'],
      sources: [{ name: 'Genset' }],
    });
  });

  it('leaves out what another cord would bring to the inlet in which this one is plugged', async () => {
    const text = `design Coach {
  grid Shore { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  grid Post { voltage: 230 V   rating: 32 A   neutralBond: bonded }
  receptacle Inlet { oneCord: yes }
  load Lamp { power: 100 W }
  run Line: Shore -> Inlet { size: 4 mm2   length: 5 m }
  run Other: Post -> Inlet { size: 4 mm2   length: 5 m }
  run In: Inlet -> Lamp { size: 1.5 mm2   length: 5 m }
}
`;
    const { context } = (await analyseText(text)).designs[0]!;
    const cord = context.system.runs.find(({ name }) => name === 'Line')!;
    expect(feedInto(cord, 'far', context).kind).toBe('none');
    expect(amperes(feedInto(cord, 'near', context))).toBe(16);
  });
});

describe('where several feed a bus', () => {
  const yard = `design Yard {
  grid A { voltage: 230 V   rating: 10 A   neutralBond: bonded }
  grid B { voltage: 230 V   rating: 20 A   neutralBond: bonded }
  grid C { voltage: 230 V   rating: 40 A   neutralBond: bonded }
  bus Panel {}
  load Stove { power: 2 kW }
  run FromA: A -> Panel { size: 4 mm2   length: 5 m }
  run FromB: B -> Panel { size: 4 mm2   length: 5 m }
  run FromC: C -> Panel { size: 4 mm2   length: 5 m }
  run Line: Panel -> Stove { size: 4 mm2   length: 5 m }
}
`;
  it.each([
    ['FromA FromB FromC Line'],
    ['FromC FromB FromA Line'],
    ['Line FromA FromB FromC'],
    ['FromB Line FromA FromC'],
  ])('each run sees all of the others, in whatever order it is asked: %s', async (order) => {
    const { context } = (await analyseText(yard)).designs[0]!;
    // An analysis has asked already: here they are asked for the first time.
    const fresh = createContext(context.system, context.today, context.parts, undefined);
    const found = order.split(' ').map((name) => {
      const run = context.system.runs.find((each) => each.name === name)!;
      return [name, amperes(feedInto(run, name === 'Line' ? 'near' : 'far', fresh))] as const;
    });
    expect(Object.fromEntries(found)).toEqual({ FromA: 60, FromB: 50, FromC: 30, Line: 70 });
  });
});
