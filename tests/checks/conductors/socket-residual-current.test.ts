import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

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
    expect(lacking(finding?.told, 'between Mains and Socket (16 A)')).toEqual([]);
    expect(await afterFix(hut('groundFault: no'), ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('names the state in which none is on the way, though there is one in another', async () => {
    const text = hut('groundFault: no').replace('rating: 40 A   groundFault: no', 'rating: 40 A   groundFault: yes');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, /^With Genset running, nothing between Genset and Socket/)).toEqual([]);
  });

  it('counts what stands in the socket itself and in the set', async () => {
    expect(await findings('groundFault: no', { socket: 'rating: 16 A   groundFault: yes' })).toEqual([]);
    const set = hut('groundFault: no', { set: 'groundFault: yes' });
    expect(findingsOf(await analyseText(set), ID).map(({ told }) => told)).toEqual([
      expect.stringContaining('with Mains connected'),
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

// NEC 210.8(A) as listed by a trade page for 2023: garage, laundry, kitchen, indoor damp yes; living room no. 555.35(B)(1): 30 mA.
describe('receptacles under the NEC, by the place they state', () => {
  const house = (place: string, device = 'groundFault: no', basis = 'nec 2023', more = ''): string => `design House {
  basis: ${basis}
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 20 A   ${device} }
  receptacle Socket { plug: NEMA-5-20   ${place}   ${more} }
  run Line: Mains -> B1 -> Socket { size: 12 AWG   type: NM-B   length: 10 m }
}
`;
  const told = async (text: string) =>
    findingsOf(await analyseText(text), 'socket-residual-current').map(({ severity }) => severity);

  it.each(['garage', 'laundry', 'kitchen', 'damp', 'bathroom', 'outdoors', 'shore-power'])('%s', async (place) => {
    expect(await told(house(`place: ${place}`))).toEqual(['error']);
    expect(await told(house(`place: ${place}`, 'groundFault: yes'))).toEqual([]);
    expect(await told(house(`place: ${place}`, 'groundFault: no', 'nec 2023', 'groundFault: yes'))).toEqual([]);
    expect(askedBy(await analyseText(house(`place: ${place}`, '')), 'socket-residual-current')).toEqual([
      'groundFault of B1',
    ]);
  });

  it('not elsewhere, and not where no place is stated', async () => {
    expect(await told(house('place: other'))).toEqual([]);
    expect(await told(house(''))).toEqual([]);
  });

  it('in the edition of the design', async () => {
    expect(await told(house('place: kitchen', 'groundFault: no', 'nec 2020'))).toEqual([]);
    expect(await told(house('place: basement', 'groundFault: no', 'nec 2020'))).toEqual(['error']);
    expect(await told(house('place: basement', 'groundFault: no', 'nec 2017'))).toEqual([]);
  });

  it('from memory at most as a warning, up to the rating they count for', async () => {
    expect(await told(house('place: caravan-site'))).toEqual(['warning']);
    expect(await told(house('place: caravan-site').replace('NEMA-5-20', 'TT-30'))).toEqual([]);
  });

  it('up to 150 V to ground', async () => {
    expect(await told(house('place: outdoors').replace('120/240 V', '277/480 V'))).toEqual([]);
  });
});

// ABYC E-11 and NEC 551.41(C), both from memory: a warning at most.
describe('receptacles aboard and in vehicles, by the place they state', () => {
  const boat = (place: string, device = 'groundFault: no', volts = '120 V'): string => `design Boat {
  basis: craft
  grid Shore { voltage: ${volts}   rating: 30 A   neutralBond: bonded }
  breaker B1 { rating: 20 A   ${device} }
  receptacle Socket { rating: 20 A   ${place} }
  run Line: Shore -> B1 -> Socket { size: 12 AWG   type: CraftPrimary105   length: 10 m }
}
`;
  const told = async (text: string) =>
    findingsOf(await analyseText(text), 'socket-residual-current').map(({ severity }) => severity);

  it('heads, galleys, machinery spaces and decks ask for it, cabins do not', async () => {
    for (const place of ['bathroom', 'kitchen', 'sink', 'machinery-space', 'outdoors']) {
      expect(await told(boat(`place: ${place}`)), place).toEqual(['warning']);
      expect(await told(boat(`place: ${place}`, 'groundFault: yes')), place).toEqual([]);
    }
    expect(await told(boat('place: other'))).toEqual([]);
    expect(await told(boat(''))).toEqual([]);
    expect(await told(boat('place: kitchen', 'groundFault: no', '230 V'))).toEqual([]);
  });
});

describe('which receptacles are sockets', () => {
  const barn = (runs: string, breakers = 'breaker B1 { rating: 16 A   groundFault: no }'): string => `design Barn {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  ${breakers}
  receptacle Socket { rating: 16 A }
  load Lamp { power: 100 W }
  ${runs}
}
`;
  const told = async (...texts: Parameters<typeof barn>) => findingsOf(await analyseText(barn(...texts)), ID);

  it('those that share their run with others, and not those that lead on', async () => {
    expect(await told('run Line: Mains -> B1 -> Socket, Lamp { size: 2.5 mm2   length: 10 m }')).toHaveLength(1);
    const inlet = `run Line: Mains -> B1 -> Socket { size: 2.5 mm2   length: 10 m }
  run Cord: Socket -> Lamp { size: 2.5 mm2   length: 2 m }`;
    expect(await told(inlet)).toEqual([]);
    expect(askedBy(await analyseText(barn(inlet)), ID)).toEqual([]);
  });

  it('are mended at the breaker next to them, however many stand before it', async () => {
    const one = 'run Line: Mains -> B1 -> Socket { size: 2.5 mm2   length: 10 m }';
    const [single] = await told(one);
    expect(single?.fixes[0]?.title).toBe('Use B1 with RCD protection');
    const three = ['B1', 'B2', 'B3'].map((name) => `breaker ${name} { rating: 16 A   groundFault: no }`).join(' ');
    const [last] = await told(one.replace('-> B1', '-> B1 -> B2 -> B3'), three);
    expect(last?.fixes[0]?.title).toBe('Use B3 with RCD protection');
  });
});
