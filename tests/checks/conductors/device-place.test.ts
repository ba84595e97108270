import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'run-unprotected';
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
const severities = async (text: string) => (await findings(text)).map(({ severity }) => severity);

interface Tap {
  readonly main?: number;
  readonly size?: string;
  readonly fuse?: number;
  readonly at?: number;
  readonly run?: string;
}
/** A tap on direct current behind a fuse of 400 A. */
const direct = ({
  main = 400,
  size = '8 AWG',
  fuse = 30,
  at = 2.5,
  run = 'enclosed: yes',
}: Tap): string => `design Hut {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  bus Bar {}
  fuse Main { class: T   rating: ${main} A }
  fuse F1 { class: T   rating: ${fuse} A }
  load Lamp { power: 200 W   supply: dc }
  run Feed: Bank -> Main @ 100 mm -> Bar { size: 500 kcmil   type: THWN-2   length: 1 m }
  run Line: Bar -> F1 @ ${at} m -> Lamp { size: ${size}   type: THWN-2   length: 20 m   terminals: 60 degC   ${run} }
}
`;
/** The same on alternating current. */
const alternating = ({
  main = 400,
  size = '8 AWG',
  fuse = 30,
  at = 2.5,
  run = 'enclosed: yes',
}: Tap): string => `design Barn {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: ${main} A }
  breaker F1 { rating: ${fuse} A }
  load Lamp { power: 200 W }
  run Line: Mains -> F1 @ ${at} m -> Lamp { size: ${size}   type: THWN-2   length: 20 m   terminals: 60 degC   ${run} }
}
`;

// NEC 240.21(B)(1), (2) as told by trade magazines; Table 310.16 at 60 °C: 14 AWG 15 A, 8 AWG 40 A, 1/0 AWG 125 A, 2/0 AWG 145 A.
describe.each([
  ['direct', direct],
  ['alternating', alternating],
])('a tap of %s current', (_name, tap) => {
  it('outdoors may be of any length and share, but ends in no more than it carries', async () => {
    const outside = 'enclosed: yes   outdoors: yes';
    // NEC 240.21(B)(5), title and single device from trade magazines, details from memory.
    expect(await severities(tap({ at: 19, main: 1000, run: outside }))).toEqual([]);
    expect(await severities(tap({ at: 19, main: 1000 }))).toEqual(['error']);
    expect(await severities(tap({ at: 19, main: 1000, fuse: 40, run: outside }))).toEqual([]);
    const [finding] = await findings(tap({ at: 19, main: 1000, fuse: 45, run: outside }));
    expect(finding?.message).toMatch(/F1 \(45 A\) is above its 40 A/);
    expect(await severities(tap({ at: 19, main: 1000, run: 'outdoors: yes' }))).toEqual(['warning']);
    expect(await severities(tap({ at: 19, main: 1000, run: 'outdoors: yes   enclosed: no' }))).toEqual(['error']);
  });

  it('of up to 10 ft asks a tenth of the device ahead of it', async () => {
    expect(await severities(tap({}))).toEqual([]);
    const [finding] = await findings(tap({ main: 450 }));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, /240\.21\(B\)\(1\).*40 A are less than a tenth of .* \(450 A\)/)).toEqual([]);
    expect(await severities(tap({ size: '14 AWG', fuse: 15 }))).toEqual(['error']);
  });

  it('of up to 25 ft asks a third', async () => {
    expect(await severities(tap({ at: 3.04 }))).toEqual([]);
    expect(await severities(tap({ at: 3.06 }))).toEqual(['error']);
    // Engineering-licence forum: 20 A behind 100 A may be a tap of 10 ft, not of 25 ft. 400 A ask 133.3 A, which is not rounded up.
    expect(await severities(tap({ at: 7.6, size: '2/0 AWG' }))).toEqual([]);
    expect(await severities(tap({ at: 7.6, size: '1/0 AWG' }))).toEqual(['error']);
    expect(await severities(tap({ at: 7.63, size: '2/0 AWG' }))).toEqual(['error']);
  });

  it('ends in a device not above its ampacity, which is not rounded up', async () => {
    expect(await severities(tap({ fuse: 40 }))).toEqual([]);
    const [finding] = await findings(tap({ fuse: 45 }));
    expect(
      lacking(finding?.told, /F1 \(45 A\) is above its 40 A, and the next size up is not allowed on a tap/),
    ).toEqual([]);
  });

  it('lies in a raceway: said not to is an error, not said a warning with the way out', async () => {
    expect(await severities(tap({ run: 'enclosed: no' }))).toEqual(['error']);
    const [finding] = await findings(tap({ run: '' }));
    expect(finding?.severity).toBe('warning');
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Move F1 to 150 mm along Line',
      'State that Line is enclosed up to F1',
    ]);
    for (const fix of finding!.fixes) expect((await afterFix(tap({ run: '' }), ID, fix)).left).toEqual([]);
  });

  it('needs no rule within the gear it starts in', async () => {
    expect(await severities(tap({ at: 0.17, run: '', size: '14 AWG', fuse: 15 }))).toEqual([]);
  });

  it('is mended by what is offered', async () => {
    const text = tap({ size: '14 AWG', fuse: 15 });
    const [finding] = await findings(text);
    expect(finding?.fixes.length).toBeGreaterThan(0);
    for (const fix of finding!.fixes) expect((await afterFix(text, ID, fix)).left, fix.title).toEqual([]);
  });

  it('is never told for the first time because it is larger or shorter', async () => {
    const sizes = ['14 AWG', '10 AWG', '8 AWG', '4 AWG', '1 AWG', '2/0 AWG', '4/0 AWG', '500 kcmil'];
    await fc.assert(
      fc.asyncProperty(
        fc.nat(sizes.length - 2),
        fc.constantFrom(0.1, 1, 3, 3.1, 7, 8, 15),
        fc.constantFrom('', 'enclosed: yes', 'enclosed: no'),
        async (index, at, run) => {
          const [given] = await findings(tap({ size: sizes[index]!, at, run, fuse: 15 }));
          const [larger] = await findings(tap({ size: sizes[index + 1]!, at, run, fuse: 15 }));
          const [nearer] = await findings(tap({ size: sizes[index]!, at: at / 2, run, fuse: 15 }));
          const rank = (severity: string | undefined): number => ['error', 'warning'].indexOf(severity ?? '') + 1 || 3;
          expect(rank(larger?.severity)).toBeGreaterThanOrEqual(rank(given?.severity));
          expect(rank(nearer?.severity)).toBeGreaterThanOrEqual(rank(given?.severity));
        },
      ),
      { numRuns: 25 },
    );
  });
});

describe('a tap without a device', () => {
  const panel = (bus: string, run = 'enclosed: yes'): string => `design Barn {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: 400 A }
  bus Panel { ${bus} }
  breaker B1 { rating: 15 A }
  load Lamp { power: 200 W }
  run Tap: Mains -> Panel { size: 8 AWG   type: THWN-2   length: 2 m   ${run} }
  run Line: Panel -> B1 -> Lamp { size: 14 AWG   type: THWN-2   length: 9 m }
}
`;
  // NEC 240.21(B)(1)(1)b: not less than the rating of the equipment it ends in; 8 AWG 40 A at 60 °C, 50 A at 75 °C.
  it('may end in gear rated for no more than it carries', async () => {
    expect(await severities(panel('rating: 40 A'))).toEqual([]);
    expect(await severities(panel('rating: 60 A'))).toEqual(['error']);
    expect(await severities(panel(''))).toEqual(['error']);
    expect(await severities(panel('rating: 40 A', ''))).toEqual(['error']);
    // It ends in one thing: not in two.
    const two = panel('rating: 40 A').replace('bus Panel', 'bus Other { rating: 40 A }\n  bus Panel');
    expect(await severities(two.replace('-> Panel {', '-> Panel, Other {'))).toEqual(['error']);
  });
});

describe('the cable of a bank', () => {
  const cable = (basis: string, length: string, stops: string, run = ''): string => `design Van {
  basis: ${basis}
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  load Heater { power: 400 W   supply: dc }
  run Line: ${stops} { size: ${basis === 'iec' ? '16 mm2' : '8 AWG'}   length: ${length}   ${run} }
}
`;
  it.each(['nec', 'iec', 'craft'])(
    '%s: a fuse farther than any rule goes, or at the wrong end, is an error',
    async (basis) => {
      expect(await severities(cable(basis, '120 m', 'Bank -> F1 @ 100 m -> Heater'))).toEqual(['error']);
      // Farther than any rule, though in the first half.
      expect(await severities(cable(basis, '120 m', 'Bank -> F1 @ 3.1 m -> Heater'))).toEqual(['error']);
      expect(await severities(cable(basis, '2 m', 'Bank -> F1 @ 1.9 m -> Heater'))).toEqual(['error']);
      // Written the other way round the 100 mm are measured from the load.
      expect(await severities(cable(basis, '2 m', 'Heater -> F1 @ 100 mm -> Bank'))).toEqual(['error']);
      const [finding] = await findings(cable(basis, '2 m', 'Heater -> F1 @ 100 mm -> Bank'));
      expect(lacking(finding?.told, 'at the wrong end')).toEqual([]);
      expect(await severities(cable(basis, '2 m', 'Bank -> F1 @ 100 mm -> Heater'))).toEqual([]);
      expect(await severities(cable(basis, '2 m', 'Bank -> Heater'))).toEqual(['error']);
    },
  );

  it.each([
    // Common practice: a warning.
    ['nec', '600 mm', ['warning']],
    ['iec', '600 mm', ['warning']],
    // 33 CFR 183.455(b), ABYC E-11.10: published.
    ['craft', '600 mm', ['error']],
  ])('%s: a fuse %s away in the open', async (basis, at, told) => {
    expect(await severities(cable(basis, '4 m', `Bank -> F1 @ ${at} -> Heater`))).toEqual(told);
  });

  it('iec: may be long where it is laid proof against short circuits (60364-4-43 434.3)', async () => {
    const far = cable('iec', '20 m', 'Bank -> F1 @ 8 m -> Heater', 'shortCircuitProof: yes');
    expect(await severities(far)).toEqual([]);
    expect(await severities(far.replace('shortCircuitProof: yes', 'shortCircuitProof: no'))).toEqual(['error']);
    expect(await severities(far.replace('F1 @ 8 m -> ', ''))).toEqual(['error']);
  });
});

describe('an existing cable whose fuse nobody knows', () => {
  const old = (known: string): string => `design Van {
  battery Bank : Lfp12V100Ah
  bus Bar {}
  load Heater { power: 400 W   supply: dc }
  run Feed: Bank -> Bar { size: 8 AWG   length: 3 m   ${known} }
  run Line: Bar -> Heater { size: 8 AWG   length: 3 m }
}
`;
  it('is a question and no error, and so is what it feeds', async () => {
    const unknown = await analyseText(old('protection: unknown'));
    expect(findingsOf(unknown, ID)).toEqual([]);
    expect(new Set(askedBy(unknown, ID))).toEqual(new Set(['fuse or breaker of Feed (said to be unknown)']));
    expect((await severities(old(''))).length).toBeGreaterThan(0);
  });

  it('passes nothing that a drawn device would not', async () => {
    const text = old('protection: unknown')
      .replace('Bank -> Bar', 'Bank -> F1 @ 2.5 m -> Bar')
      .replace('bus Bar {}', 'bus Bar {}\n  fuse F1 { class: T   rating: 50 A }');
    expect(await severities(text)).toEqual(['error']);
  });
});

describe('a tap off a gutter', () => {
  const shop = (service: string, run: string, rating = 15): string => `design Shop {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   ${service}   faultCurrent: 8 kA   neutralBond: bonded }
  bus Gutter { rating: 400 A }
  breaker B1 { class: UL489-AC   rating: ${rating} A   poles: 1 }
  load Lamp { power: 1200 W   legs: L1   continuous: no }
  run Tap: Gutter -> B1 @ 3 m -> Lamp { type: THHN   length: 9 m   terminals: 60 degC   earth: 8 AWG   enclosed: yes   ${run} }
  run Main: Mains -> Gutter { size: 500 kcmil   parallel: 2   conductors: 3   type: THHN   length: 5 m   terminals: 75 degC }
}
`;
  it('asks what the service is rated for', async () => {
    const analysis = await analyseText(shop('', 'size: 12 AWG'));
    expect(askedBy(analysis, 'run-unprotected').join()).toContain('rating of Mains');
  });

  // NEC 240.21(B)(1)(4): a tenth of 400 A; Table 310.16 at 60 °C: 8 AWG 40 A, 10 AWG 30 A.
  it('has a tenth of it', async () => {
    expect(findingsOf(await analyseText(shop('rating: 400 A', 'size: 8 AWG')), 'run-unprotected')).toEqual([]);
    expect(findingsOf(await analyseText(shop('rating: 400 A', 'size: 10 AWG')), 'run-unprotected')).toHaveLength(1);
  });
});
