import { describe, expect, test } from 'vitest';
import { derive, numberIn } from '../../../language/src/derivation/index.js';
import { DESIGN_FUNCTIONS } from '../../../language/src/quantities/design-functions.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';
import { resultOf } from '../simulate/designs.js';

/*
 * Cells that take no charge in the cold, or less: everything that follows a charge counts what they take at the ends of their temperatures.
 * A published lithium iron phosphate data sheet allows nothing below 0 °C, 0.1 C from 0 to 10 °C, 0.2 C to 15 °C and 0.5 C to 45 °C.
 */

const design = (bank: string, more = ''): string => `design D {
  site { altitude: 0 m   ambient: -15..25 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   burn: { 0 %: 0.5 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   absorb: 56.8 V   float: 54 V   powerFactor: 1   currentLimit: 60 A   efficiency: 92 % }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 10 mohm   reserve: 10 %   ${bank} }
  load Fan { power: 200 W   supply: dc   profile: always }
  bus Dc {}
  run Cord: Genset -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run FanLine: Dc -> Fan
  require chargeTime(Bank, 30 %, 80 %) <= 4 h
  ${more}
}
`;

const LINK = 'link Bms: Bank -> Rect { medium: can   timeOut: 30 s }';
const RULES = 'start when soc(Bank) < 30 %   stop when soc(Bank) > 80 %';

/** What a function of the bank says, in a unit, or why it has no answer. */
async function said(text: string, name: 'chargeTime' | 'netChargeCurrent', unit: string): Promise<number | string> {
  const { context, system } = (await analyseText(text)).designs[0]!;
  const bank = system.instances.find((each) => each.name === 'Bank')!;
  const given = name === 'chargeTime' ? [30, 80].map((soc) => ({ derivation: derive('soc', soc, '%') })) : [];
  const found = DESIGN_FUNCTIONS.get(name)!.compute(bank, given, context);
  if (found.kind === 'known') return numberIn(found.derivation, unit);
  return found.kind === 'refused' ? found.reason : `missing ${found.missing.join(', ')}`;
}

const NO_CHARGE = 'Bank accepts no charge below 0 °C, and its cells get as cold as -15 °C';

describe('cells that get colder than they may be charged', () => {
  const cold = design('cellTemperature: -15..25 degC');

  test('have no time of a charge, and the requirement says why', async () => {
    expect(await said(cold, 'chargeTime', 'h')).toBe(NO_CHARGE);
    const analysis = await analyseText(cold);
    expect(analysis.requirements[0]!.holds).toBeUndefined();
    expect(askedBy(analysis, 'requirement-failed').join()).toContain(NO_CHARGE);
  });

  test('get no current, and no set makes up for what they give', async () => {
    expect(await said(cold, 'netChargeCurrent', 'A')).toBe(0);
    for (const quantity of ['dailyRunTime', 'dailyFuel'] as const)
      expect(await valueOf(cold, 'Genset', quantity, quantity === 'dailyFuel' ? 'L' : 'h')).toBe(
        `refused ${NO_CHARGE}`,
      );
  });

  test('keep a set running that is to charge them, unless its longest run ends that', async () => {
    const rules = (more: string): string =>
      design('cellTemperature: -15..25 degC', `control Auto of Genset { ${RULES}   ${more} }`);
    expect(
      findingsOf(await analyseText(rules('')), 'stop-unreachable')
        .map(({ told }) => told)
        .join(),
    ).toContain('no charge below 0 °C');
    expect(findingsOf(await analyseText(rules('maximumRun: 6 h')), 'stop-unreachable')).toEqual([]);
    // And so it is played.
    const played = await resultOf(
      rules('').replace(
        /\}\n$/,
        '  scenario Night { from: 2027-01-10   duration: 1 d   soc(Bank): 25 %   temperature(Bank): -15 degC }\n}\n',
      ),
    );
    expect(played.totals[0]!.runTime.get('Genset')! / 3600).toBeGreaterThan(23.9);
  });

  test('are as good as warm ones where they are warmed', async () => {
    const heated = design('cellTemperature: -15..25 degC   heater: yes');
    // 140 Ah into the bank of 60 A less 200 W at some 53 V, no faster than that.
    expect(Number(await said(heated, 'chargeTime', 'h'))).toBeGreaterThan(140 / 60);
    expect(Number(await said(heated, 'chargeTime', 'h'))).toBeLessThan(3);
    expect(typeof (await valueOf(heated, 'Genset', 'dailyRunTime', 'h'))).toBe('number');
  });

  test('are told by a play of warmer cells', async () => {
    const scenario = 'scenario Play { from: 2027-01-10   duration: 1 h   soc(Bank): 40 % }';
    const played = await resultOf(design('cellTemperature: -15..25 degC', scenario));
    expect(played.assumptions.join()).toContain('get as cold as -15 °C, at which it accepts no charge');
  });
});

describe('cells that get hotter than they may be charged', () => {
  test('have no time of a charge either', async () => {
    expect(await said(design('cellTemperature: 20..50 degC   chargeTemperature: 0..45 degC'), 'chargeTime', 'h')).toBe(
      'Bank accepts no charge above 45 °C, and its cells get as hot as 50 °C',
    );
  });
});

describe('cells that take less in the cold, and chargers that hear them', () => {
  const linked = (cells: string, more = ''): string => design(`cellTemperature: ${cells}`, `${LINK}\n  ${more}`);

  test('are charged as slowly as they are played at the coldest', async () => {
    // 0.1 C of 280 Ah are 28 A: half of the capacity at 0 °C (88 % of the rated one) takes 123.2/28 h and more.
    const text = linked(
      '0..25 degC',
      `control Auto of Genset { start when soc(Bank) < 50 %   stop when soc(Bank) >= 90 % }
  scenario Play { from: 2027-01-10   duration: 1 d   soc(Bank): 30 %   temperature(Bank): 0 degC }`,
    );
    const hours = Number(await said(text, 'chargeTime', 'h'));
    expect(hours).toBeGreaterThan(123.2 / 28);
    const { series } = await resultOf(text);
    const soc = series.columns.find(({ name }) => name === 'soc(Bank)')!.values;
    const at = soc.findIndex((each) => each >= 0.8);
    const share = (0.8 - soc[at - 1]!) / (soc[at]! - soc[at - 1]!);
    const played = (series.time[at - 1]! + share * (series.time[at]! - series.time[at - 1]!)) / 3600;
    expect(hours / played).toBeGreaterThan(0.95);
    expect(hours / played).toBeLessThan(1.1);
    expect(await said(text, 'netChargeCurrent', 'A')).toBeCloseTo(28, 6);
  });

  test('make a set run longer', async () => {
    const [cold, warm] = [
      Number(await valueOf(linked('0..25 degC'), 'Genset', 'dailyRunTime', 'h')),
      Number(await valueOf(linked('20..25 degC'), 'Genset', 'dailyRunTime', 'h')),
    ];
    // 24 h·I/(I + I_net) with 28 A instead of some 56 A.
    expect(cold / warm).toBeGreaterThan(1.6);
  });

  test('are slowest where the figures change, in the middle of a range too', async () => {
    // Just below 10 °C 0.1 C still holds, and the cells hold more than at 5 °C.
    const times = await Promise.all(
      ['5 degC', '5..12 degC', '9.99 degC'].map(async (cells) => Number(await said(linked(cells), 'chargeTime', 'h'))),
    );
    expect(times[1]!).toBeGreaterThan(times[0]!);
    expect(times[1]!).toBeCloseTo(times[2]!, 2);
  });
});

describe('cells that get colder than they may be discharged', () => {
  test('carry no loads then', async () => {
    expect(
      await valueOf(
        design('cellTemperature: -15..25 degC   dischargeTemperature: -10..50 degC'),
        'Bank',
        'autonomyTime',
        'h',
      ),
    ).toBe('refused Bank gives no charge below -10 °C, and its cells get as cold as -15 °C');
  });
});
