import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'string-voltage-window';

/** Cells at 75 °C (NOCT 45 °C, 1000 W/m² at 43.75 °C air): 100 V · (1 − 0.004 · 50) = 80 V. */
const hut = (controller: string, array = 'noct: 45 degC   powerCoefficient: -0.4 %/K', rest = ''): string => `design D {
  ${rest}
  site { ambient: 0..43.75 degC }
  solar Array { power: 400 W   openCircuitVoltage: 120 V   maximumPowerVoltage: 100 V   shortCircuitCurrent: 5 A   voltageCoefficient: -0.3 %/K   ${array} }
  chargeController Tracker { maximumVoltage: 250 V   maximumCurrent: 60 A   maximumInputCurrent: 20 A   ${controller} }
  battery Bank { voltage: 51.2 V   capacity: 100 Ah   maximumCharge: 60 A   chargeLimit: 90 V }
  run Line: Array -> Tracker.solar { size: 6 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 25 mm2   length: 2 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('passes a hot string at the lower end of the window, and fails one below it', async () => {
    expect(await findings(hut('tracking: mppt   window: 80..240 V   absorb: 56 V'))).toEqual([]);
    // Two modules in series have 240 V · 1.075 = 258 V open in the cold.
    const text = hut('tracking: mppt   window: 80.1..240 V   absorb: 56 V').replace('250 V', '258 V');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(numberIn(finding!.numbers['voltage']!, 'V')).toBeCloseTo(80, 9);
    expect(lacking(finding?.told, 'cells at 75 degC')).toEqual([]);
    expect(lacking(finding?.told, 'lower end of the window of Tracker')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 2 modules in series in Array']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect((await findings(text.replace('258 V', '257 V')))[0]?.fixes).toEqual([]);
  });

  it('asks a tracking controller’s string for headroom above the charge voltage, a switching one’s for none', async () => {
    // 79 V and 1 V of headroom are just met.
    const tracker = (absorb: string): string => `tracking: mppt   window: 60..240 V   absorb: ${absorb}`;
    expect(await findings(hut(tracker('79 V')))).toEqual([]);
    const [close] = await findings(hut(tracker('79.5 V')));
    expect(close?.severity).toBe('warning');
    expect(lacking(close?.told, 'charge voltage with headroom')).toEqual([]);
    const [below] = await findings(hut(tracker('80.5 V')));
    expect(below?.severity).toBe('error');
    expect(await findings(hut('tracking: pwm   absorb: 80 V'))).toEqual([]);
    expect(await findings(hut('tracking: pwm   absorb: 80.5 V'))).toHaveLength(1);
    expect(await findings(hut(tracker('76 V'), undefined, 'stringHeadroom: 4 V'))).toEqual([]);
    expect(await findings(hut(tracker('76.1 V'), undefined, 'stringHeadroom: 4 V'))).toHaveLength(1);
  });

  it('takes 30 K above the air and the open-circuit coefficient where the data sheet’s own are not stated, as a warning', async () => {
    // 73.75 °C: 100 V · (1 − 0.003 · 48.75) = 85.375 V.
    const rough = '';
    expect(await findings(hut('tracking: mppt   window: 85.3..240 V   absorb: 56 V', rough))).toEqual([]);
    const [finding] = await findings(hut('tracking: mppt   window: 85.4..240 V   absorb: 56 V', rough));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'cells 30 K above the air; `noct` is not stated')).toEqual([]);
    expect(lacking(finding?.told, '`powerCoefficient` is not stated')).toEqual([]);
  });

  it('warns of a string above the window in the cold', async () => {
    // 100 V · (1 + 0.004 · 25) = 110 V at 0 °C; two of them 220 V.
    const two = 'noct: 45 degC   powerCoefficient: -0.4 %/K   series: 2';
    const wide = (high: string): string => `tracking: mppt   window: 60..${high}   absorb: 56 V`;
    expect(await findings(hut(wide('220 V'), two).replace('250 V', '300 V'))).toEqual([]);
    const text = hut(wide('219 V'), two).replace('250 V', '300 V');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'in the cold')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 1 module in series in Array']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('leaves a string that is too much for the controller in the cold to cold-string-voltage', async () => {
    const analysis = await analyseText(
      hut(
        'tracking: mppt   window: 60..200 V   absorb: 56 V',
        'noct: 45 degC   powerCoefficient: -0.4 %/K   series: 2',
      ),
    );
    // 220 V of 200 V at work, and 258 V of 250 V open.
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'cold-string-voltage')).toHaveLength(1);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(hut('absorb: 56 V')), ID)).toEqual(['tracking of Tracker']);
    expect(askedBy(await analyseText(hut('tracking: mppt   absorb: 56 V')), ID)).toEqual(['window of Tracker']);
    expect(askedBy(await analyseText(hut('tracking: pwm   absorb: 56 V')), ID)).toEqual([]);
    const bare = hut('tracking: pwm   absorb: 56 V', '')
      .replace('maximumPowerVoltage: 100 V', '')
      .replace('voltageCoefficient: -0.3 %/K', '')
      .replace('site { ambient: 0..43.75 degC }', '');
    expect(askedBy(await analyseText(bare), ID)).toEqual(['ambient of the site']);
  });
});
