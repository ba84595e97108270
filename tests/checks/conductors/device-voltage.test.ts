import { describe, expect, it } from 'vitest';
import { deviceVoltage } from '../../../language/src/checks/conductors/device-voltage.js';
import { analyseText, applyFix, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const findings = async (text: string) => findingsOf(await analyseText(text), 'device-voltage');
const hut = (device: string, absorb: string): string => `design Hut {
  battery Bank : Lfp48V280Ah
  charger Rect { currentLimit: 60 A   absorb: ${absorb}   remoteSense: yes }
  ${device}
  run Feed: Bank -> D @ 100 mm -> Rect.dc { size: 4 AWG   type: THWN-2   length: 2 m }
}
`;

describe('device-voltage', () => {
  it('goes by the highest charge voltage, not the nominal voltage of the bank', async () => {
    expect(await findings(hut('fuse D { class: SlowBoltDownFuse58V   rating: 80 A }', '57.6 V'))).toEqual([]);
    const [finding] = await findings(hut('fuse D { class: SlowBoltDownFuse58V   rating: 80 A }', '58.4 V'));
    expect(lacking(finding?.told, /58 V.*58\.4 V/)).toEqual([]);
  });

  it('finds a 32 V fuse and an alternating-current breaker on a 48 V bank, and offers classes that do', async () => {
    for (const device of [
      'fuse D { class: BoltDownFuse32V   rating: 80 A }',
      'breaker D { class: UL489-AC   rating: 80 A }',
    ]) {
      const text = hut(device, '56 V');
      const [finding] = await findings(text);
      expect(finding?.severity).toBe('error');
      for (const fix of finding?.fixes ?? []) {
        const after = await analyseText(applyFix(text, fix));
        expect(findingsOf(after, 'device-voltage'), fix.title).toEqual([]);
        expect(findingsOf(after, 'interrupt-rating'), fix.title).toEqual([]);
      }
    }
  });

  it('takes the network of a vehicle at 1.25 times its nominal voltage', async () => {
    const van = (fuse: string, voltage: string): string => `design Van {
  vehicle Truck { supply: dc   ${voltage}   rating: 30 A }
  converter Booster { input: 22..30 V   output: 14.1 V   currentLimit: 16 A   efficiency: 90 % }
  battery House : Lfp12V200Ah
  fuse D { rating: 30 A   dcVoltage: ${fuse} }
  run Socket: Truck -> D -> Booster.in { size: 6 mm2   length: 2 m }
  run Out: Booster.out -> House { size: 6 mm2   length: 1 m }
}
`;
    // 24 V and an engine that charges: 30 V.
    expect(await findings(van('32 V', 'voltage: 24 V'))).toEqual([]);
    expect(lacking((await findings(van('28 V', 'voltage: 24 V')))[0]?.told, /28 V.*30 V/)).toEqual([]);
    const asked = (await analyseText(van('32 V', ''))).questions.filter(({ check }) => check === 'device-voltage');
    expect(asked.flatMap(({ missing }) => missing)).toEqual(['voltage of Truck']);
  });

  it('counts the open-circuit voltage of an array on a cold morning', async () => {
    const roof = (site: string, rating: string): string => `design Roof {
  ${site}
  solar Array { power: 400 W   openCircuitVoltage: 46 V   shortCircuitCurrent: 11 A   series: 3   voltageCoefficient: -0.3 %/K }
  fuse D { rating: 20 A   dcVoltage: ${rating} }
  chargeController Tracker { maximumVoltage: 250 V   currentLimit: 30 A   absorb: 56 V   float: 54 V }
  run String: Array -> D -> Tracker.solar { size: 10 AWG   type: PV-Wire   length: 10 m }
}
`;
    // 3 · 46 V = 138 V at 25 °C; at −20 °C 138 V · (1 + 0.003 · 45) = 156.6 V.
    const cold = 'site { ambient: -20..30 degC }';
    expect(await findings(roof(cold, '160 V'))).toEqual([]);
    expect(
      lacking((await findings(roof(cold, '150 V')))[0]?.told, /150 V.*157 V.*open-circuit on a cold morning/),
    ).toEqual([]);
    // Without a lowest temperature 130 V are too little at 25 °C already, and 150 V cannot be told.
    expect(lacking((await findings(roof('', '130 V')))[0]?.told, 'at 25 °C already')).toEqual([]);
    const asked = (await analyseText(roof('', '150 V'))).questions.filter(({ check }) => check === 'device-voltage');
    expect(asked.flatMap(({ missing }) => missing)).toEqual(['ambient of the site']);
  });

  it('asks for the class or voltage that lacks', async () => {
    const analysis = await analyseText(hut('fuse D { rating: 80 A }', '56 V'));
    expect(analysis.questions.find(({ check }) => check === 'device-voltage')?.missing).toEqual([
      'class or dcVoltage of D',
    ]);
  });
});

describe('what device-voltage says where nothing lacks', () => {
  const verdicts = async (text: string): Promise<string[]> => {
    const { context } = (await analyseText(text)).designs[0]!;
    return [...deviceVoltage.judge(context, [])].map(({ verdict }) => verdict);
  };
  it('is that it passes, and nothing where nothing feeds the device', async () => {
    expect(await verdicts(hut('fuse D { rating: 80 A   dcVoltage: 80 V }', '56 V'))).toEqual(['passed']);
    const dead = `design Dead {
  bus Panel {}
  breaker B { rating: 20 A   acVoltage: 240 V }
  load Lamp { power: 100 W   supply: ac }
  run Line: Panel -> B -> Lamp { length: 2 m }
}
`;
    expect(await verdicts(dead)).toEqual([]);
    expect(await verdicts(dead.replace('bus Panel {}', 'grid Panel { voltage: 230 V   rating: 20 A }'))).toEqual([
      'passed',
    ]);
  });
});

describe('device-voltage behind a converter', () => {
  it('goes by what the converter gives', async () => {
    const boat = (facts: string, rating: number): string => `design Boat {
  battery House : Lfp12V200Ah
  converter Up { input: 10..16 V   currentLimit: 4 A   efficiency: 90 %   ${facts} }
  fuse D { rating: 5 A   dcVoltage: ${rating} V }
  load Radio { power: 60 W   supply: dc }
  run In: House -> Up.in { size: 6 mm2   length: 2 m }
  run Out: Up.out -> D -> Radio { size: 2.5 mm2   length: 2 m }
}
`;
    expect(await findings(boat('output: 24..28 V', 28))).toEqual([]);
    expect(lacking((await findings(boat('output: 24..28 V', 27)))[0]?.told, /27 V.*28 V/)).toEqual([]);
    expect(askedBy(await analyseText(boat('', 32)), 'device-voltage')).toEqual(['output of Up']);
  });
});

describe('device-voltage on alternating current', () => {
  const house = (
    voltage: string,
    facts: string,
  ): string => `part deviceClass Own { device: breaker   acVoltage: 300 V   fromMemory: acVoltage }
design House {
  basis: iec
  grid Mains { voltage: ${voltage}   rating: 63 A   neutralBond: bonded }
  breaker D { rating: 20 A   ${facts} }
  load Oven { power: 3 kW }
  run Line: Mains -> D -> Oven { size: 4 mm2   length: 10 m }
}
`;
  const onLines = (text: string, legs: string): string => text.replace('3 kW', `3 kW   legs: ${legs}`);
  it.each([
    ['230 V', 'L1', 230],
    ['120/240 V', 'L1, L2', 240],
    ['three 400 V', 'L1, L2, L3', 400],
    // NEC 240.85 and IEC 60898-1 (230/400 V), from memory: what opens one line opens against the neutral.
    ['120/240 V', 'L1', 120],
    ['three 400 V', 'L2', 230],
  ])('counts what lies between the lines that it opens: %s on %s', async (voltage, legs, volts) => {
    expect(await findings(onLines(house(voltage, `acVoltage: ${volts} V`), legs))).toEqual([]);
    const [finding] = await findings(onLines(house(voltage, `acVoltage: ${volts - 1} V`), legs));
    expect(finding?.severity).toBe('error');
    expect(finding?.why ?? '').not.toContain('from memory');
  });

  it('counts the voltage between lines where a load behind it is not known', async () => {
    const text = onLines(house('three 400 V', 'acVoltage: 230 V'), 'L1');
    expect(await findings(text)).toEqual([]);
    expect(await findings(text.replace('power: 3 kW   ', ''))).toHaveLength(1);
  });

  it('asks for the class or voltage that lacks, and for the voltage of the supply', async () => {
    const asked = async (text: string): Promise<string[]> => askedBy(await analyseText(text), 'device-voltage');
    expect(await asked(house('230 V', ''))).toEqual(['class or acVoltage of D']);
    expect(await asked(house('230 V', 'acVoltage: 250 V'))).toEqual([]);
    expect(await asked(house('230 V', '').replace('breaker D {', 'switch D {'))).toEqual(['acVoltage of D']);
    expect(await asked(house('230 V', 'acVoltage: 250 V').replace('voltage: 230 V   rating', 'rating'))).toEqual([
      'voltage of Mains',
    ]);
    // A stated direct voltage says nothing of alternating current.
    expect(await asked(house('230 V', 'dcVoltage: 250 V'))).toEqual(['class or acVoltage of D']);
  });

  it('finds a class that is made for direct current only', async () => {
    const [finding] = await findings(house('230 V', 'class: BladeFuse32V').replace('breaker D {', 'fuse D {'));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, /230 V.*32 V/)).toEqual([]);
  });

  it('takes miniature breakers of 230/400 V on three phases', async () => {
    const text = house('three 400 V', 'class: MiniatureBreaker6k   poles: 3');
    expect(await findings(onLines(text, 'L1, L2, L3'))).toEqual([]);
    expect(await findings(onLines(text, 'L1'))).toEqual([]);
  });

  it('is a warning where the class is known from memory', async () => {
    const [finding] = await findings(onLines(house('three 400 V', 'class: Own'), 'L1, L2, L3'));
    expect(finding?.severity).toBe('warning');
    expect(finding?.why).toContain('from memory');
  });
});
