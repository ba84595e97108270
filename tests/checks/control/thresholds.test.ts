import { describe, expect, it } from 'vitest';
import { analyseText, lacking } from '../../helpers/analyse.js';
import { found, hut, mended } from './helpers.js';

describe('threshold-order', () => {
  it.each([
    ['start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %', 0],
    ['start when soc(Bank) < 50 %   stop when soc(Bank) > 45 %', 1],
    ['start when soc(Bank) < 50 %   stop when soc(Bank) > 50 %', 1],
    ['start when 50 % > soc(Bank)   stop when 45 % < soc(Bank)', 1],
    ['start when voltage(Bank) < 54 V   stop when voltage(Bank) > 50 V', 1],
    ['start when soc(Bank) < 50 % or voltage(Bank) < 50 V   stop when soc(Bank) > 45 %', 1],
  ])('%s: %i', async (rules, count) => {
    expect((await found(hut(rules), 'threshold-order')).map(({ told }) => told)).toHaveLength(count);
  });

  it('lets one signal keep the rules apart where both need all their conditions', async () => {
    const rules = `start when soc(Bank) < 90 % and power(Fan) > 400 W
      stop when soc(Bank) > 50 % and power(Fan) < 100 W`;
    expect(await found(hut(rules), 'threshold-order')).toEqual([]);
    expect(await found(hut(rules), 'threshold-gap')).toEqual([]);
  });

  it('names a protection only where there is one', async () => {
    const rules = 'start when voltage(Bank) < 20 V   stop when voltage(Bank) > 28 V for 5 min';
    const lead = hut(rules).replace(
      /battery Bank \{[^}]*\}/,
      'battery Bank { chemistry: flooded   voltage: 12 V   cells: 6   series: 2   capacity: 200 Ah }',
    );
    const [finding] = await found(lead, 'threshold-order');
    // Twelve cells of 1.75 V (from memory).
    expect(
      lacking(finding?.told, 'the lowest voltage of Bank lies at 21 V: its cells are discharged too deeply'),
    ).toEqual([]);
    expect(finding?.told).not.toContain('protection');
    expect(JSON.stringify(finding?.related)).not.toContain('protection');
  });

  it('looks at the fallback too', async () => {
    const text = hut(
      'start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %   without L { start when voltage(Bank) < 55 V   stop when voltage(Bank) > 51 V }',
      'link L: Bank -> Rect { medium: can }',
    );
    const [finding] = await found(text, 'threshold-order');
    expect(lacking(finding?.told, /^Autostart without L:/)).toEqual([]);
    // All that acts on the voltage of the bank, from high to low; 58.4 V are 3.65 V a cell (usual for the chemistry).
    expect(finding?.related.at(-1)?.text).toBe(
      'set points from high to low: 58.4 V highest charge voltage of Bank, 56 V absorb of Rect, 55 V Autostart without L starts Genset below, 51 V Autostart without L stops Genset above, 44.8 V the BMS of Bank disconnects below this',
    );
  });

  it('speaks of loads in their own words: off below, on above', async () => {
    const text = `design D {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16 }
  load Pump { power: 1 kW }
  control Shed of Pump { off when soc(Bank) < 45 %   on when soc(Bank) > 25 % }
}`;
    const [finding] = await found(text, 'threshold-order');
    expect(lacking(finding?.told, 'off below 45 % and on above 25 %')).toEqual([]);
    const fixed = await mended(text, 'threshold-order');
    expect(fixed.map(({ left }) => left)).toEqual([[]]);
  });

  it('names both thresholds, and its fix leaves nothing in the group to be said', async () => {
    const text = hut('start when soc(Bank) < 50 %   stop when soc(Bank) > 45 %');
    const [finding] = await found(text, 'threshold-order');
    expect(finding?.related).toHaveLength(1);
    expect(lacking(finding?.told, '50 %')).toEqual([]);
    expect(lacking(finding?.told, '45 %')).toEqual([]);
    const fixed = await mended(text, 'threshold-order');
    expect(fixed.map(({ left }) => left)).toEqual([[]]);
    expect(fixed[0]!.text).toContain('start when soc(Bank) < 45 %   stop when soc(Bank) > 55 %');
  });

  it('puts a start on voltage above the cut-off and the protection of the bank', async () => {
    // Protection at 44.8 V, cut-off of the inverter at 46 V: a start at 45 V never comes.
    const inverter =
      'inverter Inv { rated: 2 kW   voltage: 230 V   efficiency: 90 %   cutOff: 46 V }   run I: Bank -> Inv.dc { size: 50 mm2   length: 1 m }';
    const rules = (start: string): string => `start when voltage(Bank) < ${start}   stop when voltage(Bank) > 55.5 V`;
    expect(await found(hut(rules('46.1 V'), inverter), 'threshold-order')).toEqual([]);
    const [finding] = await found(hut(rules('46 V'), inverter), 'threshold-order');
    expect(lacking(finding?.told, 'the cut-off of Inv lies at 46 V')).toEqual([]);
    expect(await found(hut(rules('45 V')), 'threshold-order')).toEqual([]);
    expect(await found(hut(rules('44.8 V')), 'threshold-order')).toHaveLength(1);
    expect((await mended(hut(rules('45 V'), inverter), 'threshold-order')).map(({ left }) => left)).toEqual([[]]);
  });
});

describe('threshold-gap', () => {
  const soc = (stop: number, more = ''): string =>
    hut(`start when soc(Bank) < 40 %   stop when soc(Bank) > ${stop} %   ${more}`);

  it('asks for ten points of state of charge, unless set otherwise', async () => {
    expect(await found(soc(49), 'threshold-gap')).toHaveLength(1);
    expect(await found(soc(50), 'threshold-gap')).toEqual([]);
    expect(await found(soc(49).replace('design D {', 'design D {\n  socGap: 5 %'), 'threshold-gap')).toEqual([]);
    expect(await found(soc(50).replace('design D {', 'design D {\n  socGap: 15 %'), 'threshold-gap')).toHaveLength(1);
  });

  it('asks for two measuring steps', async () => {
    expect(await found(soc(55, 'resolution: 8 %'), 'threshold-gap')).toHaveLength(1);
    expect(await found(soc(56, 'resolution: 8 %'), 'threshold-gap')).toEqual([]);
  });

  it('is silent where the order itself is wrong', async () => {
    expect(await found(soc(35), 'threshold-gap')).toEqual([]);
  });

  it('lowers the start where the stop cannot go up', async () => {
    const text = hut('start when soc(Bank) < 90 %   stop when soc(Bank) > 95 %');
    const [finding] = await found(text, 'threshold-gap');
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Move the lower threshold to 85 %']);
    expect((await mended(text, 'threshold-gap')).map(({ left }) => left)).toEqual([[]]);
  });

  it('asks on voltage for the sag and rebound of the bank', async () => {
    // By hand: 32 mΩ at the worst; charger 60 A and a load of 512 W at 51.2 V nominal or less: at least 70 A, 2.24 V.
    const volts = (stop: number): string =>
      hut(`start when voltage(Bank) < 51 V for 2 min   stop when voltage(Bank) > ${stop} V for 20 min`);
    expect(await found(volts(53), 'threshold-gap')).toHaveLength(1);
    expect(await found(volts(54), 'threshold-gap')).toEqual([]);
    const [finding] = await found(volts(52.5), 'threshold-gap');
    const sag = finding?.numbers['least']?.value;
    expect(typeof sag === 'object' && sag.value).toBeGreaterThanOrEqual(0.032 * 70);
    expect(typeof sag === 'object' && sag.value).toBeLessThan(0.032 * 75);
    expect((await mended(volts(52.5), 'threshold-gap')).map(({ left }) => left)).toEqual([[]]);
  });

  it('says which fact it lacks', async () => {
    const text = hut('start when voltage(Bank) < 51 V   stop when voltage(Bank) > 54 V', '', '');
    const { questions } = await analyseText(text);
    expect(questions.filter(({ check }) => check === 'threshold-gap').map(({ missing }) => missing)).toEqual([
      ['resistance of Bank'],
    ]);
  });
});

describe('stop-unreachable', () => {
  const volts = (stop: number): string => hut(`start when voltage(Bank) < 49 V   stop when voltage(Bank) > ${stop} V`);

  it('holds a stop on voltage against what the bank reaches, with 0.01 V a cell between', async () => {
    // Absorption 56 V, sense leads, 16 cells: 55.84 V at the most.
    expect(await found(volts(55.8), 'stop-unreachable')).toEqual([]);
    expect(await found(volts(55.9), 'stop-unreachable')).toHaveLength(1);
    expect((await mended(volts(57), 'stop-unreachable')).map(({ left }) => left)).toEqual([[]]);
  });

  it('takes off the drop of the cable without sense leads', async () => {
    // By hand: 20 m one way of 4 mm² is about 2·20·0.0175/4 = 0.175 Ω; at a tenth of 60 A that is about 1.05 V.
    const text = volts(55.5)
      .replace('design D {', 'design D {\n  basis: iec')
      .replace('   remoteSense: yes', '')
      .replace('{ size: 25 mm2   length: 2 m }', '{ size: 4 mm2   length: 20 m }');
    const [finding] = await found(text, 'stop-unreachable');
    const reached = finding?.numbers['reached']?.value;
    expect(typeof reached === 'object' && reached.value).toBeGreaterThan(54.6);
    expect(typeof reached === 'object' && reached.value).toBeLessThan(55.1);
  });

  it('finds a stop on charge out of reach when the loads take all that the charger gives', async () => {
    const soc = (limit: string): string =>
      hut('start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %').replace(
        'currentLimit: 60 A',
        `currentLimit: ${limit}`,
      );
    expect(await found(soc('60 A'), 'stop-unreachable')).toEqual([]);
    expect(await found(soc('8 A'), 'stop-unreachable')).toHaveLength(1);
  });

  it('warns of a stop in the last percent', async () => {
    const [finding] = await found(hut('start when soc(Bank) < 40 %   stop when soc(Bank) > 99 %'), 'stop-unreachable');
    expect(finding?.severity).toBe('warning');
  });

  it('asks for a rule that stops, or a longest run', async () => {
    expect(await found(hut('start when soc(Bank) < 40 %'), 'stop-unreachable')).toHaveLength(1);
    expect(await found(hut('start when soc(Bank) < 40 %   maximumRun: 4 h'), 'stop-unreachable')).toEqual([]);
  });

  it('says which fact it lacks', async () => {
    const { questions } = await analyseText(volts(55).replace('absorb: 56 V', ''));
    expect(questions.filter(({ check }) => check === 'stop-unreachable').flatMap(({ missing }) => missing)).toEqual([
      'absorb of Rect',
    ]);
  });
});
