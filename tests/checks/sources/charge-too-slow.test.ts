import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'charge-too-slow';

/** 280 Ah of unknown chemistry (no taper, no loss): 60 % are 168 Ah. */
const hut = (limit: string, control: string, rest = '', start = '30 %', stop = '90 %'): string => `design D {
  generator Genset { rated: 9 kW   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: ${limit}   maximumCurrent: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { voltage: 51.2 V   capacity: 280 Ah   cells: 16   maximumCharge: 140 A   chargeLimit: 57.6 V }
  bus Dc {}
  run Cord: Genset -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  ${rest}
  control Autostart of Genset {
    start when soc(Bank) < ${start}
    stop when soc(Bank) > ${stop}
    ${control}
  }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
const load = (power: string): string => `load Radio { power: ${power}   supply: dc   profile: always }
  run L: Dc -> Radio`;

describe(ID, () => {
  it('passes a charge that the longest run just covers, and fails one that it cuts short', async () => {
    // 168 Ah / 28 A = 6 h.
    expect(await findings(hut('28 A', 'maximumRun: 6 h'))).toEqual([]);
    const text = hut('28 A', 'maximumRun: 5.5 h');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '6 h')).toEqual([]);
    expect(lacking(finding?.told, '5.5 h')).toEqual([]);
    // 28 A · 6/5.5 = 30.5 A, in steps of 5 A; or a run of 6 h.
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Raise the limit of Rect to 35 A',
      'Let Autostart run for 6 h',
    ]);
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('holds a charge against what the quiet hours leave of a day', async () => {
    // 22:00 to 06:00 leave 16 h: 168 Ah / 10.5 A. 5 % of capacity an hour are 14 A; that is the matter of charge-below-load.
    expect(await findings(hut('10.5 A', 'quiet: 22:00..06:00'))).toEqual([]);
    const [finding] = await findings(hut('10.4 A', 'quiet: 22:00..06:00'));
    expect(lacking(finding?.told, 'leave 16 h of a day')).toEqual([]);
    // Quiet hours keep a set from starting, not from running.
    expect(lacking(finding?.told, 'it runs on into them')).toEqual([]);
    expect(await findings(hut('10.4 A', 'quiet: 22:00..22:00'))).toEqual([]);
    expect(await findings(hut('10.4 A', ''))).toEqual([]);
  });

  it('finds a day on which the set cannot make up what the loads take', async () => {
    // 512 W are 10 A at 51.2 V; 40 A leave 30 A: 24 h · 10/(30 + 10) = 6 h a day.
    const text = (quiet: string): string => hut('40 A', quiet, load('512 W'), '30 %', '40 %');
    expect(await findings(text('quiet: 00:00..18:00'))).toEqual([]);
    const [finding] = await findings(text('quiet: 00:00..18:30'));
    expect(lacking(finding?.told, '6 h a day')).toEqual([]);
    expect(lacking(finding?.told, '5.5 h')).toEqual([]);
    // 10 A · (24/5.5 − 1) = 33.6 A and the load: 43.6 A.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Raise the limit of Rect to 45 A']);
    expect(await afterFix(text('quiet: 00:00..18:30'), ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('does not count days on which the sun helps', async () => {
    const sun = `solar Array { power: 400 W   series: 3 }
  chargeController Tracker { tracking: mppt   maximumCurrent: 30 A   absorb: 56 V }
  run S: Array -> Tracker.solar
  run T: Tracker.dc -> Dc`;
    expect(await findings(hut('40 A', 'quiet: 00:00..18:30', `${load('512 W')}\n  ${sun}`, '30 %', '40 %'))).toEqual(
      [],
    );
  });

  it('leaves a bank that never fills to charge-below-load', async () => {
    const analysis = await analyseText(hut('20 A', 'maximumRun: 2 h', load('1.1 kW')));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'charge-below-load')).toHaveLength(1);
  });

  it('holds a lead-acid bank that only the sun charges against 5 % of its capacity an hour', async () => {
    // 225 Ah: 11.25 A. By a switching controller the short-circuit current counts, by a tracking one power over nominal voltage.
    const text = (current: string, chemistry = 'flooded'): string => `design D {
  solar Array { power: 100 W   shortCircuitCurrent: ${current} }
  chargeController Switcher { tracking: pwm   maximumCurrent: 30 A   absorb: 14.4 V }
  battery Bank { chemistry: ${chemistry}   voltage: 12 V   cells: 6   capacity: 225 Ah }
  run Line: Array -> Switcher.solar
  run Out: Switcher.dc -> Bank
}
`;
    expect(await findings(text('11.25 A'))).toEqual([]);
    const [finding] = await findings(text('11 A'));
    expect(lacking(finding?.told, '11.25 A')).toEqual([]);
    expect(lacking(finding?.told, 'a rule of thumb')).toEqual([]);
    expect(await findings(text('11 A').replace('cells: 6', 'cells: 4').replace('flooded', 'lfp'))).toEqual([]);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(hut('28 A', 'maximumRun: 6 h').replace('capacity: 280 Ah', '')), ID)).toEqual([
      'capacity of Bank',
    ]);
  });
});
