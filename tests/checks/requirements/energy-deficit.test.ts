import { describe, expect, it } from 'vitest';
import { displayValue, numberIn } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'energy-deficit';
const CLEARNESS =
  'clearness: { 1: 0.38, 2: 0.44, 3: 0.46, 4: 0.47, 5: 0.48, 6: 0.50, 7: 0.53, 8: 0.52, 9: 0.50, 10: 0.43, 11: 0.36, 12: 0.33 }';

/** An invented relay that only the sun feeds. */
const relay = (
  watts: number,
  { site = CLEARNESS, controller = 'tracking: mppt   efficiency: 96 %', parallel = 1, more = '', scenario = '' } = {},
): string => `design Relay {
  site { latitude: 47 deg   longitude: 8 deg   altitude: 900 m   ambient: -10..25 degC   ${site} }
  solar Array { power: 200 W   openCircuitVoltage: 24 V   shortCircuitCurrent: 11 A   tilt: 60 deg   azimuth: 180 deg }
  chargeController Box { absorb: 14.2 V   maximumCurrent: 20 A   ${controller} }
  battery Bank : Lfp12V200Ah { resistance: 5 mohm   parallel: ${parallel} }
  load Radio { power: ${watts} W   supply: dc   profile: always }
  run Line: Array -> Box.solar { size: 6 mm2   length: 5 m }
  run Out: Box.dc -> Bank { size: 10 mm2   length: 2 m }
  run Feed: Bank -> Radio
  ${more}
  ${scenario}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(`${ID}, day by day`, () => {
  it('names the poorest month, every month that is short, and the modules that would do', async () => {
    const [finding, ...others] = await findings(relay(20));
    expect(others).toEqual([]);
    expect(lacking(finding?.told, /^Bank needs 48\d Wh a day; the sun brings \d{3} Wh in December/)).toEqual([]);
    expect(lacking(finding?.told, 'in January, November, December the balance')).toEqual([]);
    // 20 W · 24 h over 99.5 to 100 %: 480 to 485 Wh; times the power there is, over what it brings.
    const [given, wanted, power] = ['given', 'wanted', 'power'].map((name) => finding!.numbers[name]!);
    expect(numberIn(wanted!, 'Wh')).toBeGreaterThanOrEqual(480);
    expect(numberIn(power!, 'W')).toBeCloseTo((200 * numberIn(wanted!, 'Wh')) / numberIn(given!, 'Wh'), 6);
  });

  it('turns where the load of the day equals what the poorest month brings', async () => {
    const [finding] = await findings(relay(20));
    const { given, wanted } = finding!.numbers;
    const balanced = (20 * numberIn(given!, 'Wh')) / numberIn(wanted!, 'Wh');
    expect(await findings(relay(balanced * 0.999))).toEqual([]);
    expect(await findings(relay(balanced * 1.001))).toHaveLength(1);
  });

  it('agrees with a year that is played with the same months', async () => {
    const scenario =
      'scenario December { from: 2027-12-01   duration: 31 d   sun: months   soc(Bank): 40 %   runs: 60   seed: 3   require mean(energy(Array)) > 0 Wh }';
    const analysis = await analyseText(relay(4, { parallel: 10, scenario }));
    const played = analysis.requirements[0]!.left!;
    const [finding] = await findings(relay(20));
    // One December is duller or brighter than another; the mean of sixty lies within two deviations of 14 %/√60, and the share of sky of the days.
    const month = (31 * numberIn(finding!.numbers['given']!, 'Wh')) / 0.96;
    expect(numberIn(played, 'Wh') / month, displayValue(played)).toBeGreaterThan(0.95);
    expect(numberIn(played, 'Wh') / month, displayValue(played)).toBeLessThan(1.05);
  });

  it('ties modules on a switching controller to the voltage of the bank', async () => {
    const [tracking] = await findings(relay(20));
    const [switching] = await findings(relay(20, { controller: 'tracking: pwm' }));
    // 11 A at 12.8 V are 141 of 200 W.
    const ratio = numberIn(switching!.numbers['given']!, 'Wh') / (numberIn(tracking!.numbers['given']!, 'Wh') / 0.96);
    expect(ratio).toBeGreaterThan(0.6);
    expect(ratio).toBeLessThan(0.75);
  });

  it('asks for the clearness of the months, and leaves banks with another source alone', async () => {
    expect(askedBy(await analyseText(relay(20, { site: '' })), ID)).toEqual(['clearness of the site']);
    const set = `generator Genset { rated: 2 kW   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 14.2 V }
  run Cord: Genset -> Rect.ac { size: 2.5 mm2   length: 9 m }
  run Charge: Rect.dc -> Bank { size: 10 mm2   length: 2 m }`;
    const analysis = await analyseText(relay(20, { more: set }));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual([]);
  });
});

describe(`${ID}, in a play`, () => {
  const winter = (days: number, watts: number): string =>
    relay(watts, {
      parallel: 3,
      scenario: `scenario Winter { from: 2027-11-20   duration: ${days} d   sun: months   soc(Bank): 90 % }`,
    });

  it('finds a bank that sinks from third to third, and says what lacks on a day', async () => {
    const found = (await findings(winter(30, 16))).filter(({ subject }) => subject === 'Relay.Winter');
    expect(found).toHaveLength(1);
    expect(lacking(found[0]?.told, /^In Winter the charge of Bank sinks from \d\d.* lack on every day/)).toEqual([]);
    // 16 W take 384 Wh a day, and the sun brings about 190 to 250 Wh in these weeks.
    expect(numberIn(found[0]!.numbers['lacks']!, 'Wh')).toBeGreaterThan(60);
    expect(numberIn(found[0]!.numbers['lacks']!, 'Wh')).toBeLessThan(200);
  });

  it('says nothing of short plays, of banks that hold, and of those that are empty', async () => {
    const ofPlay = async (text: string) => (await findings(text)).filter(({ subject }) => subject === 'Relay.Winter');
    expect(await ofPlay(winter(10, 16))).toEqual([]);
    expect(await ofPlay(winter(30, 4))).toEqual([]);
    expect(await ofPlay(winter(60, 40))).toEqual([]);
  });
});
