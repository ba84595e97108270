import { describe, expect, it } from 'vitest';
import { askedBy, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

/** 512 W from 280 Ah at 48 V: about 28 h from full, with nothing that charges. */
const dark = (hours: number, more = '', bank = '', design = ''): string => `design D {
  battery Bank : Lfp48V280Ah { ${bank} }
  load Radio { power: 512 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  ${design}
  scenario Dark { from: 2027-01-10   duration: ${hours} h   sun: none   soc(Bank): 90 %   ${more} }
}`;
const told = async (text: string, check: string): Promise<string[]> =>
  findingsOf(await analyseText(text), check).map(({ told }) => told);

describe('scenario-unserved', () => {
  it('says how much each load goes without', async () => {
    expect(await told(dark(24), 'scenario-unserved')).toEqual([]);
    const [message] = await told(dark(48), 'scenario-unserved');
    expect(lacking(message, /^In Dark loads go without 1\d\.\d+ kWh: Radio 1\d\.\d+ kWh\./)).toEqual([]);
  });

  it('leaves it to a requirement where there is one', async () => {
    expect(await told(dark(48, 'require unserved <= 15 kWh'), 'scenario-unserved')).toEqual([]);
    expect(await told(dark(48, 'require min(soc(Bank)) >= 0 %'), 'scenario-unserved')).toHaveLength(1);
  });

  it('does not count what a control sheds', async () => {
    const shed = 'control Shed of Radio { off when soc(Bank) < 30 %   on when soc(Bank) > 50 % }';
    expect(await told(dark(48, '', '', shed), 'scenario-unserved')).toEqual([]);
  });

  it('names the facts that lack for the play', async () => {
    const text = dark(48).replace('from: 2027-01-10', '');
    expect(askedBy(await analyseText(text), 'scenario-unserved')).toEqual(['from of Dark']);
  });
});

describe('scenario-unfinished', () => {
  it('finds a bank whose protection opens for good', async () => {
    expect(await told(dark(24, '', 'reset: manual'), 'scenario-unfinished')).toEqual([]);
    const [message] = await told(dark(48, '', 'reset: manual'), 'scenario-unfinished');
    expect(
      lacking(message, /the protection of Bank opens on 2027-01-11 at \d\d:\d\d and does not close again/),
    ).toEqual([]);
  });

  it('says why a scenario cannot be played', async () => {
    const text = dark(
      24,
      '',
      '',
      `site { latitude: 46 deg   longitude: 9 deg   timeZone: "Nowhere/Land" }
      solar Array { power: 400 W   series: 2   parallel: 1   tilt: 30 deg   azimuth: 180 deg   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.9 A   powerCoefficient: -0.35 %/K   noct: 45 degC }
      chargeController Tracker { tracking: mppt   currentLimit: 30 A   absorb: 56 V   float: 54 V   efficiency: 97 % }
      run Up: Array -> Tracker.solar { size: 6 mm2   length: 5 m }   run Down: Tracker.dc -> Bank { size: 10 mm2   length: 2 m }`,
    ).replace('sun: none', 'sun: clear');
    expect(await told(text, 'scenario-unfinished')).toEqual([
      expect.stringContaining('Nowhere/Land is no time zone of the tz database'),
    ]);
  });
});
