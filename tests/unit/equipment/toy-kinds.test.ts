import { describe, expect, test, vi } from 'vitest';
import type { Result, RunTotals } from '../../../language/src/index.js';

/*
 * Kinds that exist in this file only, put where the one list of kinds stands. Every kind is there under another name as well, with the same
 * answers to what it can do: a design that is written with those names must be worked out, judged, played and searched alike. And a few kinds
 * do one thing each, with other names for their terminals and other properties for what they state.
 */
vi.mock('../../../language/src/equipment/placed.js', async (importOriginal) => {
  const { INSTANCES } = await importOriginal<typeof import('../../../language/src/equipment/placed.js')>();
  const { TOYS } = await import('./toys.js');
  return { INSTANCES: [...INSTANCES, ...INSTANCES.map((each) => ({ ...each, kind: `toy${each.kind}` })), ...TOYS] };
});

const { INSTANCE_KINDS } = await import('../../../language/src/equipment/index.js');
const { analyseControls } = await import('../../../language/src/control/index.js');
const { displayValue, numberIn, playScenario } = await import('../../../language/src/index.js');
const { DESIGN_FUNCTIONS } = await import('../../../language/src/quantities/design-functions.js');
const { derive } = await import('../../../language/src/derivation/index.js');
const { Dice } = await import('../../helpers/random.js');
const { analyseText, findingsOf } = await import('../../helpers/analyse.js');
const { randomSystem } = await import('../../agreement/random-system.js');
const { ruleSite } = await import('../../agreement/random-rules.js');
const { textOf, ofKind, SOURCES } = await import('../../agreement/draft.js');

const REAL = INSTANCE_KINDS.map(({ kind }) => kind as string).filter((kind) => !kind.startsWith('toy'));

/** The same text with every kind under its other name. */
const renamed = (text: string): string =>
  text.replace(new RegExp(`^(\\s*)(${REAL.join('|')})(?= [A-Z])`, 'gm'), '$1toy$2');

const plain = (text: string): string => text.replaceAll(/\btoy(?=[a-z])/gi, '');

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
  const drafts = [1, 2, 3, 5, 8, 11, 14, 19, 24, 32, 41, 91].map((seed) => {
    const draft = randomSystem(seed);
    const start = ofKind(draft, 'battery').map(({ name }) => `soc(${name}): 40 %`);
    return {
      name: `design ${seed}`,
      text: textOf(draft, [], '', `weather: "sun.csv"   duration: 1 d   ${start.join('   ')}`),
    };
  });
  const sites = [3, 7, 12].map((seed) => ({ name: `rules ${seed}`, text: ruleSite(new Dice(seed), new Dice(seed)) }));

  test('is drawn: all that charge, and all that may be lost', () => {
    const kinds = new Set(
      Array.from({ length: 200 }, (_, at) => randomSystem(at + 1).things.map(({ kind }) => kind)).flat(),
    );
    expect(SOURCES.filter((kind) => !kind.startsWith('toy') && !kinds.has(kind))).toEqual([]);
  });

  test.each([...drafts, ...sites, { name: 'gear in runs', text: gear() }])('is the same: $name', async ({ text }) => {
    const other = renamed(text);
    expect(other).not.toBe(text);
    const [one, two] = [await allOf(text), await allOf(other)];
    expect(one.length).toBeGreaterThan(20);
    expect(two).toEqual(one);
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
