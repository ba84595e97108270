import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'cell-temperature';

/** Cells that may be discharged from −20 to 60 °C and charged up to 45 °C. */
const mast = (cells: string, ambient = '-20..30 degC', rest = ''): string => `design D {
  site { ambient: ${ambient} }
  battery Bank : Lfp12V100Ah { chargeTemperature: 0..45 degC   ${cells} }
  ${rest}
}
`;
const SUN = `solar Array { power: 100 W   shortCircuitCurrent: 6 A }
  chargeController Sun { currentLimit: 10 A   maximumCurrent: 10 A   absorb: 14 V }
  run Line: Array -> Sun.solar { size: 4 mm2   length: 5 m }
  run Feed: Bank -> Sun.dc { size: 4 mm2   length: 1 m }`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('holds both ends against the data sheet for discharge, limits included', async () => {
    expect(await findings(mast('cellTemperature: -20..60 degC'))).toEqual([]);
    const [cold, ...others] = await findings(mast('cellTemperature: -21..60 degC'));
    expect(others).toEqual([]);
    expect(cold?.severity).toBe('warning');
    expect(lacking(cold?.told, 'as cold as -21 degC, and may be discharged from -20 degC up')).toEqual([]);
    const [hot] = await findings(mast('cellTemperature: -20..61 degC'));
    expect(lacking(hot?.told, 'as hot as 61 degC, and may be discharged up to 60 degC')).toEqual([]);
    expect(await findings(mast('cellTemperature: -21..61 degC'))).toHaveLength(2);
  });

  it('holds the hot end against charging where anything charges, once', async () => {
    expect(await findings(mast('cellTemperature: 0..46 degC'))).toEqual([]);
    expect(await findings(mast('cellTemperature: 0..45 degC', undefined, SUN))).toEqual([]);
    const [hot, ...others] = await findings(mast('cellTemperature: 0..46 degC', undefined, SUN));
    expect(others).toEqual([]);
    expect(lacking(hot?.told, 'may be charged up to 45 degC (`chargeTemperature`)')).toEqual([]);
    expect(await findings(mast('cellTemperature: 0..70 degC', undefined, SUN))).toHaveLength(1);
  });

  it('leaves charging in the cold to its own check', async () => {
    expect(await findings(mast('cellTemperature: -10..40 degC', undefined, SUN))).toEqual([]);
  });

  it('asks for the cells only where the site leaves the span of the data sheet', async () => {
    const asked = async (ambient: string) => askedBy(await analyseText(mast('', ambient)), ID);
    expect(await asked('-20..60 degC')).toEqual([]);
    expect(await asked('-21..60 degC')).toEqual(['cellTemperature of Bank']);
    expect(await asked('-20..61 degC')).toEqual(['cellTemperature of Bank']);
  });
});
