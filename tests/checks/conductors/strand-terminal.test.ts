import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'strand-terminal';
const shed = (gear: string, run: string): string => `design Shed {
  battery Bank : Lfp12V100Ah
  breaker B1 { rating: 60 A   ${gear} }
  load Winch { power: 500 W   supply: dc }
  run Feed: Bank -> B1 @ 100 mm -> Winch { size: 6 AWG   length: 2 m   ${run} }
}
`;
const findings = async (gear: string, run: string) => findingsOf(await analyseText(shed(gear, run)), ID);

describe(ID, () => {
  // NEC 110.14 (2011 and later): terminals for more than class B and C stranding must be identified for the class.
  it('finds bare fine strands under a set screw, and ferrules end it', async () => {
    const text = shed('terminalKind: set-screw', 'type: WeldingCable   ends: bare');
    const [finding, ...others] = await findings('terminalKind: set-screw', 'type: WeldingCable   ends: bare');
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'under the set screw of B1')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it.each([
    [
      'a terminal marked for fine strands',
      'terminalKind: set-screw   fineStrand: yes',
      'type: WeldingCable   ends: bare',
    ],
    ['a clamp', 'terminalKind: clamp', 'type: WeldingCable   ends: bare'],
    ['a stud, stated by its thread', 'stud: 8 mm', 'type: WeldingCable   ends: bare'],
    ['lugs', 'terminalKind: set-screw', 'type: WeldingCable   ends: lug'],
    ['coarse strands', 'terminalKind: set-screw', 'type: THHN   ends: bare'],
  ])('passes %s', async (_name, gear, run) => {
    expect(await findings(gear, run)).toEqual([]);
  });

  it('takes the kind of terminal from the class of the device', async () => {
    expect(await findings('class: UL489-AC', 'type: WeldingCable   ends: bare')).toHaveLength(1);
    expect(await findings('class: DcBreaker80V', 'type: WeldingCable   ends: bare')).toEqual([]);
  });

  it('asks how the ends are prepared, or what the conductor is, only where a set screw waits for it', async () => {
    const asked = async (gear: string, run: string) => askedBy(await analyseText(shed(gear, run)), ID);
    expect(await asked('terminalKind: set-screw', 'type: WeldingCable')).toEqual(['ends of Feed']);
    expect(await asked('terminalKind: set-screw', 'ends: bare')).toEqual(['type of Feed']);
    expect(await asked('', 'type: WeldingCable')).toEqual([]);
  });

  it('leaves out cords that end in a plug', async () => {
    const text = `design Site {
  generator Genset { rated: 5 kW   voltage: 120/240 V   outlet: L14-30   neutralBond: bonded }
  charger Rect { plug: L14-30   terminalKind: set-screw   input: 180..264 V   currentLimit: 40 A   absorb: 56 V }
  run Cord: Genset -> Rect.ac { size: 10 AWG   type: SOOW   length: 5 m   ends: bare }
}
`;
    expect(findingsOf(await analyseText(text), ID)).toEqual([]);
    expect(findingsOf(await analyseText(text.replace('plug: L14-30', '')), ID)).toHaveLength(1);
  });
});
