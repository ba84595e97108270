import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'inverter-cutoff';

const hut = (inverter: string, bank = 'battery Bank : Lfp48V280Ah'): string => `design D {
  ${bank}
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   neutralBond: bonded   ${inverter} }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  // The protection opens at 40 V; 16 cells · 0.05 V are 0.8 V of clearance.
  it('asks for 0.05 V a cell above the protection of the bank', async () => {
    expect(await findings(hut('cutOff: 40.8 V'))).toEqual([]);
    const [near] = await findings(hut('cutOff: 40.7 V'));
    expect(near?.severity).toBe('warning');
    expect(lacking(near?.told, 'less than 0.05 V a cell')).toEqual([]);
  });

  it('is an error at or below the protection, a warning where that is only usual', async () => {
    const [at] = await findings(hut('cutOff: 40 V'));
    expect(at?.severity).toBe('error');
    expect(lacking(at?.told, 'the bank disconnects first')).toEqual([]);
    const usual = 'battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16 }';
    const [below] = await findings(hut('cutOff: 39 V', usual));
    expect(below?.severity).toBe('warning');
    expect(lacking(below?.told, 'usual for its chemistry; `protectionLow` is not stated')).toEqual([]);
  });

  it('does not speak of a protection that lead-acid units do not have', async () => {
    // 24 cells · 1.75 V = 42 V (common practice, no source).
    const lead = 'battery Bank : Agm12V200Ah { series: 4 }';
    expect(await findings(hut('cutOff: 42 V', lead))).toEqual([]);
    const [deep] = await findings(hut('cutOff: 40 V', lead));
    expect(deep?.severity).toBe('warning');
    expect(lacking(deep?.told, 'discharged too deeply')).toEqual([]);
    expect(deep?.told).not.toContain('protection of');
    expect(deep?.fixes[0]?.title).toBe('Set cutOff of Inv to 42 V');
  });

  it('proposes a cut-off that works and raises the reconnect voltage with it', async () => {
    const text = hut('cutOff: 39 V   reconnect: 42 V');
    const [finding] = await findings(text);
    // The usual 2.8 V a cell: 44.8 V; reconnect 0.2 V a cell above it: 48 V.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Set cutOff of Inv to 44.8 V']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('finds a reconnect voltage that is not above the cut-off', async () => {
    const text = hut('cutOff: 46 V   reconnect: 46 V');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, 'it switches on and off')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('judges an inverter against the bank it hangs on, of two', async () => {
    const text = `design D {
  battery House : Lfp48V280Ah
  battery Start : Lfp12V100Ah
  inverter Big { rated: 3 kW   voltage: 230 V   efficiency: 92 %   cutOff: 46 V   neutralBond: bonded }
  inverter Small { rated: 300 W   voltage: 230 V   efficiency: 90 %   cutOff: 9 V   neutralBond: bonded }
  run A: House -> Big.dc { size: 70 mm2   length: 1 m }
  run B: Start -> Small.dc { size: 16 mm2   length: 1 m }
}
`;
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Small');
    expect(lacking(finding?.told, 'protection of Start opens at 10 V')).toEqual([]);
  });

  it('asks for the cut-off, and for what the bank is made of', async () => {
    expect(askedBy(await analyseText(hut('')), ID)).toEqual(['cutOff of Inv']);
    expect(askedBy(await analyseText(hut('cutOff: 40 V', 'battery Bank { voltage: 48 V }')), ID)).toEqual([
      'chemistry of Bank',
    ]);
    expect(
      askedBy(await analyseText(hut('cutOff: 40 V', 'battery Bank { chemistry: lfp   voltage: 48 V }')), ID),
    ).toEqual(['cells of Bank']);
  });

  it('takes a waiver on the inverter', async () => {
    const text = hut('cutOff: 40.2 V').replace(
      '\n}\n',
      '\n  accept inverter-cutoff on Inv because "told by the maker"\n}\n',
    );
    expect(await findings(text)).toEqual([]);
  });

  it('proposes a cut-off that suits every bank on the bus, and none where a fact of one lacks', async () => {
    // Sixteen cells with their protection at 40 V, and 24 lead cells of 1.75 V: 42 V; lithium is cut off at 16 · 2.8 V = 44.8 V as usual.
    const pair = (second: string): string =>
      hut(
        'cutOff: 39 V',
        `battery Bank : Lfp48V280Ah\n  ${second}\n  run Beside: Bank -> Other { size: 35 mm2   length: 1 m }`,
      );
    const titles = async (second: string): Promise<Set<string>> =>
      new Set((await findings(pair(second))).flatMap(({ fixes }) => fixes.map(({ title }) => title)));
    expect(await titles('battery Other : Agm12V200Ah { series: 4 }')).toEqual(new Set(['Set cutOff of Inv to 44.8 V']));
    const high = 'battery Other { chemistry: lfp   voltage: 51.2 V   cells: 16   protectionLow: 46 V }';
    expect(await titles(high)).toEqual(new Set(['Set cutOff of Inv to 46.8 V']));
    expect(await titles('battery Other { voltage: 51.2 V }')).toEqual(new Set());
  });
});
