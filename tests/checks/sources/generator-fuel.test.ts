import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'generator-fuel';
const BURN = 'burn: { 50 %: 2 L/h, 100 %: 3 L/h }';

const hut = (set: string, load = 'power: 2.5 kW   profile: always', rest = ''): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded   ${set} }
  load Heater { ${load} }
  run Cord: Genset -> Heater
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

/** A charger of 40 A on 280 Ah of unknown chemistry: 60 % are 168 Ah, 4.2 h. */
const charging = (control: string, tank: string): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded   tank: ${tank}   burn: { 0 %: 2 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { voltage: 51.2 V   capacity: 280 Ah }
  run Cord: Genset -> Rect.ac
  run Feed: Rect.dc -> Bank
  control Autostart of Genset { ${control} }
}
`;

describe(ID, () => {
  it('holds the tank less its reserve against the planned run', async () => {
    // 2.5 kW are half load, 2 L/h: 18 of 20 L last 9 h.
    expect(await findings(hut(`tank: 20 L   plannedRun: 9 h   ${BURN}`))).toEqual([]);
    const text = hut(`tank: 20 L   plannedRun: 9.2 h   ${BURN}`);
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '9 h')).toEqual([]);
    expect(lacking(finding?.told, '9.2 h')).toEqual([]);
    // 9.2 h · 2 L/h / 0.9 = 20.4 L
    expect(lacking(finding?.told, 'A tank of 21 L lasts that long')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Fill up after 9 h: set plannedRun of Genset']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect(await findings(hut(`tank: 20 L   plannedRun: 10 h   ${BURN}`, undefined, 'fuelReserve: 0 %'))).toEqual([]);
  });

  it('counts loads by duty and profile, and reads the burn figures at that load', async () => {
    // Half of 5 kW by duty: the same 2 L/h; 75 % load: 2.5 L/h and 7.2 h.
    expect(await findings(hut(`tank: 20 L   plannedRun: 9 h   ${BURN}`, 'power: 5 kW   duty: 50 %'))).toEqual([]);
    expect(await findings(hut(`tank: 20 L   plannedRun: 7.2 h   ${BURN}`, 'power: 3.75 kW   profile: always'))).toEqual(
      [],
    );
    expect(
      await findings(hut(`tank: 20 L   plannedRun: 7.3 h   ${BURN}`, 'power: 3.75 kW   profile: always')),
    ).toHaveLength(1);
    // Burn figures by power are read alike.
    const byPower = 'burn: { 2.5 kW: 2 L/h, 5 kW: 3 L/h }';
    expect(
      await findings(hut(`tank: 20 L   plannedRun: 7.3 h   ${byPower}`, 'power: 3.75 kW   profile: always')),
    ).toHaveLength(1);
  });

  it('takes the table of the fuel where the set states no burn figures, and says so', async () => {
    // Petrol, fixed speed, from memory: 0.24 · 5 + 0.42 · 2.5 = 2.25 L/h; 18 L last 8 h.
    const set = 'tank: 20 L   fuel: petrol   waveform: conventional';
    expect(await findings(hut(`${set}   plannedRun: 8 h`))).toEqual([]);
    const [finding] = await findings(hut(`${set}   plannedRun: 8.1 h`));
    expect(lacking(finding?.told, 'from memory')).toEqual([]);
    expect(askedBy(await analyseText(hut('tank: 20 L   plannedRun: 8 h')), ID)).toEqual(['burn or fuel of Genset']);
  });

  it('takes the charge its rules ask for where no run is planned', async () => {
    const rules = 'start when soc(Bank) < 30 %   stop when soc(Bank) > 90 %';
    // 4.2 h · 2 L/h / 0.9 = 9.33 L
    expect(await findings(charging(rules, '9.4 L'))).toEqual([]);
    const [finding] = await findings(charging(rules, '9.3 L'));
    expect(lacking(finding?.told, 'to charge Bank from 30 % to 90 %')).toEqual([]);
    expect(finding?.fixes).toEqual([]);
    // A run that is stated goes first.
    expect(await findings(charging(rules, '9.3 L').replace('tank:', 'plannedRun: 1 h   tank:'))).toEqual([]);
  });

  it('takes the longest run of its control, else the shortest, and can mend those', async () => {
    const rules = 'start when voltage(Bank) < 50 V   stop when voltage(Bank) > 55 V';
    const text = charging(`${rules}   minimumRun: 1 h   maximumRun: 5 h`, '10 L');
    const [finding] = await findings(text);
    // 9 L last 4.5 h.
    expect(lacking(finding?.told, '`maximumRun` of Autostart')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Fill up after 4.5 h: set maximumRun of Autostart');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect(await findings(charging(`${rules}   minimumRun: 4.5 h`, '10 L'))).toEqual([]);
    expect(await findings(charging(`${rules}   minimumRun: 4.6 h`, '10 L'))).toHaveLength(1);
  });

  it('minds how fast propane boils off, and asks for it where it gets cold', async () => {
    const set =
      'fuel: propane   ratedFuel: propane   tank: 100 L   plannedRun: 5 h   burn: { 0 %: 4 L/h, 100 %: 4 L/h }';
    const cold = 'site { altitude: 0 m   ambient: -10..20 degC }';
    expect(askedBy(await analyseText(hut(set, undefined, cold)), ID)).toEqual(['vaporisation of Genset']);
    expect(askedBy(await analyseText(hut(set, undefined, 'site { altitude: 0 m   ambient: 0..20 degC }')), ID)).toEqual(
      [],
    );
    expect(await findings(hut(`${set}   vaporisation: 4 L/h`, undefined, cold))).toEqual([]);
    const [finding] = await findings(hut(`${set}   vaporisation: 1.9 L/h`, undefined, cold));
    expect(lacking(finding?.told, 'down to -10 degC')).toEqual([]);
    expect(lacking(finding?.told, 'Join 3 times as many cylinders')).toEqual([]);
  });

  it('has nothing to say of a set on the gas main', async () => {
    const analysis = await analyseText(hut('fuel: naturalGas'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual([]);
  });

  it('asks for tank and run', async () => {
    expect(askedBy(await analyseText(hut('fuel: petrol')), ID).sort()).toEqual([
      'plannedRun of Genset',
      'tank of Genset',
    ]);
  });
});
