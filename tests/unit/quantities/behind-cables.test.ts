import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';

/** NEC Chapter 9 Table 8, stranded copper at 75 °C: ohm per metre of 6 AWG (0.491 per 1000 ft) and of 2 AWG (0.194). */
const SIX = 0.491 / 304.8;
const TWO = 0.194 / 304.8;

const barn = (things: string, bank = ''): string => `design Barn {
  basis: nec 2023
  battery Bank { voltage: 24 V   protectionLow: 20 V   ${bank} }
  bus Bar {}
  ${things}
}
`;

/** The smaller solution of P = (U − R·I)·I. */
const root = (ohms: number, watts: number, volts: number): number =>
  (volts - Math.sqrt(volts * volts - 4 * ohms * watts)) / (2 * ohms);

const amperes = (text: string, run: string) => valueOf(text, run, 'current', 'A');

describe('current of a run to a direct load', () => {
  const winch = (facts: string, size = 'size: 6 AWG   length: 5 m'): string =>
    barn(`load Winch { power: 800 W   supply: dc   ${facts} }
  run Line: Bank -> Winch { ${size} }`);

  it('is that at which the load takes its power behind the drop, the bank at its lowest', async () => {
    expect(await amperes(winch(''), 'Line')).toBeCloseTo(root(10 * SIX, 800, 20), 6);
  });

  it('shows the drop as a term, and it is the drop of the run', async () => {
    const current = await derivationOf(winch(''), 'Line', 'current');
    const drop = numberIn(await derivationOf(winch(''), 'Line', 'voltageDrop'), 'V');
    expect(drop).toBeCloseTo(10 * SIX * root(10 * SIX, 800, 20), 6);
    const terms = JSON.stringify(current);
    expect(terms).toContain('drop in Line');
    expect(numberIn(current, 'A')).toBeCloseTo(800 / (20 - drop), 6);
  });

  it('counts no drop where size or length is not stated', async () => {
    expect(await amperes(winch('', 'size: 6 AWG'), 'Line')).toBeCloseTo(40, 9);
    expect(await amperes(winch('', 'length: 5 m'), 'Line')).toBeCloseTo(40, 9);
  });

  it('is no more than at the voltage below which the load does not run', async () => {
    expect(await amperes(winch('minimumVoltage: 19.5 V'), 'Line')).toBeCloseTo(800 / 19.5, 6);
    expect(await amperes(winch('minimumVoltage: 21 V'), 'Line')).toBeCloseTo(40, 6);
    // Below what is left nothing is held.
    expect(await amperes(winch('minimumVoltage: 12 V'), 'Line')).toBeCloseTo(root(10 * SIX, 800, 20), 6);
  });

  it('is that at half of the voltage where the cables carry no such power', async () => {
    // U²/4R = 400/(4 · 5 · 16.1 mohm): 20 m of 6 AWG.
    const most = 400 / (4 * 40 * SIX);
    const of = (watts: number): string => winch('', 'size: 6 AWG   length: 20 m').replace('800 W', `${watts} W`);
    expect(await amperes(of(most * 0.9999), 'Line')).toBeLessThan((2 * most) / 20);
    expect(await amperes(of(most * 1.2), 'Line')).toBeCloseTo((2 * most * 1.2) / 20, 6);
  });

  it('grows with the length, and its power arrives', async () => {
    await fc.assert(
      fc.asyncProperty(fc.double({ min: 0.1, max: 9, noNaN: true }), async (length) => {
        const of = async (metres: number): Promise<number> =>
          Number(await amperes(winch('', `size: 6 AWG   length: ${metres.toFixed(4)} m`), 'Line'));
        const [short, long] = [await of(length), await of(length * 1.1)];
        expect(long).toBeGreaterThan(short);
        expect((20 - 2 * Number(length.toFixed(4)) * SIX * short) * short).toBeCloseTo(800, 4);
      }),
      { numRuns: 12 },
    );
  });
});

describe('current of a cable that several share', () => {
  const two = barn(`load Winch { power: 600 W   supply: dc }
  load Lamps { power: 200 W   supply: dc }
  run Main: Bank -> Bar { size: 2 AWG   length: 4 m }
  run ToWinch: Bar -> Winch { size: 6 AWG   length: 3 m }
  run ToLamps: Bar -> Lamps { size: 6 AWG   length: 5 m }`);

  it('counts for each what the others draw over it at the lowest voltage', async () => {
    const main = 8 * TWO;
    const winch = root(main + 6 * SIX, 600, 20 - main * (200 / 20));
    const lamps = root(main + 10 * SIX, 200, 20 - main * (600 / 20));
    expect(await amperes(two, 'ToWinch')).toBeCloseTo(winch, 6);
    expect(await amperes(two, 'ToLamps')).toBeCloseTo(lamps, 6);
    expect(await amperes(two, 'Main')).toBeCloseTo(winch + lamps, 6);
  });

  it('of two banks counts the longer cable alone, since the other may be out', async () => {
    const text = barn(
      `battery Other { voltage: 24 V   protectionLow: 20 V   resistance: 5 mohm }
  load Winch { power: 600 W   supply: dc }
  run Main: Bank -> Bar { size: 2 AWG   length: 1 m }
  run Beside: Other -> Bar { size: 2 AWG   length: 4 m }
  run ToWinch: Bar -> Winch { size: 6 AWG   length: 3 m }`,
      'resistance: 5 mohm',
    );
    expect(await amperes(text, 'ToWinch')).toBeCloseTo(root(8 * TWO + 6 * SIX, 600, 20), 6);
  });

  it('behind a converter begins at its output', async () => {
    const text = barn(`converter Down { input: 18..32 V   output: 12 V   currentLimit: 20 A   efficiency: 80 % }
  load Lamps { power: 120 W   supply: dc }
  run In: Bank -> Down.in { size: 6 AWG   length: 1 m }
  run Out: Down.out -> Lamps { size: 6 AWG   length: 5 m }`);
    expect(await amperes(text, 'Out')).toBeCloseTo(root(10 * SIX, 120, 12), 6);
  });
});
