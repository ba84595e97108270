import { describe, expect, test } from 'vitest';
import { numberIn } from '../../language/src/index.js';
import { DESIGN_FUNCTIONS } from '../../language/src/quantities/design-functions.js';
import { derive } from '../../language/src/derivation/index.js';
import { analyseText, findingsOf } from '../helpers/analyse.js';
import { valueOf } from '../helpers/quantities.js';
import { resultOf } from '../unit/simulate/designs.js';

/*
 * Designs in which closed forms and plays once contradicted each other, each for its class. Invented; conductors as they were there.
 */

const SITE = 'site { altitude: 0 m   ambient: 15..25 degC }';

/** Minutes that `chargeTime` says, and that the play takes, from one state of charge (%) to another. */
async function chargeMinutes(
  text: string,
  from: number,
  to: number,
): Promise<{ said: number | string; played: number }> {
  const { context, system } = (await analyseText(text)).designs[0]!;
  const bank = system.instances.find(({ kind }) => kind === 'battery')!;
  const given = [from, to].map((percent) => ({ derivation: derive('soc', percent, '%') }));
  const said = DESIGN_FUNCTIONS.get('chargeTime')!.compute(bank, given, context);
  const played = await resultOf(text);
  const column = played.series.columns.find(({ name }) => name === `soc(${bank.name})`)!;
  const wanted = to / 100 - 1e-9;
  const { time } = played.series;
  const at = column.values.findIndex((soc) => soc >= wanted);
  // Between its rows what was recorded runs straight.
  const [before, after] = [column.values[at - 1]!, column.values[at]!];
  const share = at > 0 ? (wanted - before) / (after - before) : 0;
  const seconds = at < 0 ? Infinity : at === 0 ? 0 : time[at - 1]! + share * (time[at]! - time[at - 1]!);
  return {
    said: said.kind === 'known' ? numberIn(said.derivation, 'min') : said.kind,
    played: seconds / 60,
  };
}

const charged = (charger: string, more = ''): string => `design D {
  ${SITE}
  grid Mains { voltage: 230 V   rating: 63 A }
  charger Rect { input: 180..264 V   absorb: 56.8 V   float: 54 V   powerFactor: 1   ${charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 10 mohm   cellTemperature: 20 degC }
  load Fan { power: 200 W   supply: dc   profile: always }
  bus Dc {}
  run Cord: Mains -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run FanLine: Dc -> Fan
  ${more}
  scenario Play { from: 2027-01-10   duration: 3 d   soc(Bank): 40 % }
}
`;

describe('limits of a charger', () => {
  test.each([
    ['its highest input current', 'currentLimit: 60 A   efficiency: 92 %   maximumInputCurrent: 5 A'],
    ['its input limit as set', 'currentLimit: 60 A   efficiency: 92 %   inputLimit: 5 A'],
    ['its power', 'currentLimit: 60 A   efficiency: 92 %   maximumPower: 1058 W'],
  ])('%s bounds charge time, currents and findings', async (_, limits) => {
    const { said, played } = await chargeMinutes(charged(limits), 40, 80);
    expect(played).toBeGreaterThan(400);
    expect(Number(said) / played).toBeGreaterThan(0.95);
    expect(Number(said) / played).toBeLessThan(1.05);
    // 230 V · 5 A · 92 % are 1058 W: at the lowest voltage of the bank that is less than half of 60 A.
    expect(Number(await valueOf(charged(limits), 'Rect', 'outputCurrent', 'A'))).toBeLessThan(30);
    // 1.2 kW of loads leave nothing of it.
    const analysis = await analyseText(
      charged(limits)
        .replace('power: 200 W', 'power: 1.2 kW')
        .replace('grid Mains { voltage: 230 V   rating: 63 A }', 'generator Mains { rated: 6 kW   voltage: 230 V }'),
    );
    expect(findingsOf(analysis, 'charge-below-load')).toHaveLength(1);
  });

  test('its input limit counts in what it draws', async () => {
    const text = charged('currentLimit: 60 A   efficiency: 92 %   inputLimit: 12 A');
    expect(await valueOf(text, 'Rect', 'inputPower', 'W')).toBeCloseTo(12 * 230, 6);
  });
});

describe('cable drop', () => {
  test('ends bulk early, and the charge takes as long as it is played', async () => {
    const text = charged('currentLimit: 100 A   efficiency: 92 %').replace(
      'run Out: Rect.dc -> Dc',
      'run Out: Rect.dc -> Dc { size: 10 mm2   length: 10 m }',
    );
    const { said, played } = await chargeMinutes(text, 40, 90);
    const short = await chargeMinutes(charged('currentLimit: 100 A   efficiency: 92 %'), 40, 90);
    expect(played).toBeGreaterThan(1.3 * short.played);
    expect(Number(said) / played).toBeGreaterThan(0.95);
    expect(Number(said) / played).toBeLessThan(1.05);
  });
});

describe('banks on one bus', () => {
  const two = (banks: string): string =>
    charged('currentLimit: 60 A   efficiency: 92 %').replace(/ {2}battery Bank .*\n/, banks);
  const facts =
    'chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 10 mohm   cellTemperature: 20 degC   maximumCharge: 50 A';

  test('are charged together: two instances take as long as two strings', async () => {
    const apart = two(
      `  battery Bank { ${facts} }\n  battery Other { ${facts} }\n  run OtherFeed: Other -> Dc\n`,
    ).replace('soc(Bank): 40 %', 'soc(Bank): 40 %   soc(Other): 40 %');
    const strings = two(`  battery Bank { ${facts}   parallel: 2 }\n`);
    const [one, other] = [await chargeMinutes(apart, 20, 80), await chargeMinutes(strings, 20, 80)];
    expect(Number(one.said)).toBeCloseTo(Number(other.said), 6);
    // 60 A go into both: 30 A each, of 50 A that each takes.
    expect(findingsOf(await analyseText(apart), 'charge-current')).toEqual([]);
  });
});

describe('loads behind two inverters', () => {
  const inverter = (name: string, more: string): string =>
    `inverter ${name} { rated: 3 kW   voltage: 120 V   efficiency: 90 %   idle: 20 W   cutOff: 42 V   ${more} }`;
  const house = (inverters: string, runs: string): string => `design D {
  ${SITE}
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 10 mohm   cellTemperature: 25 degC   reserve: 10 % }
  ${inverters}
  bus Panel {}
  load Lamps { power: 460.8 W   voltage: 120 V   legs: L1   profile: always }
  ${runs}
  run Line: Panel -> Lamps
}
`;

  test('are counted once, on the leg that feeds them', async () => {
    const one = house(inverter('A', ''), 'run FeedA: Bank -> A.dc\n  run OutA: A.ac -> Panel');
    const two = house(
      `${inverter('A', 'legs: L1')}\n  ${inverter('B', 'legs: L2')}`,
      'run FeedA: Bank -> A.dc\n  run OutA: A.ac -> Panel\n  run FeedB: Bank -> B.dc\n  run OutB: B.ac -> Panel',
    );
    const [alone, both] = [
      await valueOf(one, 'Bank', 'autonomyTime', 'h'),
      await valueOf(two, 'Bank', 'autonomyTime', 'h'),
    ];
    // The second adds what it draws without load, and nothing else.
    const watts = (252 * 51.2) / Number(alone);
    expect((252 * 51.2) / Number(both)).toBeCloseTo(watts + 20, 6);
  });
});

describe('an inverter that states no draw without load', () => {
  test('lasts as long as it is played', async () => {
    const text = `design D {
  ${SITE}
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 10 mohm   cellTemperature: 25 degC   reserve: 10 % }
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 90 % }
  load Lamp { power: 60 W   profile: always }
  run Feed: Bank -> Inv.dc
  run Out: Inv.ac -> Lamp
  scenario Play { from: 2027-01-10   duration: 9 d   soc(Bank): 100 % }
}
`;
    const said = Number(await valueOf(text, 'Bank', 'autonomyTime', 'h'));
    const played = await resultOf(text);
    const { values } = played.series.columns.find(({ name }) => name === 'soc(Bank)')!;
    const hours = played.series.time[values.findIndex((soc) => soc <= 0.1)]! / 3600;
    expect(said / hours).toBeGreaterThan(0.62);
    expect(said / hours).toBeLessThan(1.05);
  });
});

describe('set points that follow the temperature of the cells', () => {
  test('are held lower in warm cells, and a stop above them is found', async () => {
    const text = (cells: string): string => `design D {
  ${SITE}
  generator Genset { rated: 3 kW   voltage: 230 V   fuel: petrol }
  charger Rect { input: 180..264 V   currentLimit: 30 A   absorb: 28.8 V   float: 27.2 V   efficiency: 90 %   powerFactor: 1   temperatureCompensation: -72 mV/K }
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   series: 2   capacity: 200 Ah   resistance: 3 mohm   cellTemperature: ${cells} }
  load Fan { power: 50 W   supply: dc   profile: always }
  bus Dc {}
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Out: Rect.dc -> Dc { size: 25 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 50 mm2   length: 1 m }
  run FanLine: Dc -> Fan { size: 4 mm2   length: 2 m }
  control Autostart of Genset { start when voltage(Bank) < 24 V for 5 min   stop when voltage(Bank) > 28.4 V for 5 min }
}
`;
    expect(findingsOf(await analyseText(text('38..42 degC')), 'stop-unreachable').length).toBeGreaterThan(0);
    expect(findingsOf(await analyseText(text('20..25 degC')), 'stop-unreachable')).toEqual([]);
  });
});

describe('fuel of a set in a day', () => {
  const day = (generator: string, charger: string, bank: string, more = ''): string => `design D {
  ${SITE}
  generator Set { voltage: 120 V   fuel: diesel   burn: { 0 %: 0.1 L/h, 100 %: 1.1 L/h }   ${generator} }
  charger Rect { input: 90..135 V   absorb: 57.6 V   float: 54 V   efficiency: 90 %   ${charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   resistance: 5 mohm   cellTemperature: 20 degC   ${bank} }
  load Fan { power: 200 W   supply: dc   profile: always }
  bus Dc {}
  run Cord: Set -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run FanLine: Dc -> Fan
  ${more}
  control Start of Set { start when soc(Bank) < 40 %   stop when soc(Bank) > 70 % }
  scenario Play { from: 2027-01-10   duration: 20 d   soc(Bank): 60 % }
}
`;

  /** Litres an hour while it runs: by the closed form, and in the play. */
  async function litresAnHour(text: string): Promise<{ said: number; played: number }> {
    const [fuel, time] = [
      await valueOf(text, 'Set', 'dailyFuel', 'L'),
      await valueOf(text, 'Set', 'dailyRunTime', 'h'),
    ];
    const { fuel: burnt, runTime } = (await resultOf(text)).totals[0]!;
    return { said: Number(fuel) / Number(time), played: (1000 * burnt.get('Set')!) / (runTime.get('Set')! / 3600) };
  }

  test('is that of the active power which its apparent power lets a charger draw', async () => {
    const text = day(
      'rated: 1000 W   apparent: 1000 VA   powerFactor: 1',
      'currentLimit: 40 A   powerFactor: 0.7',
      'capacity: 100 Ah',
    );
    const { said, played } = await litresAnHour(text);
    // 1000 VA · 0.7 are 700 W, 70 % of its rating: 0.1 + 0.7 · 1.0 L/h. Its rating in full would be 1.1 L/h.
    expect(said).toBeCloseTo(0.8, 3);
    expect(said / played).toBeGreaterThan(0.95);
    expect(said / played).toBeLessThan(1.1);
  });

  test('is that of what a charger gives when its bank takes no more', async () => {
    const text = day(
      'rated: 5 kW   apparent: 5 kVA   powerFactor: 1',
      'currentLimit: 60 A   powerFactor: 1',
      'capacity: 200 Ah   maximumCharge: 16 A',
      'link BankLink: Bank -> Rect { medium: can   timeOut: 30 s }',
    );
    const { said, played } = await litresAnHour(text);
    // At its limit: 60 A · 57.6 V/0.9 are 3.84 kW, 0.868 L/h. The bank takes 16 A, the load some 4 A: a third of that.
    expect(said).toBeLessThan(0.42);
    expect(said / played).toBeGreaterThan(0.95);
    expect(said / played).toBeLessThan(1.3);
  });
});

describe('an input limit with loads passed on', () => {
  const text = `design D {
  ${SITE}
  generator Set { rated: 5 kW   apparent: 5 kVA   powerFactor: 1   voltage: 120 V   fuel: diesel   burn: { 0 %: 0.2 L/h, 100 %: 1.5 L/h } }
  inverter Multi { rated: 2 kW   voltage: 120 V   efficiency: 88 %   idle: 10 W   cutOff: 44 V   reconnect: 48 V   input: 90..135 V   passThrough: yes   transferRating: 50 A   currentLimit: 60 A   absorb: 56 V   inputLimit: 20 A   powerFactor: 0.8   chargeEfficiency: 90 % }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 10 mohm   cellTemperature: 25 degC }
  load House { power: 1500 W   profile: always }
  run Cord: Set -> Multi.input
  run Feed: Multi.dc -> Bank
  run Out: Multi.ac -> House
  control Start of Set { start when soc(Bank) < 50 %   stop when soc(Bank) >= 100 % }
  scenario Play { from: 2027-01-10   duration: 3 d   soc(Bank): 40 % }
}
`;

  // 20 A · 120 V are 2400 VA; 1500 VA pass on; 900 VA are left, of which charging makes 900 · 0.8 = 720 W.
  test('shares amperes: charging makes what its power factor lets it of those that are left', async () => {
    const { context, system } = (await analyseText(text)).designs[0]!;
    const bank = system.instances.find(({ kind }) => kind === 'battery')!;
    const net = DESIGN_FUNCTIONS.get('netChargeCurrent')!.compute(bank, [], context);
    expect(net.kind === 'known' && numberIn(net.derivation, 'A')).toBeCloseTo((720 * 0.9) / 56, 6);
    const { said, played } = await chargeMinutes(text, 40, 80);
    expect(Number(said) / played).toBeGreaterThan(0.95);
    expect(Number(said) / played).toBeLessThan(1.1);
  });

  test('the source is asked for both', async () => {
    expect(await valueOf(text, 'Set', 'powerDemand', 'W')).toBeCloseTo(1500 + 720, 6);
    expect(await valueOf(text, 'Set', 'apparentDemand', 'VA')).toBeCloseTo(2400, 6);
  });
});

describe('the end of a lead-acid bank', () => {
  const text = `design D {
  ${SITE}
  battery Bank { chemistry: flooded   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 3 mohm   reserve: 5 %   cellTemperature: 25 degC }
  load Winch { power: 360 W   supply: dc   profile: always   minimumVoltage: 10.8 V }
  run Line: Bank -> Winch
  scenario Play { from: 2027-01-10   duration: 5 h   soc(Bank): 100 % }
}
`;

  test('comes with the voltage where that reaches a cut-off before the reserve', async () => {
    const said = Number(await valueOf(text, 'Bank', 'autonomyTime', 'min'));
    const trip = (await resultOf(text)).events.find(({ what, of }) => what === 'trip' && of === 'Winch')!;
    expect(said / (trip.time / 60)).toBeGreaterThan(0.85);
    expect(said / (trip.time / 60)).toBeLessThan(1.05);
    // By charge alone: 95 Ah at 30 A are 190 minutes.
    expect(said).toBeLessThan(170);
    const gentle = text.replace('360 W', '24 W');
    expect(await valueOf(gentle, 'Bank', 'autonomyTime', 'h')).toBeCloseTo(95 / 2, 3);
    // A load that works down to nothing ends nothing, whatever its cable: 95 Ah at what 360 W draw through 8 m of 4 mm² of copper
    // (IEC 60228: 4.61 mΩ/m at 20 °C, warm at 75 °C 1.216 times as much).
    const ohms = 8 * 4.61e-3 * 1.216;
    const amperes = (12 - Math.sqrt(144 - 4 * ohms * 360)) / (2 * ohms);
    const endless = text
      .replace('10.8 V', '0 V')
      .replace('Bank -> Winch', 'Bank -> Winch { size: 4 mm2   length: 4 m }');
    expect(await valueOf(endless, 'Bank', 'autonomyTime', 'h')).toBeCloseTo(95 / amperes, 2);
  });
});

describe('the input cable of a converter', () => {
  // Two loads of 120 W behind one converter of 80 % are 300 W; IEC 60228: 2.5 mm² of copper, class 2, 7.41 mohm/m at 20 °C, warm at 75 °C
  // 1.216 times as much; 8 m out and back.
  const OHMS = 16 * 7.41e-3 * 1.216;
  const text = (cable: string): string => `design D {
  ${SITE}
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 0.1 mohm   cellTemperature: 25 degC   reserve: 10 % }
  converter Down { input: 10..32 V   output: 12 V   currentLimit: 40 A   efficiency: 80 % }
  load One { power: 120 W   supply: dc   profile: always }
  load Two { power: 120 W   supply: dc   profile: always }
  bus Low {}
  run In: Bank -> Down.in ${cable}
  run Out: Down.out -> Low
  run ToOne: Low -> One
  run ToTwo: Low -> Two
  scenario Play { from: 2027-01-10   duration: 12 h   soc(Bank): 100 % }
}
`;
  const cabled = '{ size: 2.5 mm2   length: 8 m }';

  /** h until the reserve is reached in a play. */
  async function played(cable: string): Promise<number> {
    const { series } = await resultOf(text(cable));
    const { values } = series.columns.find(({ name }) => name === 'soc(Bank)')!;
    return series.time[values.findIndex((soc) => soc <= 0.1)]! / 3600;
  }

  test('loses by the square of what all loads behind it draw', async () => {
    const root = (25.6 - Math.sqrt(25.6 ** 2 - 4 * OHMS * 300)) / (2 * OHMS);
    expect(await valueOf(text(cabled), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(90 / root, 2);
    expect(await valueOf(text(''), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(90 / (300 / 25.6), 6);
  });

  test('shortens the play as it shortens what is said of it', async () => {
    const said = Number(await valueOf(text(cabled), 'Bank', 'autonomyTime', 'h'));
    const saidWithout = Number(await valueOf(text(''), 'Bank', 'autonomyTime', 'h'));
    expect((await played(cabled)) / (await played(''))).toBeCloseTo(said / saidWithout, 2);
    expect(said / saidWithout).toBeLessThan(0.95);
  });

  test('stops the converter below its input range, cable counted', async () => {
    // The cable loses some 1.8 V: behind it are 24 V left while the bank still has 25.8 V.
    const firstTrip = async (cable: string): Promise<number> => {
      const { events } = await resultOf(text(cable).replace('10..32 V', '24..32 V'));
      return events.find(({ what, of }) => what === 'trip' && of === 'One')!.time / 3600;
    };
    expect(await firstTrip(cabled)).toBeLessThan(0.9 * (await firstTrip('')));
  });
});
