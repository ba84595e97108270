import { describe, expect, test, vi } from 'vitest';
import type * as Placed from '../../../language/src/equipment/placed.js';
import type { QuantityName, Result, RunTotals } from '../../../language/src/index.js';

/*
 * Kinds that exist in this file only, put where the one list of kinds stands. Every kind is there under another name as well, with the same
 * answers to what it can do: a design that is written with those names must be worked out, judged, played and searched alike. And a few kinds
 * do one thing each, with other names for their terminals and other properties for what they state.
 */
vi.mock('../../../language/src/equipment/placed.js', async (importOriginal) => {
  const { INSTANCES } = await importOriginal<typeof Placed>();
  const { SPRING, copyOf } = await import('./toys.js');
  return { INSTANCES: [...INSTANCES, ...INSTANCES.map(copyOf), SPRING] };
});

const { INSTANCE_KINDS } = await import('../../../language/src/equipment/index.js');
const { analyseControls } = await import('../../../language/src/control/index.js');
const { displayValue, numberIn, playScenario } = await import('../../../language/src/index.js');
const { DESIGN_FUNCTIONS } = await import('../../../language/src/quantities/design-functions.js');
const { derive } = await import('../../../language/src/derivation/index.js');
const { Dice } = await import('../../helpers/random.js');
const { analyseText, applyFix, findingsOf } = await import('../../helpers/analyse.js');
const { randomSystem } = await import('../../agreement/random-system.js');
const { ruleSite } = await import('../../agreement/random-rules.js');
const { textOf, ofKind } = await import('../../agreement/draft.js');

const { SPRING, terminalOfCopy } = await import('./toys.js');
const REAL = INSTANCE_KINDS.map(({ kind }) => kind as string).filter(
  (kind) => !kind.startsWith('toy') && kind !== SPRING.kind,
);
const TERMINALS = ['dc', 'ac', 'input', 'solar', 'in', 'out', 'normal', 'standby'];

/** The same text with every kind, and every terminal, under its other name. */
const renamed = (text: string): string =>
  text
    .replace(new RegExp(`^(\\s*)(${REAL.join('|')})(?= [A-Z])`, 'gm'), '$1toy$2')
    .replace(
      new RegExp(`(?<=^ *run .*\\b[A-Z]\\w*)\\.(${TERMINALS.join('|')})\\b`, 'gm'),
      (_, name: string) => `.${terminalOfCopy(name)}`,
    );

const plain = (text: string): string =>
  text.replaceAll(/\btoy(?=[a-z])/gi, '').replaceAll(new RegExp(`\\bmy(?=(${TERMINALS.join('|')})\\b)`, 'g'), '');

const shown = (result: Result): string =>
  result.kind === 'known'
    ? `${displayValue(result.derivation, 12)} ${JSON.stringify(result.derivation.governing ?? [])}`
    : result.kind === 'missing'
      ? `missing ${result.missing.join(', ')}`
      : result.reason;

const books = (totals: RunTotals): unknown =>
  Object.fromEntries(Object.entries(totals).map(([name, value]) => [name, value instanceof Map ? [...value] : value]));

const WEATHER = ['time,irradiance,temperature', '2027-01-01,1000,25', '2027-12-01,1000,25'].join('\n');

/** All that is said of a design: findings, quantities of everything, the play of its scenarios, what its rules are accused of. */
async function allOf(text: string): Promise<string[]> {
  const analysis = await analyseText(text);
  return analysis.designs
    .flatMap(({ context, system }) => {
      const things = [...system.instances, ...system.runs];
      const quantities = things.flatMap((thing) =>
        context.quantityNames(thing).map((name) => `${thing.name}.${name}: ${shown(context.quantity(thing, name))}`),
      );
      const played = system.scenarios.map((scenario) => {
        const play = playScenario(context, scenario, { resolution: 900, weatherText: () => WEATHER });
        return play.kind === 'played'
          ? JSON.stringify([
              play.result.assumptions,
              play.result.events,
              play.result.totals.map(books),
              play.result.series.columns.map(({ name, values }) => [name, values.length, values.at(-1)]),
            ])
          : JSON.stringify(play);
      });
      const rules = analyseControls(context).map(({ faults, refused, open }) =>
        JSON.stringify([faults.map(({ kind }) => kind), refused, open]),
      );
      return [...quantities, ...played, ...rules].map(plain);
    })
    .concat(
      analysis.findings.map(({ check, severity, subject, message }) =>
        plain(`${check} ${severity} ${subject} ${message}`),
      ),
      analysis.questions.map(({ check, subject, missing }) => plain(`${check} ${subject} ${missing.join()}`)),
    );
}

describe('every kind under another name', () => {
  const drafts = [1, 2, 3, 5, 8, 14, 19, 32, 40, 76, 91].map((seed) => {
    const draft = randomSystem(seed);
    const start = ofKind(draft, 'battery').map(({ name }) => `soc(${name}): 40 %`);
    return {
      name: `design ${seed}`,
      text: textOf(draft, [], '', `weather: "sun.csv"   duration: 1 d   ${start.join('   ')}`),
    };
  });
  const sites = [3, 7, 12].map((seed) => ({ name: `rules ${seed}`, text: ruleSite(new Dice(seed), new Dice(seed)) }));

  const texts = [...drafts, ...sites, { name: 'gear in runs', text: gear() }];

  test('is written in one of these texts', () => {
    const all = texts.map(({ text }) => text).join('\n');
    expect(REAL.filter((kind) => !new RegExp(`^ *${kind} [A-Z]`, 'm').test(all))).toEqual([]);
  });

  test.each(texts)('is the same: $name', async ({ text }) => {
    const other = renamed(text);
    const kinds = (await analyseText(other)).designs[0]!.system.instances.map(({ kind }) => kind);
    expect(kinds.filter((kind) => !kind.startsWith('toy'))).toEqual([]);
    const [one, two] = [await allOf(text), await allOf(other)];
    expect(one.length).toBeGreaterThan(20);
    expect(two.filter((line, at) => line !== one[at])).toEqual(one.filter((line, at) => line !== two[at]));
  });
});

/** A design that a spring charges, of our own invention. */
const wound = (coil = 'most: 40 A   holds: 56 V', bank = '', more = ''): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  ${coil === '' ? '' : `spring Coil { ${coil} }`}
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 10 mohm   cellTemperature: 25 degC   reserve: 10 %   ${bank} }
  bus Dc {}
  load Fan { power: 256 W   supply: dc   profile: always }
  ${coil === '' ? '' : 'run Feed: Coil -> Dc { size: 25 mm2   length: 1 m }'}
  fuse Cell { rating: 125 A   interrupt: 20 kA }
  run Store: Bank -> Dc { size: 35 mm2   length: 1 m }
  run Line: Dc -> Cell -> Fan { size: 4 mm2   length: 2 m }
  ${more}
}
`;

describe('a kind of which nobody has heard, that gives to a direct bus', () => {
  const design = async (text: string) => (await analyseText(text)).designs[0]!;
  const valueIn = async (text: string, name: string, quantity: QuantityName, unit: string): Promise<number> => {
    const { context, system } = await design(text);
    const thing = [...system.instances, ...system.runs].find((each) => each.name === name)!;
    const found = context.quantity(thing, quantity);
    if (found.kind !== 'known') throw new Error(`${quantity} of ${name}: ${JSON.stringify(found)}`);
    return numberIn(found.derivation, unit);
  };

  test('counts in quantities: currents of runs, charge, voltages, faults, times', async () => {
    const text = wound();
    expect(await valueIn(text, 'Feed', 'current', 'A')).toBe(40);
    expect(await valueIn(text, 'Store', 'current', 'A')).toBeCloseTo(40, 6);
    expect(await valueIn(text, 'Bank', 'chargeCurrent', 'A')).toBe(40);
    expect(await valueIn(text, 'Bank', 'highestVoltage', 'V')).toBe(56);
    const { context, system } = await design(text);
    const bank = system.instances.find(({ name }) => name === 'Bank')!;
    const net = DESIGN_FUNCTIONS.get('netChargeCurrent')!.compute(bank, [], context);
    // 256 W at 51.2 V are 5 A; out and back over 2 m of 4 mm², 4.61 mohm/m at 20 °C (IEC 60228), lose 0.56 W at 75 °C.
    const lost = 5 ** 2 * 4 * 4.61e-3 * (1 + 0.00393 * 55);
    expect(net.kind === 'known' && numberIn(net.derivation, 'A')).toBeCloseTo(35 - lost / 51.2, 4);
    const span = [20, 80].map((soc) => ({ derivation: derive('soc', soc, '%') }));
    const time = DESIGN_FUNCTIONS.get('chargeTime')!.compute(bank, span, context);
    expect(time.kind === 'known' && numberIn(time.derivation, 'h')).toBeCloseTo(60 / 35, 1);
    const [strong, weak] = await Promise.all(
      ['most: 400 A   holds: 56 V', 'most: 40 A   holds: 56 V'].map((coil) =>
        valueIn(wound(coil), 'Cell', 'faultCurrent', 'A'),
      ),
    );
    expect(strong! - weak!).toBeGreaterThan(300);
  });

  test('counts in checks, and a fix sets the property in which it states its limit', async () => {
    const [finding] = findingsOf(await analyseText(wound(undefined, 'maximumCharge: 30 A')), 'charge-current');
    expect(finding?.told).toContain('Coil');
    expect(finding?.fixes?.[0]?.edits[0]?.text).toContain('30 A');
    const fixed = applyFix(wound(undefined, 'maximumCharge: 30 A'), finding!.fixes![0]!);
    expect(fixed).toContain('most: 30 A');
    expect(findingsOf(await analyseText(fixed), 'charge-current')).toEqual([]);
    expect(findingsOf(await analyseText(wound('most: 40 A   holds: 60 V')), 'charge-voltage').length).toBeGreaterThan(
      0,
    );
  });

  test('is played: it gives, is lost, and is switched by a rule', async () => {
    const rule = 'control Keep of Coil { off when soc(Bank) > 80 %   on when soc(Bank) < 60 % }';
    const text = wound(
      undefined,
      '',
      `${rule}\n  scenario Play { from: 2027-01-10   duration: 2 d   soc(Bank): 50 %   lost(Coil): 40 h .. 46 h }`,
    );
    const { context, system } = await design(text);
    const play = playScenario(context, system.scenarios[0]!, {});
    if (play.kind !== 'played') throw new Error(JSON.stringify(play));
    const column = (name: string): Float64Array =>
      play.result.series.columns.find((each) => each.name === name)!.values;
    expect(Math.max(...column('current(Coil)'))).toBeCloseTo(40, 6);
    expect(Math.max(...column('soc(Bank)'))).toBeCloseTo(0.8, 3);
    expect(
      play.result.events.filter(({ of, what }) => of === 'Coil' && ['shed', 'restored', 'lost', 'back'].includes(what))
        .length,
    ).toBeGreaterThan(3);
  });

  test('is searched where rules switch it', async () => {
    const faults = async (rules: string): Promise<string[]> =>
      analyseControls((await design(wound(undefined, '', `control Keep of Coil { ${rules} }`))).context).flatMap(
        ({ faults: all }) => all.map(({ kind }) => kind),
      );
    expect(await faults('off when soc(Bank) > 80 %   on when soc(Bank) < 60 %')).toEqual([]);
    expect(await faults('off when soc(Bank) > 50 %   on when soc(Bank) < 70 %')).not.toEqual([]);
  });
});

/** Gear of every kind in the path of runs. */
function gear(): string {
  return `design D {
  site { altitude: 0 m   ambient: 15..30 degC }
  grid Mains { voltage: 230 V   rating: 32 A   faultCurrent: 1 kA }
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  transfer Ats { rating: 63 A }
  breaker Main { rating: 25 A   interrupt: 6 kA }
  receptacle Post { rating: 32 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56.8 V   efficiency: 92 %   powerFactor: 0.98 }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..12 mohm   cellTemperature: 5..30 degC   reserve: 10 % }
  fuse Cell { rating: 200 A   interrupt: 20 kA }
  switch Main2 { rating: 300 A }
  shunt Meter { rating: 500 A }
  bus Dc {}
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   idle: 20 W   cutOff: 44 V }
  load Tools { power: 1 kW   duty: 30 % }
  run In1: Mains -> Post -> Main -> Ats.normal { size: 6 mm2   length: 10 m }
  run In2: Genset -> Ats.standby { size: 6 mm2   length: 10 m }
  run In3: Ats.out -> Rect.ac { size: 6 mm2   length: 5 m }
  run Out: Rect.dc -> Dc { size: 25 mm2   length: 1 m }
  run Feed: Bank -> Cell -> Main2 -> Meter -> Dc { size: 70 mm2   length: 1 m }
  run InvFeed: Dc -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Tools { size: 4 mm2   length: 10 m }
  control Auto of Genset { start when soc(Bank) < 30 %   stop when soc(Bank) > 80 % }
  scenario Week { from: 2027-03-10   duration: 4 d   soc(Bank): 60 %   lost(Mains): 0 h .. 96 h }
}
`;
}
