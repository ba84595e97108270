import { describe, expect, it } from 'vitest';
import { INSTANCE_KINDS, none } from '../../../language/src/equipment/index.js';
import { PIPE_ROUGHNESS } from '../../../language/src/reference/energy/index.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';
import { resultOf } from '../simulate/designs.js';
import { numberIn } from '../../../language/src/derivation/index.js';

/** Hazen and Williams by hand, SI. */
const lossOf = (flow: number, length: number, diameter: number, roughness: number): number =>
  (10.67 * length * flow ** 1.852) / (roughness ** 1.852 * diameter ** 4.8704);
/** W of an invented turbine of 40 m behind 200 m of 90 mm plastic pipe, 65 % and 80 %. */
const wattsAt = (litres: number): number =>
  9806.65 * (litres / 1000) * (40 - lossOf(litres / 1000, 200, 0.09, 140)) * 0.65 * 0.8;

const FLOWS = [6, 6, 9, 14, 16, 12, 8, 5, 4, 7, 9, 7];
const TABLE = `flowByMonth: { ${FLOWS.map((flow, at) => `${at + 1}: ${flow} L/s`).join(', ')} }`;

/** An invented mill with one turbine, a bank and a load of direct current. */
const mill = (turbine = TABLE, more = ''): string => `design Mill {
  hydro Turbine { head: 40 m   ${turbine}   ecologicalFlow: 2 L/s   designFlow: 6 L/s   leastFlow: 1 L/s
    penstock: plastic   penstockLength: 200 m   penstockDiameter: 90 mm   turbineEfficiency: 65 %   generatorEfficiency: 80 %
    rated: 1500 W   voltage: 56 V   currentLimit: 40 A   heldBy: diversion   diversionPower: 2 kW }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 10 mohm   cellTemperature: 25 degC   protectionLow: 44.8 V }
  load House { power: 200 W   supply: dc   profile: always }
  run Line: Turbine -> Bank { size: 35 mm2   length: 10 m }
  run Feed: Bank -> House { size: 6 mm2   length: 4 m }
  ${more}
}
`;

describe('a hydro turbine', () => {
  it('gives most in its best month at the lowest voltage of the bank', async () => {
    // 6 L/s through the nozzles, whatever more the stream has.
    expect(await valueOf(mill(), 'Turbine', 'outputCurrent', 'A')).toBeCloseTo(wattsAt(6) / 44.8, 4);
    expect(await valueOf(mill(), 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(wattsAt(6) / 44.8, 4);
    expect(await valueOf(mill(), 'Line', 'current', 'A')).toBeCloseTo(wattsAt(6) / 44.8, 4);
    expect((await derivationOf(mill(), 'Turbine', 'outputCurrent')).governing).toContainEqual({
      kind: 'bound',
      bound: 'drive',
      subject: 'Turbine',
    });
  });

  it('is bounded by its rating and its current limit as well', async () => {
    const limited = mill(`${TABLE}   rated: 600 W`).replace('rated: 1500 W', '');
    expect(await valueOf(limited, 'Turbine', 'outputCurrent', 'A')).toBeCloseTo(600 / 44.8, 6);
    const set = mill().replace('currentLimit: 40 A', 'currentLimit: 12 A');
    expect(await valueOf(set, 'Turbine', 'outputCurrent', 'A')).toBe(12);
  });

  it('is reckoned by its poorest month where the least is wanted, or by the one it names', async () => {
    const net = async (text: string): Promise<number> => {
      const analysis = await analyseText(text);
      const [requirement] = analysis.requirements;
      return numberIn(requirement!.left!, 'A');
    };
    const asked = 'require netChargeCurrent(Bank) >= 0 A';
    // September leaves 2 of 4 L/s, May more than the nozzles pass. The mean load is 200 W.
    const september = await net(mill(TABLE, asked));
    const may = await net(mill(`${TABLE}   month: 5`, asked));
    expect(september).toBeGreaterThan((wattsAt(2) - 200) / 56 - 0.5);
    expect(september).toBeLessThan((wattsAt(2) - 200) / 51.2 + 0.5);
    expect(may).toBeGreaterThan((wattsAt(6) - 200) / 56 - 1);
    expect(may).toBeLessThan((wattsAt(6) - 200) / 51.2 + 1);
  });

  it('is asked for the facts without which nobody knows the least that it gives', async () => {
    const asked = async (text: string): Promise<string[]> => askedBy(await analyseText(text), 'penstock-loss');
    expect(await asked(mill().replace('head: 40 m', ''))).toEqual(['head of Turbine']);
    expect(await asked(mill().replace('penstock: plastic', ''))).toEqual(['roughness or penstock of Turbine']);
    expect(await asked(mill(''))).toEqual(['flow of Turbine']);
    expect(await asked(mill(TABLE.replace('8: 5 L/s, ', '')))).toEqual(['flowByMonth of Turbine for month 8']);
  });

  it('charges in a state that is called by what it is', async () => {
    const { context } = (await analyseText(mill())).designs[0]!;
    expect(context.states.map(({ id }) => id)).toEqual(['battery', 'water']);
  });

  it('has a pipe of every material of the table, and of no other', () => {
    const hydro = INSTANCE_KINDS.find(
      ({ capabilities: { charges } }) =>
        charges !== none &&
        charges.supply.kind === 'own' &&
        charges.supply.drive !== none &&
        charges.supply.drive.water !== none,
    )!;
    const words = hydro.properties.find(({ name }) => name === 'penstock')!.type;
    expect(words.type === 'word' && words.words.map(({ word }) => word)).toEqual(
      PIPE_ROUGHNESS.map(({ material }) => material),
    );
  });

  it('is a name as good as any for parts and instances', async () => {
    const analysis = await analyseText(`part load hydro { power: 20 W   supply: dc }
design Old {
  battery Bank : Lfp12V200Ah
  load hydro : hydro { profile: always }
  run Feed: Bank -> hydro { size: 2.5 mm2   length: 2 m }
}
`);
    for (const check of ['syntax-error', 'unknown-name', 'wrong-type']) expect(findingsOf(analysis, check)).toEqual([]);
    expect(analysis.designs[0]!.system.instances.map(({ name, kind }) => `${kind} ${name}`)).toContain('load hydro');
  });
});

describe('checks of turbines', () => {
  const told = async (text: string, check: string): Promise<string[]> =>
    findingsOf(await analyseText(text), check).map(({ severity }) => severity);

  it('take a diversion load of the largest output with a note, and of 125 % without', async () => {
    const most = wattsAt(6);
    const load = (watts: number): string => mill().replace('diversionPower: 2 kW', `diversionPower: ${watts} W`);
    expect(await told(load(Math.floor(most)), 'diversion-load')).toEqual(['warning']);
    expect(await told(load(Math.ceil(most)), 'diversion-load')).toEqual(['info']);
    expect(await told(load(Math.floor(1.25 * most)), 'diversion-load')).toEqual(['info']);
    expect(await told(load(Math.ceil(1.25 * most)), 'diversion-load')).toEqual([]);
  });

  it('take 15 % of the head in the pipe, and 3 m/s', async () => {
    const at = (millimetres: number): string =>
      mill().replace('penstockDiameter: 90 mm', `penstockDiameter: ${millimetres} mm`);
    // 15 % of 40 m are 6 m.
    const limit = 1000 * ((10.67 * 200 * 0.006 ** 1.852) / (140 ** 1.852 * 6)) ** (1 / 4.8704);
    expect(await told(at(Math.floor(limit * 10) / 10), 'penstock-loss')).toEqual(['warning']);
    expect(await told(at(Math.ceil(limit * 10) / 10), 'penstock-loss')).toEqual([]);
    // A short pipe that loses little: 6 L/s at 3 m/s are 50.5 mm.
    const short = (millimetres: number): string =>
      at(millimetres).replace('penstockLength: 200 m', 'penstockLength: 5 m');
    expect(await told(short(50.4), 'penstock-loss')).toEqual(['warning']);
    expect(await told(short(50.6), 'penstock-loss')).toEqual([]);
  });

  it('take a turbine that can be closed down to what the stream gives in every month', async () => {
    const least = (litres: number): string => mill().replace('leastFlow: 1 L/s', `leastFlow: ${litres} L/s`);
    expect(await told(least(2), 'stream-flow')).toEqual([]);
    expect(await told(least(2.1), 'stream-flow')).toEqual(['warning']);
  });
});

describe('a played turbine', () => {
  const scenario = (from: string, more: string): string => `scenario Play { from: ${from}   ${more} }`;

  it('gives what the water of the month gives, from the first of the month on', async () => {
    const result = await resultOf(mill(TABLE, scenario('2026-08-31', 'duration: 2 d   soc(Bank): 40 %')));
    const column = result.series.columns.find(({ name }) => name === 'power(Turbine)')!;
    const at = (hour: number): number => column.values[result.series.time.findIndex((time) => time >= hour * 3600)]!;
    expect(at(12)).toBeCloseTo(wattsAt(3), 3);
    expect(at(36)).toBeCloseTo(wattsAt(2), 3);
  });

  it('goes on into its diversion load when the bank is full, and the books close', async () => {
    const result = await resultOf(mill(TABLE, scenario('2026-05-03', 'duration: 5 d   soc(Bank): 95 %')));
    const [{ balance, curtailed, energy }] = result.totals as [(typeof result.totals)[0]];
    const made = wattsAt(6) * 5 * 86400;
    expect(energy.get('Turbine')! / made).toBeCloseTo(1, 6);
    expect(balance.diverted).toBeCloseTo(curtailed.get('Turbine')!, 0);
    expect(balance.diverted).toBeGreaterThan(0.5 * made);
    expect(
      Math.abs(balance.fromSources - balance.toLoads - balance.lost - balance.diverted - balance.stored),
    ).toBeLessThan(1e-6 * made);
  });

  it('leaves the water that a deflector takes off the runner out of the books', async () => {
    const text = mill(TABLE, scenario('2026-05-03', 'duration: 5 d   soc(Bank): 95 %')).replace(
      'heldBy: diversion   diversionPower: 2 kW',
      'heldBy: deflector',
    );
    const [{ balance, curtailed, energy }] = (await resultOf(text)).totals as [
      Awaited<ReturnType<typeof resultOf>>['totals'][0],
    ];
    expect(balance.diverted).toBe(0);
    const made = wattsAt(6) * 5 * 86400;
    expect((energy.get('Turbine')! + curtailed.get('Turbine')!) / made).toBeCloseTo(1, 6);
  });

  it('gives nothing while its intake is blocked', async () => {
    const result = await resultOf(
      mill(TABLE, scenario('2026-05-03', 'duration: 1 d   soc(Bank): 50 %   lost(Turbine): 6 h .. 18 h')),
    );
    expect(result.totals[0]!.energy.get('Turbine')! / (wattsAt(6) * 43200)).toBeCloseTo(1, 6);
  });

  it('is told to lack what nobody can guess', async () => {
    const analysis = await analyseText(mill('', scenario('2026-05-03', 'duration: 1 d   soc(Bank): 50 %')));
    const [played] = analysis.scenarios;
    expect(played!.played).toEqual({ kind: 'missing', missing: ['flow of Turbine'] });
  });
});
