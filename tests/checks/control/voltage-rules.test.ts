import { describe, expect, it } from 'vitest';
import { askedBy, afterFix, analyseText, lacking } from '../../helpers/analyse.js';
import { type Quantity, inUnit } from '../../../language/src/quantity/index.js';
import { expressions } from '../../helpers/expressions.js';
import { found, hut } from './helpers.js';

describe('voltage-on-flat-curve', () => {
  const rules = (start: string, stop = 'soc(Bank) > 85 %'): string =>
    hut(`start when ${start} for 3 min   stop when ${stop}`);

  // Flat from 3.20 to 3.34 V a cell (Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025): 51.2 to 53.44 V with 16 cells.
  it.each([
    ['voltage(Bank) < 51.19 V', 0],
    ['voltage(Bank) < 51.2 V', 1],
    ['voltage(Bank) < 53.44 V', 1],
    ['voltage(Bank) < 53.45 V', 0],
    ['not voltage(Bank) > 52 V', 1],
    ['voltage(Bank) < 52 V and soc(Bank) < 50 %', 0],
    ['voltage(Bank) < 52 V or hour < 6 h', 1],
  ])('%s: %i', async (start, count) => {
    expect((await found(rules(start), 'voltage-on-flat-curve')).map(({ told }) => told)).toHaveLength(count);
  });

  it('moves a start to where the bank is nearly empty and a stop to where it is nearly full', async () => {
    const text = rules('voltage(Bank) < 52 V', 'voltage(Bank) > 53 V');
    const findings = await found(text, 'voltage-on-flat-curve');
    // Start at 3.1 V a cell (common practice, no source): 49.6 V. Stop 0.03 V a cell below 56 V: 55.5 V.
    expect(findings.flatMap(({ fixes }) => fixes.map(({ title }) => title))).toEqual([
      'Watch for 49.6 V',
      'Watch for 55.5 V',
    ]);
    for (const { fixes } of findings)
      expect(
        (await afterFix(text, 'voltage-on-flat-curve', fixes[0]!)).fresh.filter((each) =>
          /voltage-on-flat|stop-unreachable/.test(each),
        ),
      ).toEqual([]);
  });

  it('leaves lead alone and asks for a chemistry that is not stated', async () => {
    const text = rules('voltage(Bank) < 52 V');
    expect(
      await found(
        text.replace('chemistry: lfp', 'chemistry: agm').replace('cells: 16', 'cells: 24'),
        'voltage-on-flat-curve',
      ),
    ).toEqual([]);
    expect(askedBy(await analyseText(text.replace('chemistry: lfp', '')), 'voltage-on-flat-curve')).toContain(
      'chemistry of Bank',
    );
  });
});

describe('start-on-sag', () => {
  // 2 kW on direct current at 51.2 V are 39 A; at 30 mΩ the bank sags by 1.17 V, with the start of twice the current by 2.34 V.
  const site = (
    start: string,
    pump = 'startFactor: 2   duty: 5 %',
    bank = 'resistance: 10..30 mohm',
  ): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   ${bank} }
  load Pump { power: 2 kW   supply: dc   ${pump} }
  run Line: Bank -> Pump { size: 16 mm2   length: 2 m }
  control Autostart of Genset { ${start}   stop when soc(Bank) > 90 % }
}`;

  it.each([
    ['start when voltage(Bank) < 50 V', 1],
    ['start when voltage(Bank) < 50 V for 59 s', 1],
    ['start when voltage(Bank) < 50 V for 60 s', 0],
    ['start when voltage(Bank) < 47 V', 0],
    ['start when soc(Bank) < 30 %', 0],
    ['start when soc(Bank) < 30 % or voltage(Bank) < 50 V', 1],
  ])('%s: %i', async (start, count) => {
    expect((await found(site(start), 'start-on-sag')).map(({ told }) => told)).toHaveLength(count);
  });

  it('works out the sag of the hardest start and the charge at which it crosses the limit', async () => {
    const [finding] = await found(site('start when voltage(Bank) < 50 V'), 'start-on-sag');
    // 78.125 A · 30 mΩ = 2.34 V. 52.34 V at rest are 3.2715 V a cell: 0.0885 + (3.2715 − 3.1942)/(3.2772 − 3.1942)·0.2087 = 28 %.
    // The mean of 1.95 A lifts 50 V by 59 mV: 3.1287 V a cell, 0.0534 + (3.1287 − 3.0872)/0.107·0.0351 = 6.7 %.
    expect(lacking(finding?.told, 'at 78.13 A of load Bank sags by 2.344 V')).toEqual([]);
    expect(lacking(finding?.told, 'at 28 % of charge, and with the mean load only at 7 %')).toEqual([]);
  });

  it('counts what a lead-acid bank polarises, wherever within the band of its model that is worst', async () => {
    const lead = site(
      'start when voltage(Bank) < 48 V',
      'startFactor: 2   duty: 5 %',
      'resistance: 10 mohm   cellTemperature: 25 degC',
    ).replace(
      'chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah',
      'chemistry: flooded   voltage: 48 V   cells: 24   capacity: 200 Ah',
    );
    const [finding] = await found(lead, 'start-on-sag');
    const [early, usual] = /at (\d+) % of charge.*starts at (\d+) %/
      .exec(finding!.told)!
      .slice(1)
      .map((each) => Number(each) / 100);
    const { valueOf } = await expressions();
    const voltage = (charge: number, current: number): number =>
      inUnit(
        valueOf(
          `leadVoltage(flow: discharge, charge: ${100 * charge} %, current: ${current} A, capacity: 200 Ah, chemistry: flooded, cells: 24, resistance: 10 mohm)`,
        ).value as Quantity,
        'V',
      );
    // 2 kW at 48 V started at twice that are 83.3 A, its mean 2.08 A. Where the model is 24·0.08 V too low the start is met at 77 %; by the
    // mean load an empty bank does not fall to it.
    expect(voltage(early!, 83.33) + 24 * 0.08).toBeCloseTo(48, 1);
    expect(usual).toBe(0);
    expect(voltage(0.01, 2.08) + 24 * 0.08).toBeGreaterThan(48);
    expect(early! - usual!).toBeGreaterThan(0.1);
  });

  it('is content with a load that starts softly on a stiff bank', async () => {
    const soft = site('start when voltage(Bank) < 50 V', 'duty: 5 %', 'resistance: 2..3 mohm');
    expect(await found(soft, 'start-on-sag')).toEqual([]);
  });

  it('takes the dwell that counts from the design, and its fix ends the finding', async () => {
    const text = site('start when voltage(Bank) < 50 V for 2 min').replace('design D {', 'design D { sagDwell: 5 min');
    expect(await found(text, 'start-on-sag')).toHaveLength(1);
    const plain = site('start when voltage(Bank) < 50 V');
    const [finding] = await found(plain, 'start-on-sag');
    expect((await afterFix(plain, 'start-on-sag', finding!.fixes[0]!)).left).toEqual([]);
  });

  it('asks for the resistance', async () => {
    const analysis = await analyseText(site('start when voltage(Bank) < 50 V', 'duty: 5 %', ''));
    expect(askedBy(analysis, 'start-on-sag')).toEqual(['resistance of Bank']);
  });
});
