import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'supply-setting';
const van = (limits: string, rest = ''): string => `design Van {
  grid Post { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  grid Garage { voltage: 120 V   rating: 15 A   outlet: NEMA-5-15   neutralBond: bonded }
  receptacle Adapter { plug: NEMA-5-15   outlet: TT-30 }
  receptacle Inlet { plug: TT-30   oneCord: yes }
  inverter Inv {
    rated: 2 kW   voltage: 120 V   passThrough: yes   transferRating: 30 A   input: 95..135 V   neutralBond: switched   ${limits}
  }
  load Kettle { power: 1 kW   voltage: 120 V   powerFactor: 1   continuous: no }
  run PostCord: Post -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run GarageCord: Garage -> Adapter -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run In: Inlet -> Inv.input { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2 }
  run Out: Inv.ac -> Kettle { size: 12 AWG   type: THWN-2   length: 2 m   conductors: 2 }
  ${rest}
}
`;

describe(ID, () => {
  // NEC 210.21(B) (published): 12 A of a 15 A receptacle, 24 A of a 30 A one.
  it('holds the limit of each supply against what its plug carries for hours, to the ampere', async () => {
    const found = async (limits: string): Promise<string[]> =>
      findingsOf(await analyseText(van(limits)), ID).map(({ headline }) => headline.split(';')[0]!);
    expect(await found('inputLimit: 12 A')).toEqual([]);
    expect(await found('inputLimit: 12.1 A')).toEqual(['Inv may draw 12.1 A from Garage']);
    expect(await found('inputLimit: 24 A   inputLimitFrom: { Garage: 12 A }')).toEqual([]);
    expect(await found('inputLimit: 25 A   inputLimitFrom: { Garage: 13 A }')).toEqual([
      'Inv may draw 25 A from Post',
      'Inv may draw 13 A from Garage',
    ]);
  });

  it('sets the limit of the one supply', async () => {
    const text = van('inputLimit: 24 A');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.severity).toBe('warning');
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit the input of Inv to 12 A when fed from Garage']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('leaves to it what runs beside it', async () => {
    const beside = `load Fan { power: 240 W   voltage: 120 V   powerFactor: 1 }
  run FanLine: Inlet -> Fan { size: 12 AWG   type: THWN-2   length: 2 m   conductors: 2 }`;
    const [finding] = findingsOf(
      await analyseText(van('inputLimit: 22 A   inputLimitFrom: { Garage: 12 A }', beside)),
      ID,
    );
    // 12 A less the 2 A of the fan.
    expect(lacking(finding?.told, 'leaves 10 A for it')).toEqual([]);
  });

  it('says nothing where there is but one supply, or no limit', async () => {
    const one = van('inputLimit: 30 A').replace(/ {2}run GarageCord.*\n/, '');
    expect(findingsOf(await analyseText(one), ID)).toEqual([]);
    expect(findingsOf(await analyseText(van('')), ID)).toEqual([]);
  });
});
