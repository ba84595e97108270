import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';

const design = (inverter: string): string => `design Hut {
  basis: nec 2023
  site { ambient: 10..30 degC }
  generator Genset { rated: 6 kW   voltage: 120/240 V   neutralBond: bonded   fuel: petrol }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  inverter Inv { rated: 5 kW   voltage: 120/240 V   efficiency: 93 %   cutOff: 46 V   ${inverter} }
  fuse F1 { class: T   rating: 200 A }
  run Cord: Genset -> Inv.input { size: 8 AWG   type: SOOW   length: 5 m }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 2/0 AWG   type: THWN-2   length: 1 m }
}
`;

describe('a charger built into an inverter', () => {
  const asked = async (inverter: string): Promise<readonly string[]> =>
    (await analyseText(design(inverter))).questions.flatMap(({ missing }) => missing);

  it('whose size is not known is there, and its size is asked for', async () => {
    const { findings } = await analyseText(design('builtInCharger: yes'));
    expect(findings.map(({ check }) => check)).not.toContain('unknown-name');
    expect(await asked('builtInCharger: yes')).toContain('currentLimit of Inv');
  });

  it('with a limit needs no further word', async () => {
    expect(await asked('currentLimit: 60 A')).not.toContain('currentLimit of Inv');
    expect(await asked('builtInCharger: yes   currentLimit: 60 A')).toEqual(await asked('currentLimit: 60 A'));
  });

  it('that is not said is none', async () => {
    expect(await asked('passThrough: yes')).not.toContain('currentLimit of Inv');
  });
});

describe('a count that may be either of two', () => {
  it('is led to a variant', async () => {
    const { findings } = await analyseText('design Hut {\n  battery Bank : Lfp48V280Ah { parallel: 3..4 }\n}\n');
    expect(findings.map(({ headline }) => headline)).toContain(
      '`parallel` of battery Bank is `3..4`; it must be one whole number; put the other into a variant',
    );
  });
});
