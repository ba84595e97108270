import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'device-class';
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe('the ratings that a class is made in', () => {
  const van = (device: string): string => `design Van {
  basis: nec
  battery Bank { voltage: 12.8 V   shortCircuitCurrent: 5 kA   chargeLimit: 14.4 V   protectionLow: 10 V }
  ${device}
  load Heater { power: 300 W   supply: dc }
  run Line: Bank -> D @ 100 mm -> Heater { size: 500 kcmil   type: FineStranded90   length: 2 m }
}
`;
  it.each([
    // ISO 8820-3 type C, 1 to 40 A, from memory.
    ['fuse D { class: BladeFuse32V   rating: 40 A }', []],
    ['fuse D { class: BladeFuse32V   rating: 60 A }', ['warning']],
    ['breaker D { class: DcBreaker80V   rating: 250 A }', []],
    ['breaker D { class: DcBreaker80V   rating: 400 A }', ['warning']],
    // UL classes: a distributor's table.
    ['fuse D { class: CC   rating: 30 A }', []],
    ['fuse D { class: CC   rating: 35 A }', ['error']],
    ['fuse D { class: LargeBladeFuse32V   rating: 10 A }', ['warning']],
  ])('%s', async (device, told) => {
    expect((await findings(van(device))).map(({ severity }) => severity)).toEqual(told);
  });

  it('offers a class that is made in the rating, and leaves nothing else behind', async () => {
    const text = van('breaker D { class: DcBreaker80V   rating: 400 A }');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, /D is rated 400 A, and class DcBreaker80V is made up to 250 A/)).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toContain('Use class DcMouldedCaseBreaker250V for D');
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('counts the poles that share a direct voltage', async () => {
    const poles = (number: string): string => van(`breaker D { class: DcBreaker2Pole   rating: 60 A   ${number} }`);
    expect(await findings(poles('poles: 2'))).toEqual([]);
    expect(await findings(poles(''))).toEqual([]);
    const [finding] = await findings(poles('poles: 1'));
    expect(finding?.severity).toBe('warning');
    expect((await afterFix(poles('poles: 1'), ID, finding!.fixes[0]!)).left).toEqual([]);
  });
});

// NEC 240.10, UL 1077, from memory.
describe('a supplementary protector', () => {
  const hut = (ahead: string, basis = 'nec 2023'): string => `design Hut {
  basis: ${basis}
  battery Bank { voltage: 25.6 V   shortCircuitCurrent: 2 kA   chargeLimit: 28.8 V   protectionLow: 20 V }
  bus Bar {}
  ${ahead ? 'fuse Main { class: T   rating: 30 A }' : ''}
  breaker Small { class: UL1077   rating: 15 A }
  load Lamp { power: 100 W   supply: dc }
  run Feed: Bank -> ${ahead} Bar { size: 10 AWG   type: FineStranded90   length: 1 m }
  run Line: Bar -> Small @ 100 mm -> Lamp { size: ${ahead === '' ? '14 AWG' : '10 AWG'}   type: FineStranded90   length: 5 m }
}
`;
  it('is no branch breaker', async () => {
    const [finding] = await findings(hut(''));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'Small, class UL1077, is a supplementary protector and protects Line')).toEqual([]);
    for (const fix of finding!.fixes) expect((await afterFix(hut(''), ID, fix)).left, fix.title).toEqual([]);
  });

  // Of breakers for 28.8 V and 2 kA the one for 5 kA is the weakest that does; what is made for strings of modules is none.
  it('gives way to the weakest that does, first', async () => {
    const titles = async (text: string) => (await findings(text))[0]?.fixes.map(({ title }) => title);
    expect((await titles(hut('')))?.[0]).toBe('Use class DcBreaker125V for Small');
    const fuse = hut('').replace('breaker Small { class: UL1077', 'fuse Small { class: aR');
    expect((await titles(fuse))?.join()).not.toContain('gPV');
  });

  it('may stand behind a device that protects the conductors', async () => {
    expect(await findings(hut('Main @ 100 mm ->'))).toEqual([]);
  });

  it('is accepted aboard', async () => {
    expect(await findings(hut('', 'craft'))).toEqual([]);
  });

  it('is never proposed', async () => {
    const text = hut('').replace(
      'class: UL1077   rating: 15 A',
      'interruptRating: 500 A   dcVoltage: 32 V   rating: 15 A',
    );
    const analysis = await analyseText(text);
    for (const finding of analysis.findings) for (const fix of finding.fixes) expect(fix.title).not.toContain('UL1077');
  });
});

// IEC 60269-4, from memory: aR opens on short circuits alone.
describe('a fuse of partial range', () => {
  const barn = (more: string, through = ''): string => `design Barn {
  basis: iec
  battery Bank : Lfp48V280Ah
  fuse F1 { class: aR   rating: 100 A }
  ${more}
  load Mill { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm ${through} -> Mill { size: 25 mm2   type: H07V-K   length: 2 m   method: C }
}
`;
  const told = async (text: string) =>
    findingsOf(await analyseText(text), 'device-class').map(({ severity, message }) => `${severity}: ${message}`);

  it('protects no conductors by itself, and does beside a device against overload', async () => {
    expect(await told(barn(''))).toEqual([
      expect.stringMatching(/^warning: F1 opens on short circuits alone; nothing protects Line against overload/),
    ]);
    expect(await told(barn('breaker B1 { rating: 100 A }', '-> B1 @ 300 mm'))).toEqual([]);
    expect(await told(barn('').replace('class: aR', 'class: gBat'))).toEqual([]);
  });

  it('gives way to a class of full range', async () => {
    const [finding] = findingsOf(await analyseText(barn('')), 'device-class');
    expect(finding?.fixes.map(({ title }) => title).join()).toMatch(/^Use class (?!aR)/);
  });
});

describe('device-class at its ends', () => {
  const of = async (text: string) => findingsOf(await analyseText(text), 'device-class');
  it('takes the smallest rating that a class is made in, and none below', async () => {
    const van = (rating: number): string => `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: BoltDownFuse32V   rating: ${rating} A }
  load Heater { power: 200 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`;
    expect(await of(van(35))).toEqual([]);
    expect(await of(van(40))).toEqual([]);
    expect(await of(van(34))).toHaveLength(1);
  });

  // NEC 240.10; Table 310.16 and 240.4(D): 14 AWG has 15 A.
  it('takes a supplementary protector behind a breaker that protects its conductors', async () => {
    const shop = (branch: number): string => `design Shop {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
  breaker B0 { class: UL489-AC   rating: ${branch} A   poles: 1 }
  breaker B1 { class: UL1077   rating: 10 A   poles: 1 }
  bus Box {}
  load Lamp { power: 300 W   continuous: no }
  run Main: Mains -> B0 -> Box { size: 12 AWG   type: THHN   length: 6 m   terminals: 60 degC }
  run Line: Box -> B1 -> Lamp { size: 14 AWG   type: THHN   length: 6 m   terminals: 60 degC }
}
`;
    expect(await of(shop(15))).toEqual([]);
    expect((await of(shop(20))).map(({ subject }) => subject)).toEqual(['Shop.B1']);
  });
});
