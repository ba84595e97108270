import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CHECKS, type Fix } from '../../../language/src/index.js';
import { type TestedAnalysis, type TestedFinding, analyseText, applyFix } from '../../helpers/analyse.js';

/*
 * Random runs, right and wrong in every way that conductors, devices, earth conductors, cords and plugs can be. Whatever a check of the group
 * offers must end its finding and bring no error of another one on that run: sizes, ratings and earth conductors have to hold together.
 */

const GAUGES = [
  '14 AWG',
  '12 AWG',
  '10 AWG',
  '8 AWG',
  '6 AWG',
  '4 AWG',
  '3 AWG',
  '2 AWG',
  '1 AWG',
  '1/0 AWG',
  '2/0 AWG',
  '4/0 AWG',
  '300 kcmil',
];
const METRIC = [
  '1.5 mm2',
  '2.5 mm2',
  '4 mm2',
  '6 mm2',
  '10 mm2',
  '16 mm2',
  '25 mm2',
  '35 mm2',
  '50 mm2',
  '70 mm2',
  '95 mm2',
  '150 mm2',
];
const RATINGS = [
  6, 10, 15, 16, 20, 25, 30, 32, 35, 40, 50, 60, 63, 80, 100, 110, 125, 150, 160, 175, 200, 225, 250, 300, 400,
];
const TYPES = {
  nec: ['THHN', 'THWN-2', 'XHHW-2', 'USE-2', 'UF-B', 'FineStranded90', 'XHHW-2-Aluminium'],
  iec: ['H07V-K', 'H07V-U', 'PowerXlpe90', 'SheathedPvc70'],
  craft: ['FineStranded105', 'CraftPrimary105', 'H07V-K'],
} as const;
const CORDS = {
  nec: ['SOOW', 'STW', 'SJTW', 'TypeW'],
  iec: ['H07RN-F', 'H07BN4-F'],
  craft: ['STOW', 'H07RN-F'],
} as const;

type Practice = keyof typeof TYPES;

/** `name: value` or nothing. */
const maybe = (name: string, values: readonly string[]): fc.Arbitrary<string> =>
  fc.option(fc.constantFrom(...values), { freq: 2 }).map((value) => (value === null ? '' : `   ${name}: ${value}`));

const conductors = (practice: Practice, isCord: boolean, carries: 'ac' | 'dc'): fc.Arbitrary<string> => {
  const sizes =
    practice === 'iec'
      ? fc.constantFrom(...METRIC)
      : fc.oneof(
          { weight: 3, arbitrary: fc.constantFrom(...GAUGES) },
          { weight: 1, arbitrary: fc.constantFrom(...METRIC) },
        );
  const earths = practice === 'iec' ? METRIC.slice(0, 6) : GAUGES.slice(0, 6);
  return fc
    .tuple(
      sizes,
      fc.constantFrom(...(isCord ? CORDS[practice] : TYPES[practice])),
      fc.integer({ min: 5, max: 600 }).map((decimetres) => `${decimetres / 10} m`),
      maybe('terminals', ['60 degC', '75 degC', '90 degC']),
      maybe('ambient', ['25 degC', '35 degC', '45 degC']),
      practice === 'iec' ? maybe('circuits', ['1', '3', '6']) : maybe('conductors', ['2', '3', '6', '9']),
      practice === 'iec' ? maybe('method', ['A1', 'B1', 'B2', 'C', 'E']) : maybe('engineSpace', ['yes', 'no']),
      fc.constantFrom('', '', '', '   parallel: 2'),
      carries === 'ac' && !isCord ? maybe('earth', earths) : fc.constant(''),
      maybe('dropLimit', ['1 %', '3 %', '10 %']),
    )
    .map(([size, type, length, ...rest]) => `{ size: ${size}   type: ${type}   length: ${length}${rest.join('')} }`);
};

const device = (name: string, carries: 'ac' | 'dc'): fc.Arbitrary<string> =>
  fc
    .tuple(
      fc.constantFrom(...RATINGS),
      carries === 'dc'
        ? fc.constantFrom('fuse:class: T', 'fuse:class: gPV', 'fuse:class: gG', 'fuse:', 'breaker:')
        : fc.constantFrom(
            'breaker:class: UL489-AC',
            'breaker:curve: B',
            'breaker:curve: C',
            'fuse:class: gG',
            'breaker:fullRating: yes',
          ),
    )
    .map(([rating, sort]) => {
      const [kind, facts = ''] = sort.split(/:(.*)/s);
      return `${kind} ${name} { rating: ${rating} A   ${facts} }`;
    });

const watts = (low: number, high: number): fc.Arbitrary<number> => fc.integer({ min: low, max: high });
const yesNo = fc.constantFrom('yes', 'no');
const headOf = (basis: string): string => `design Any {\n  basis: ${basis}\n`;
const BASES: Readonly<Record<Practice, readonly string[]>> = {
  nec: ['nec', 'nec 2023'],
  iec: ['iec'],
  craft: ['craft'],
};

interface Scene {
  readonly carries: 'ac' | 'dc';
  readonly isCord?: boolean;
  readonly body: (facts: { power: number; continuous: string; run: string; device: string; more: string }) => string;
}

const SCENES: readonly Scene[] = [
  {
    carries: 'dc',
    body: ({ power, continuous, run, device: gear, more }) => `
  battery Bank : Lfp24V200Ah
  ${gear}
  load Heater { power: ${power} W   supply: dc   continuous: ${continuous} }
  run Line: Bank -> D @ 150 mm -> Heater ${run.replace(' }', `${more} }`)}`,
  },
  {
    carries: 'dc',
    body: ({ power, run, device: gear }) => `
  battery Bank : Lfp48V280Ah
  ${gear}
  inverter Inv { rated: ${power} W   surge: ${2 * power} W   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V }
  run Line: Bank -> D @ 150 mm -> Inv.dc ${run}`,
  },
  {
    carries: 'dc',
    body: ({ power, run, device: gear }) => `
  battery Bank : Lfp48V280Ah
  bus Bar {}
  ${gear}
  fuse Main { class: T   rating: 200 A }
  charger Rect { currentLimit: ${Math.round(power / 50)} A   absorb: 56 V }
  run Feed: Bank -> Main @ 150 mm -> Bar { size: 4/0 AWG   type: FineStranded90   length: 1 m }
  run Line: Bar -> D @ 150 mm -> Rect.dc ${run}`,
  },
  {
    carries: 'dc',
    body: ({ power, run }) => `
  battery Bank : Lfp48V280Ah
  bus Bar {}
  fuse Main { class: T   rating: 200 A }
  charger Rect { currentLimit: ${Math.round(power / 50)} A   absorb: 56 V }
  run Feed: Bank -> Main @ 150 mm -> Bar { size: 4/0 AWG   type: FineStranded90   length: 1 m }
  run Line: Bar -> Rect.dc ${run}`,
  },
  {
    carries: 'dc',
    body: ({ power, run, device: gear }) => `
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: ${(power / 600).toFixed(1)} A   maximumPowerVoltage: 31 V   maximumPowerCurrent: ${(power / 650).toFixed(1)} A   series: 2   parallel: 2   seriesFuse: 30 A   stringFuse: 25 A }
  chargeController Tracker { maximumVoltage: 150 V   maximumCurrent: 60 A   currentLimit: 30 A   absorb: 56 V   efficiency: 97 % }
  battery Bank : Lfp48V280Ah
  ${gear}
  fuse F2 { class: T   rating: 60 A }
  run Line: Array -> D @ 300 mm -> Tracker.solar ${run}
  run Feed: Bank -> F2 @ 150 mm -> Tracker.dc { size: 4 AWG   type: FineStranded90   length: 1 m }`,
  },
  {
    carries: 'ac',
    body: ({ power, continuous, run, device: gear }) => `
  grid Mains { voltage: 230 V   rating: 100 A   faultCurrent: 2 kA   neutralBond: bonded }
  ${gear}
  load Heater { power: ${power} W   continuous: ${continuous} }
  run Line: Mains -> D -> Heater ${run}`,
  },
  {
    carries: 'ac',
    body: ({ power, continuous, run, device: gear }) => `
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 4 kA   neutralBond: bonded }
  bus Panel { rating: 100 A }
  breaker Main { rating: 60 A }
  ${gear}
  load Heater { power: ${power} W   voltage: 240 V   continuous: ${continuous} }
  load Lamp { power: 400 W   voltage: 120 V }
  run Feed: Mains -> Main -> Panel { size: 4 AWG   type: THWN-2   length: 5 m   earth: 8 AWG }
  run Line: Panel -> D -> Heater ${run}
  run Other: Panel -> Lamp { size: 4 AWG   type: THWN-2   length: 5 m   earth: 8 AWG }`,
  },
  {
    carries: 'ac',
    body: ({ power, run, device: gear }) => `
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: ${power} W   voltage: 120 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V   neutralBond: bonded }
  ${gear}
  fuse F1 { class: T   rating: 300 A }
  load Lamps { power: ${Math.round(power / 3)} W   voltage: 120 V }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 300 kcmil   type: FineStranded90   length: 1 m }
  run Line: Inv.ac -> D -> Lamps ${run}`,
  },
  // Two ways between the same points share the current by their resistance.
  {
    carries: 'dc',
    body: ({ power, run, device: gear }) => `
  battery Bank : Lfp24V200Ah
  bus Bar {}
  ${gear}
  load Heater { power: ${power} W   supply: dc }
  run Feed: Bank -> D @ 150 mm -> Bar { size: 4/0 AWG   type: FineStranded90   length: 1 m }
  run Line: Bar -> Heater ${run}
  run Other: Bar -> Heater { size: 4 AWG   type: FineStranded90   length: 3 m }`,
  },
  {
    carries: 'ac',
    body: ({ power, continuous, run, device: gear }) => `
  grid Mains { voltage: 230 V   rating: 60 A   faultCurrent: 2 kA   neutralBond: bonded }
  ${gear}
  bus Panel { rating: 60 A }
  load Heater { power: ${power} W   continuous: ${continuous} }
  run Feed: Mains -> D -> Panel { size: 4 AWG   type: THWN-2   length: 3 m   earth: 8 AWG }
  run Line: Panel -> Heater ${run}
  run Other: Panel -> Heater { size: 6 AWG   type: THWN-2   length: 3 m   earth: 8 AWG }`,
  },
  {
    carries: 'ac',
    isCord: true,
    body: ({ power, continuous, run }) => `
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: L14-30   breaker: 30 A   neutralBond: bonded }
  load Heater { power: ${power} W   voltage: 240 V   continuous: ${continuous} }
  run Line: Genset -> Heater ${run}`,
  },
  {
    carries: 'ac',
    isCord: true,
    body: ({ power, continuous, run, device: gear }) => `
  grid Shore { voltage: 230 V   rating: 16 A   outlet: IEC-60309-16   faultCurrent: 2 kA   neutralBond: bonded }
  ${gear}
  load Heater { power: ${power} W   continuous: ${continuous} }
  run Line: Shore -> D -> Heater ${run}`,
  },
];

const designs: fc.Arbitrary<string> = fc
  .tuple(fc.constantFrom<Practice>('nec', 'nec', 'iec', 'craft'), fc.constantFrom(...SCENES))
  .chain(([practice, scene]) =>
    fc
      .record({
        basis: fc.constantFrom(...BASES[practice]),
        power: fc.oneof(watts(200, 2500), watts(2500, 9000)),
        continuous: yesNo,
        run: conductors(practice, scene.isCord === true, scene.carries),
        device: device('D', scene.carries),
        more: fc.constantFrom('', '   enclosed: yes'),
      })
      .map(({ basis, ...facts }) => `${headOf(basis)}${scene.body(facts)}\n}\n`),
  );

const GROUP = new Set(CHECKS.filter(({ group }) => group === 'conductors').map(({ id }) => id));
const ofGroup = (analysis: TestedAnalysis): TestedFinding[] =>
  analysis.findings.filter(({ check }) => GROUP.has(check));
const errorsOf = (analysis: TestedAnalysis): string[] =>
  ofGroup(analysis)
    .filter(({ severity }) => severity === 'error')
    .map(({ check, subject }) => `${check} on ${subject}`);

/** What is wrong with a fix: findings it leaves, errors it brings. */
async function faultsOfFix(text: string, before: TestedAnalysis, finding: TestedFinding, fix: Fix): Promise<string[]> {
  const mended = applyFix(text, fix);
  const after = await analyseText(mended);
  const same = (analysis: TestedAnalysis): TestedFinding[] =>
    ofGroup(analysis).filter(({ check, subject }) => check === finding.check && subject === finding.subject);
  // One check may find several things on a run, as drop at the load and drop at surge: one of them must be gone.
  const left =
    same(after).length < same(before).length ? same(after).filter(({ told }) => told === finding.told) : same(after);
  // What could not be judged before for a missing fact or table row was not free of errors.
  const known = [...errorsOf(before), ...before.questions.map(({ check, subject }) => `${check} on ${subject}`)];
  // In a loop a change of one way shifts current to or from the others, which are then found by themselves: the run itself counts there.
  const [design] = before.designs;
  const run = design!.system.runs.find(({ path }) => path === finding.subject);
  const isInLoop = run !== undefined && design!.context.graph.sides(run).loop;
  const counts = (error: string): boolean => !isInLoop || error.endsWith(` on ${finding.subject}`);
  const fresh = errorsOf(after).filter((each) => counts(each) && !known.includes(each));
  const unread = after.findings.filter(({ check }) => check === 'syntax-error' || check === 'duplicate-name');
  return [
    ...left.map(({ message }) => `left: ${message}`),
    ...fresh.map((each) => `brought: ${each}`),
    ...unread.map(({ message }) => `unread: ${message}`),
  ].map((fault) => `${fault}\n  after "${fix.title}" of ${finding.check} (${finding.message})\n${text}\n=>\n${mended}`);
}

describe('fixes of runs hold together', () => {
  it('end their finding and bring no error of another check of conductors', { timeout: 600_000 }, async () => {
    let tried = 0;
    await fc.assert(
      fc.asyncProperty(designs, async (text) => {
        const before = await analyseText(text);
        expect(before.findings.filter(({ check }) => ['syntax-error', 'unknown-name'].includes(check))).toEqual([]);
        for (const finding of ofGroup(before))
          for (const fix of finding.fixes) {
            tried += 1;
            expect(await faultsOfFix(text, before, finding, fix)).toEqual([]);
          }
      }),
      { numRuns: Number(process.env.RUNS ?? 120) },
    );
    // Most random runs are wrong in some way: a property that met no fix would prove nothing.
    expect(tried).toBeGreaterThan(50);
  });
});
