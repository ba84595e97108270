import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';

/** A split-phase panel: what lasts on L1, what does not on L2, behind one two-pole breaker. */
const panel = (rating: number, service = '', breaker = ''): string => `design House {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded   ${service} }
  breaker Main { rating: ${rating} A   poles: 2   ${breaker} }
  bus Panel { rating: 100 A }
  load Lamps { power: 3360 W   voltage: 120 V   legs: L1 }
  load Saw { power: 3840 W   voltage: 120 V   legs: L2   continuous: no }
  run Feeder: Mains -> Main -> Panel { size: 8 AWG   type: THHN   length: 10 m }
  run ToLamps: Panel -> Lamps { size: 8 AWG   type: THHN   length: 3 m }
  run ToSaw: Panel -> Saw { size: 8 AWG   type: THHN   length: 3 m }
}
`;

describe('legs counted apart', () => {
  // NEC 210.20(A), 215.2(A)(1), 215.3: 125 % of 28 A continuous on L1 are 35 A; L2 carries 32 A that do not last. One conductor never
  // carries the sum of both.
  it('asks 35 A of a feeder with 28 A that last on one leg and 32 A that do not on the other', async () => {
    expect(await valueOf(panel(35), 'Feeder', 'requiredAmpacity', 'A')).toBeCloseTo(35, 9);
    expect(findingsOf(await analyseText(panel(35)), 'protection-continuous')).toEqual([]);
    expect(findingsOf(await analyseText(panel(34)), 'protection-continuous')).toHaveLength(1);
  });

  it('takes the leg that does not last where it is the larger', async () => {
    const saw = panel(40).replace('3840 W', '4680 W');
    expect(await valueOf(saw, 'Feeder', 'requiredAmpacity', 'A')).toBeCloseTo(39, 9);
  });

  it('adds both parts where they meet on one leg', async () => {
    const one = panel(70).replace('legs: L2', 'legs: L1');
    expect(await valueOf(one, 'Feeder', 'requiredAmpacity', 'A')).toBeCloseTo(1.25 * 28 + 32, 9);
  });

  it('counts the legs of small craft apart too', async () => {
    const afloat = (rating: number): string => panel(rating).replace('nec 2023', 'craft');
    expect(findingsOf(await analyseText(afloat(35)), 'protection-continuous')).toEqual([]);
    expect(findingsOf(await analyseText(afloat(34)), 'protection-continuous')).toHaveLength(1);
  });

  it('counts both on the one conductor of a direct-current feeder', async () => {
    const text = `design Hut {
  basis: nec 2023
  battery Bank { voltage: 12 V   capacity: 100 Ah   resistance: 5 mohm   protectionLow: 12 V   chargeLimit: 14.4 V }
  load Lamps { power: 240 W   supply: dc   minimumVoltage: 12 V }
  load Pump { power: 288 W   supply: dc   minimumVoltage: 12 V   continuous: no }
  bus Panel {}
  fuse F1 { class: T   rating: 50 A }
  run Feed: Bank -> F1 @ 0 m -> Panel { size: 6 AWG   type: THHN   length: 1 m }
  run ToLamps: Panel -> Lamps { size: 6 AWG   type: THHN   length: 1 m }
  run ToPump: Panel -> Pump { size: 6 AWG   type: THHN   length: 1 m }
}
`;
    expect(await valueOf(text, 'Feed', 'requiredAmpacity', 'A')).toBeCloseTo(1.25 * 20 + 24, 9);
  });
});

describe('a service', () => {
  // NEC 215.3: 60 A that last and 25 A that do not need 1.25 · 60 + 25 = 100 A on one leg; on two legs 75 A and 25 A.
  const house = (saw: string, leg: string): string =>
    panel(125)
      .replace('3360 W', '7200 W')
      .replace('3840 W', saw)
      .replace('legs: L2', `legs: ${leg}`)
      .replaceAll('8 AWG', '1/0 AWG');

  it('is rated for 125 % of what lasts and the rest, each leg by itself', async () => {
    expect(findingsOf(await analyseText(house('3000 W', 'L1')), 'shore-limit')).toEqual([]);
    const [finding] = findingsOf(await analyseText(house('3120 W', 'L1')), 'shore-limit');
    expect(lacking(finding?.told, 'needs 101 A')).toEqual([]);
    expect(findingsOf(await analyseText(house('3120 W', 'L2')), 'shore-limit')).toEqual([]);
  });
});

describe('gear listed for 100 % of its rating', () => {
  // NEC 210.20(A), 215.3, exceptions: an assembly with its device listed for 100 % needs no 125 %.
  const busy = (service: string, breaker = ''): string =>
    panel(100, service, breaker).replace('3360 W', '11400 W').replaceAll('8 AWG', '1/0 AWG');

  it('may carry all of it for hours, by its own statement or by that of the breaker behind it', async () => {
    // 95 A of 100 A: above 80 %.
    expect(findingsOf(await analyseText(busy('')), 'shore-limit')).toHaveLength(1);
    expect(findingsOf(await analyseText(busy('fullRating: yes')), 'shore-limit')).toEqual([]);
    expect(findingsOf(await analyseText(busy('', 'fullRating: yes')), 'shore-limit')).toEqual([]);
    const more = busy('fullRating: yes').replace('11400 W', '12120 W');
    expect(findingsOf(await analyseText(more), 'shore-limit')).toHaveLength(1);
  });

  it('counts for the conductors behind it', async () => {
    expect(await valueOf(busy(''), 'Feeder', 'requiredAmpacity', 'A')).toBeCloseTo(118.75, 6);
    expect(await valueOf(busy('', 'fullRating: yes'), 'Feeder', 'requiredAmpacity', 'A')).toBeCloseTo(95, 6);
  });
});
