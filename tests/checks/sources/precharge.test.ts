import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'precharge';

const hut = (inverter: string, bank = ': Lfp48V280Ah', rest = ''): string => `design D {
  ${rest}
  battery Bank ${bank}
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   ${inverter} }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('asks for a precharge from 1 mF on, and says which', async () => {
    expect(await findings(hut('inputCapacitance: 0.99 mF   precharge: no'))).toEqual([]);
    const text = hut('inputCapacitance: 1 mF   precharge: no');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    // 2 s in five time constants of 1 mF are 400 ohm: 390 ohm of the E12 series. 1 mF · (57.6 V)²/2 = 1.66 J.
    expect(lacking(finding?.told, '390 ohm for 2 s')).toEqual([]);
    expect(numberIn(finding!.numbers['energy']!, 'J')).toBeCloseTo(1.659, 3);
    expect(lacking(finding?.told, 'good for 2 J')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('follows the design where it minds more or less', async () => {
    expect(
      await findings(hut('inputCapacitance: 4 mF   precharge: no', undefined, 'prechargeCapacitance: 5 mF')),
    ).toEqual([]);
    expect(
      await findings(hut('inputCapacitance: 5 mF   precharge: no', undefined, 'prechargeCapacitance: 5 mF')),
    ).toHaveLength(1);
  });

  it('is content with a precharge, and with a bank that has no electronics', async () => {
    expect(await findings(hut('inputCapacitance: 20 mF   precharge: yes'))).toEqual([]);
    const lead = '{ chemistry: agm   voltage: 12 V   cells: 6   series: 4   capacity: 100 Ah }';
    expect(await findings(hut('inputCapacitance: 20 mF   precharge: no', lead))).toEqual([]);
    // One that states a protection has some, whatever its chemistry.
    const guarded =
      '{ chemistry: agm   voltage: 12 V   cells: 6   series: 4   capacity: 100 Ah   protectionLow: 10 V }';
    expect(await findings(hut('inputCapacitance: 20 mF   precharge: no', guarded))).toHaveLength(1);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(hut('precharge: no')), ID)).toEqual(['inputCapacitance of Inv']);
    expect(askedBy(await analyseText(hut('inputCapacitance: 20 mF')), ID)).toEqual(['precharge of Inv']);
    expect(askedBy(await analyseText(hut('precharge: no', '{ voltage: 51.2 V }')), ID)).toEqual([
      'inputCapacitance of Inv',
      'chemistry of Bank',
    ]);
  });
});
