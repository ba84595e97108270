import { describe, expect, it } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { inverterInput } from '../../helpers/inverter-input.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';

/** A set that charges a bank with 60 A and carries, while it runs, the loads behind the inverter that passes its supply on. */
const hut = (more: string, passThrough = 'no'): string => `design D {
  generator Genset { rated: 6 kW   voltage: 230 V   burn: { 0 %: 0.5 L/h, 100 %: 2.5 L/h } }
  bus Ac {}
  charger Rect { currentLimit: 60 A   absorb: 56 V   efficiency: 100 %   powerFactor: 1 }
  battery Bank { voltage: 50 V   capacity: 300 Ah }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 80 %   passThrough: ${passThrough} }
  load House { power: 400 W   voltage: 230 V   powerFactor: 1 }
  load Fan { power: 100 W   supply: dc }
  bus Dc {}
  run Cord: Genset -> Ac
  run In: Ac -> Rect.ac
  run Pass: Ac -> Inv.input
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run InvFeed: Dc -> Inv.dc
  run FanLine: Dc -> Fan
  run HouseLine: Inv.ac -> House
  ${more}
}
`;

/** A that the house takes at 50 V, and both loads together. */
const house = inverterInput(400, { rated: 3000, efficiency: 0.8 }) / 50;
const both = house + 2;

describe('hours of a set in a day', () => {
  it('make up with what is left while it runs for what is drawn while it rests', async () => {
    // House 9.5 A and Fan 2 A while it rests and while it runs; no chemistry is stated, so no charge is lost.
    const text = hut('').replace('run Pass: Ac -> Inv.input', '');
    expect(await valueOf(text, 'Genset', 'dailyRunTime', 'h')).toBeCloseTo((24 * both) / 60, 9);
    // 60 A at 56 V: 3.36 kW, 56 % of the rating: 0.5 + 2 · 0.56 = 1.62 L/h.
    expect(await valueOf(text, 'Genset', 'dailyFuel', 'L')).toBeCloseTo(((24 * both) / 60) * 1.62, 9);
  });

  it('count loads that the set carries itself while it runs only while it rests', async () => {
    // Only the fan draws on the bus while the set runs.
    expect(await valueOf(hut('', 'yes'), 'Genset', 'dailyRunTime', 'h')).toBeCloseTo((24 * both) / (both + 58), 9);
  });

  it('lose a share of the charge by chemistry, and keep to what the bank accepts', async () => {
    const limited = hut('', 'yes')
      .replace('capacity: 300 Ah', 'capacity: 300 Ah   chemistry: lfp   maximumCharge: 30 A')
      .replace('bus Dc {}', 'bus Dc {}\n  link Bms: Bank -> Rect { medium: rs485 }');
    const time = await derivationOf(limited, 'Genset', 'dailyRunTime');
    const efficiency = time.inputs.find(({ name }) => name === 'charge efficiency')!;
    const stored = (efficiency.value as { value: number }).value;
    expect(stored).toBeLessThan(1);
    expect((time.value as { value: number }).value / 3600).toBeCloseTo((24 * both) / (both + stored * 30), 9);
    expect(governingText(time)).toBe('Bank, without sun, mains or vehicle; the bank’s own charge limit');
  });

  it('are not worked out where the loads draw all that the chargers give, or nothing is charged', async () => {
    const eaten = hut('').replace('currentLimit: 60 A', 'currentLimit: 11 A').replace('run Pass: Ac -> Inv.input', '');
    expect(await valueOf(eaten, 'Genset', 'dailyRunTime', 'h')).toBe(
      'refused the loads draw 11.47 A and the chargers give 11 A: the bank never fills',
    );
    const idle = hut('').replace('run In: Ac -> Rect.ac', '');
    expect(await valueOf(idle, 'Genset', 'dailyFuel', 'L')).toBe('missing a charger that Genset feeds');
  });
});
