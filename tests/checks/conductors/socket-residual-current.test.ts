import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const ID = 'socket-residual-current';
const hut = (breaker: string, { socket = 'rating: 16 A', set = '', basis = 'iec' } = {}): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  generator Genset { rated: 4 kW   voltage: 230 V   neutralBond: bonded   ${set} }
  transfer Ats { switches: phases-and-neutral   rating: 40 A }
  breaker Main { rating: 40 A   groundFault: no }
  breaker B1 { rating: 16 A   ${breaker} }
  bus Board {}
  receptacle Socket { ${socket} }
  load Stove { power: 1 kW }
  run FromMains: Mains -> Main -> Ats.normal { size: 10 mm2   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 6 mm2   length: 8 m }
  run Feed: Ats.out -> Board { size: 10 mm2   length: 3 m }
  run Line: Board -> B1 -> Socket { size: 2.5 mm2   length: 10 m }
  run StoveLine: Board -> Stove { size: 2.5 mm2   length: 10 m }
}
`;
const findings = async (...given: Parameters<typeof hut>) => findingsOf(await analyseText(hut(...given)), ID);

describe(ID, () => {
  // IEC 60364-4-41 411.3.3 (from memory): 30 mA for socket-outlets up to 32 A.
  it('asks for a device that opens on residual current before a socket, in every source state', async () => {
    expect(await findings('groundFault: yes')).toEqual([]);
    const [finding, ...others] = await findings('groundFault: no');
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(finding?.message).toContain('between Mains and Socket (16 A)');
    expect(await afterFix(hut('groundFault: no'), ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('names the state in which none is on the way, though there is one in another', async () => {
    const text = hut('groundFault: no').replace('rating: 40 A   groundFault: no', 'rating: 40 A   groundFault: yes');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.message).toMatch(/^With Genset running, nothing between Genset and Socket/);
  });

  it('counts what stands in the socket itself and in the set', async () => {
    expect(await findings('groundFault: no', { socket: 'rating: 16 A   groundFault: yes' })).toEqual([]);
    const set = hut('groundFault: no', { set: 'groundFault: yes' });
    expect(findingsOf(await analyseText(set), ID).map(({ message }) => message)).toEqual([
      expect.stringContaining('With Mains connected'),
    ]);
  });

  it('asks about breakers that say nothing, and leaves larger sockets and other practices alone', async () => {
    const analysis = await analyseText(hut(''));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual(['groundFault of B1']);
    expect(await findings('groundFault: no', { socket: 'rating: 63 A' })).toEqual([]);
    expect(await findings('groundFault: no', { basis: 'nec' })).toEqual([]);
  });
});
