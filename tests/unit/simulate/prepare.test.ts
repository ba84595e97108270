import { describe, expect, test } from 'vitest';
import { offsetOf } from '../../../language/src/simulate/prepare-sun.js';
import { shares } from '../../../language/src/simulate/prepare-direct.js';
import { planOf, playText, resultOf, small } from './designs.js';

const PLAY = 'duration: 1 h   soc(Bank): 50 %';
const missing = async (text: string): Promise<readonly string[]> => {
  const played = await playText(text);
  return played.kind === 'missing' ? played.missing : [JSON.stringify(played)];
};
const refused = async (text: string): Promise<string> => {
  const played = await playText(text);
  return played.kind === 'refused' ? played.reason : JSON.stringify(played);
};

describe('facts that lack', () => {
  test('are all named at once', async () => {
    const text = small({ scenario: 'duration: 1 h' })
      .replace('resistance: 10 mohm', '')
      .replace('absorb: 57.6 V', '')
      .replace('power: 1500 W', '')
      .replace('from: 2027-01-10', '');
    expect([...(await missing(text))].sort()).toEqual([
      'absorb of Rect',
      'from of Play',
      'power of House',
      'resistance of Bank',
      'soc(Bank) of Play',
    ]);
  });

  test('of parts that cannot count in this scenario are not asked for', async () => {
    const array = `
  solar Array { power: 400 W   series: 3 }
  chargeController Tracker { currentLimit: 40 A   absorb: 56 V   efficiency: 97 % }
  run ArrayRun: Array -> Tracker.solar { }
  run SunRun: Tracker.dc -> Bar { }`;
    expect(await missing(small({ more: array, scenario: `${PLAY}   sun: clear` }))).toEqual([
      'tilt of Array',
      'azimuth of Array',
    ]);
    expect((await playText(small({ more: array, scenario: `${PLAY}   sun: none` }))).kind).toBe('played');
  });

  test('hold up the rules that rest on them', async () => {
    const rules = 'control Start of Set { start when power(Inv) > 0.8 * Other.rated   stop when soc(Bank) > 90 % }';
    const more = 'inverter Other { voltage: 230 V }';
    expect(await missing(small({ rules, more, scenario: PLAY }))).toContain('rated of Other');
  });
});

describe('what cannot be played', () => {
  test('is said with its reason', async () => {
    expect(await refused(small({ bank: 'capacity: 0 Ah', scenario: PLAY }))).toBe(
      'bank capacity must be more than 0 to be simulated',
    );
    expect(await refused(small({ inverter: 'rated: 0 W', scenario: PLAY }))).toContain('must be more than 0');
    expect(await refused(small({ scenario: `${PLAY}   voltage(Bank): 52 V` }))).toBe(
      'a scenario starts from the soc and temperature of banks, not from voltage(Bank)',
    );
    const rules = 'control Start of Set { start when current(House) > 4 A   stop when soc(Bank) > 90 % }';
    expect(await refused(small({ rules, scenario: PLAY }))).toBe('current(House) is not simulated');
    expect(
      await refused(
        small({
          scenario: PLAY,
          site: 'timeZone: "Europe/Nowhere"',
          more: 'solar Array { power: 1 W   tilt: 0 deg   azimuth: 0 deg }',
        }).replace(PLAY, `${PLAY}   sun: clear`),
      ),
    ).toContain('Europe/Nowhere is no time zone');
  });
});

describe('designs of one part or none', () => {
  const site = 'site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }';
  const only = (body: string, scenario = 'from: 2027-01-10   duration: 2 d'): string =>
    `design Only { ${site} ${body} scenario Play { ${scenario} } }`;

  test('are played', async () => {
    expect((await resultOf(only(''))).series.columns).toEqual([]);
    // Over no time nothing happens and nothing can be decided.
    const none = await playText(only('', 'from: 2027-01-10   duration: 0 s'));
    expect(none).toEqual({ kind: 'missing', missing: ['duration of Play'] });
    const direct = await resultOf(
      only(
        'grid Mains { voltage: 230 V   rating: 16 A } load Lamp { power: 2 kW   voltage: 230 V } run Line: Mains -> Lamp { }',
      ),
    );
    expect(direct.totals[0]!.energy.get('Mains')).toBeCloseTo(2000 * 2 * 86400, 3);
  });

  test('a charger carries loads of direct current without a bank, up to what it gives', async () => {
    const supply = (watts: number): string =>
      only(`
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { currentLimit: 50 A   maximumCurrent: 50 A   absorb: 54 V   efficiency: 90 %   powerFactor: 1   input: 180..264 V }
  load Radio { power: ${watts} W   supply: dc }
  bus Bar { }
  run MainsRun: Mains -> Rect.ac { }
  run RectRun: Rect.dc -> Bar { }
  run RadioRun: Bar -> Radio { }`);
    const enough = await resultOf(supply(2000));
    expect(enough.totals[0]!.unserved.get('Radio')).toBe(0);
    expect(enough.totals[0]!.energy.get('Mains')! / (2 * 86400)).toBeCloseTo(2000 / 0.9, 0);
    const much = await resultOf(supply(4000));
    expect(much.totals[0]!.unserved.get('Radio')).toBeCloseTo(4000 * 2 * 86400, 3);
  });

  test('a bank without a load loses itself, month by month', async () => {
    const bank =
      'battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 1 mohm }';
    const result = await resultOf(only(bank, 'from: 2028-02-28   duration: 365.25 d   soc(Bank): 100 %'));
    const soc = result.series.columns.find(({ name }) => name === 'soc(Bank)')!.values;
    // 2.5 % of what is there in a month of 1/12 year: e^(−12·0.025) by the year.
    expect(soc.at(-1)!).toBeCloseTo(Math.exp(-12 * 0.025), 6);
    expect(result.assumptions.join(' ')).toContain('cells of Bank are taken at 25 °C');
  });

  test('a bank that sags under its load to nothing serves nothing, and all is told', async () => {
    const heavy = await resultOf(
      only(
        `battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 10 Ah   resistance: 100 mohm }
  load Heater { power: 6 kW   supply: dc }
  run Line: Bank -> Heater { }`,
        'from: 2027-01-10   duration: 1 h   soc(Bank): 50 %',
      ),
    );
    expect(heavy.totals[0]!.unserved.get('Heater')).toBeCloseTo(6000 * 3600, 0);
    expect(heavy.events.some(({ what }) => what === 'trip')).toBe(true);
  });
});

describe('plain numbers of a design', () => {
  test('count series and parallel units, temperature and leads', async () => {
    const plan = await planOf(
      small({
        bank: 'voltage: 12.8 V   cells: 4   series: 4   parallel: 3   capacity: 100 Ah   resistance: 6 mohm   cellTemperature: 0 degC',
        scenario: PLAY,
      }).replace('run BankRun: Bank -> Bar { }', 'run BankRun: Bank -> Bar { size: 25 mm2   length: 5 m }'),
    );
    const [bank] = plan.banks;
    // 88 % of capacity at 0 °C (table, from memory); 4·6/3 mΩ; two conductors of 25 mm² over 5 m at 75 °C by NEC Chapter 9 Table 8.
    expect(bank!.capacity / 3600).toBeCloseTo(300 * 0.88, 9);
    expect(bank!.resistance).toBeCloseTo(8e-3, 12);
    expect(bank!.curve.volts[6]).toBeCloseTo(16 * 3.2772, 9);
    expect(bank!.leads).toBeGreaterThan((2 * 5 * 0.0172) / 25);
    expect(bank!.leads).toBeLessThan((2 * 5 * 0.0225) / 25);
  });

  test('part the loss of an inverter so that its efficiency at full load is as stated', async () => {
    const { inverters } = await planOf(
      small({ inverter: 'rated: 4 kW   idle: 50 W   efficiency: 92 %', scenario: PLAY }),
    );
    const { idle, linear, quadratic } = inverters[0]!;
    const loss = (watts: number): number => idle + linear * watts + quadratic * watts ** 2;
    expect(4000 / (4000 + loss(4000))).toBeCloseTo(0.92, 12);
    expect(loss(0)).toBe(50);
    // Schmidt and Sauer’s shape: 15 parts linear to 35 quadratic at full load.
    expect((linear * 4000) / (quadratic * 4000 ** 2)).toBeCloseTo(15 / 35, 9);
  });

  test('take an inverter switched on for part of the day with the mean of its idle draw', async () => {
    const { inverters } = await planOf(small({ inverter: 'idle: 48 W   onTime: 6 h', scenario: PLAY }));
    expect(inverters[0]!.idle).toBeCloseTo(12, 9);
  });

  test('shift set points with the temperature of the cells', async () => {
    const { regulators } = await planOf(
      small({
        bank: 'chemistry: agm   voltage: 12 V   cells: 6   series: 4   cellTemperature: 5 degC',
        charger: 'absorb: 57.6 V   float: 54 V   temperatureCompensation: -96 mV/K',
        scenario: PLAY,
      }),
    );
    expect(regulators[0]!.absorb).toBeCloseTo(57.6 + 0.096 * 20, 9);
    expect(regulators[0]!.float).toBeCloseTo(54 + 0.096 * 20, 9);
  });

  test('read windows of a profile, also over midnight and where they overlap', () => {
    const { shareFrom, share } = shares([
      { from: 22 * 3600, to: 30 * 3600, share: 1 },
      { from: 5 * 3600, to: 8 * 3600, share: 0.5 },
    ]);
    expect([...shareFrom].map((time) => time / 3600)).toEqual([0, 5, 6, 8, 22]);
    expect([...share]).toEqual([1, 1.5, 0.5, 0, 1]);
  });

  test('burn no less than half the first figure below it, as the stated figures of a set are read', async () => {
    const { sources } = await planOf(
      small({ generator: 'burn: { 25 %: 2 L/h, 50 %: 4 L/h, 100 %: 8 L/h }', scenario: PLAY }),
    );
    const [set] = sources;
    const at = (share: number): number => {
      const row = [...set!.burnShare].findIndex((each) => Math.abs(each - share) < 1e-12);
      return set!.burnRate[row]! * 3600 * 1000;
    };
    expect(at(0)).toBeCloseTo(1, 9);
    // The line 8·share falls to 1 L/h at 12.5 %.
    expect(at(0.125)).toBeCloseTo(1, 9);
    expect(at(0.25)).toBeCloseTo(2, 9);
    expect(at(0.75)).toBeCloseTo(6, 9);
  });

  test('know the clock of a zone on a date', () => {
    expect(offsetOf('Europe/Zurich', '2027-01-10')).toBe(1);
    expect(offsetOf('Europe/Zurich', '2027-07-10')).toBe(2);
    expect(offsetOf('Asia/Kolkata', '2027-07-10')).toBe(5.5);
    expect(offsetOf('America/Denver', '2027-01-10')).toBe(-7);
    // Zones of the tz database at the ends of the day: +14 h and -11 h.
    expect(offsetOf('Pacific/Kiritimati', '2027-01-31')).toBe(14);
    expect(offsetOf('Pacific/Pago_Pago', '2027-01-31')).toBe(-11);
    // Years that are written with fewer than four digits, or before the era, are years all the same.
    for (const date of ['0000-01-01', '0001-01-01', '9999-12-31']) expect(offsetOf('UTC', date)).toBe(0);
    expect(offsetOf('Europe/Nowhere', '2027-01-10')).toBeUndefined();
  });
});
