import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const ID = 'voltage-drop';
interface Outcome {
  readonly found: number;
  readonly asked: readonly string[];
}
async function outcome(text: string): Promise<Outcome> {
  const analysis = await analyseText(text);
  return { found: findingsOf(analysis, ID).length, asked: askedBy(analysis, ID).map((fact) => fact.split(' ')[0]!) };
}

/*
 * Craft: ABYC E-11 as quoted in an appendix: 3 % for panel feeders, bilge blowers, electronics and navigation lights, 10 % for the rest.
 * 14 AWG copper of 20 °C has 0.01724/2.081 ohm/m = 8.28 mohm/m, at 75 °C 1.2161 times that, 10.07 mohm/m; 36 W at the 10 V at which the
 * bank protects itself are 3.6 A, which lose 2 · 3.6 A · 10.07 mohm/m = 72.5 mV/m; 3 % of 12.8 V are 384 mV (5.3 m), 10 % 1.28 V (17.6 m).
 */
describe('the limits of the voltage drop aboard', () => {
  const sloop = (length: number, load: string): string => `design Sloop {
  basis: craft
  battery House : Lfp12V100Ah
  fuse F1 { class: BladeFuse32V   rating: 10 A }
  load Lamp { power: 36 W   supply: dc   minimumVoltage: 10 V   ${load} }
  run Line: House -> F1 @ 100 mm -> Lamp { size: 14 AWG   type: CraftPrimary105   length: ${length} m }
}
`;
  it.each(['navigation-lights', 'bilge-blower', 'electronics'])('3 %% for %s', async (use) => {
    expect(await outcome(sloop(5.2, `use: ${use}`))).toEqual({ found: 0, asked: [] });
    expect(await outcome(sloop(5.5, `use: ${use}`))).toEqual({ found: 1, asked: [] });
  });

  it('10 % for what is said to be something else', async () => {
    expect(await outcome(sloop(17, 'use: other'))).toEqual({ found: 0, asked: [] });
    expect(await outcome(sloop(18, 'use: other'))).toEqual({ found: 1, asked: [] });
  });

  it.each(['', 'lighting: yes'])('asks what the load is where it decides, `%s`', async (load) => {
    expect(await outcome(sloop(5.2, load))).toEqual({ found: 0, asked: [] });
    expect(await outcome(sloop(5.5, load))).toEqual({ found: 0, asked: ['use'] });
    expect(await outcome(sloop(17, load))).toEqual({ found: 0, asked: ['use'] });
    expect((await outcome(sloop(18, load))).found).toBe(1);
  });

  it('asks nothing where the design sets its own limit', async () => {
    expect(await outcome(sloop(5.5, '').replace('basis: craft', 'basis: craft\n  dcDropLimit: 5 %'))).toEqual({
      found: 0,
      asked: [],
    });
  });
});

/*
 * NEC Chapter 9 Table 9, 750 kcmil copper: 0.019 ohm/kft in PVC, 0.024 in aluminium, 0.021 in steel conduit; reactance 0.038 and 0.048.
 * At a power factor of 0.8 lagging 0.8 · R + 0.6 · X: 0.038, 0.042, 0.0456 ohm/kft.
 */
describe('the impedance by raceway', () => {
  const barn = (length: number, facts: string, powerFactor = 0.8): string => `design Barn {
  basis: nec 2023
  grid Mains { voltage: 277/480 V   rating: 600 A }
  breaker B1 { rating: 500 A }
  load Press { power: 266 kW   powerFactor: ${powerFactor}   legs: L1, L2, L3 }
  run Line: Mains -> B1 -> Press { size: 750 kcmil   type: THWN-2   length: ${length} m   ${facts} }
}
`;
  const dropAt = async (facts: string, powerFactor = 0.8): Promise<number> => {
    const { system, context } = (await analyseText(barn(100, facts, powerFactor))).designs[0]!;
    const result = context.quantity(system.runs[0]!, 'voltageDrop');
    if (result.kind !== 'known') throw new Error(JSON.stringify(result));
    const current = context.quantity(system.runs[0]!, 'current');
    if (current.kind !== 'known') throw new Error(JSON.stringify(current));
    return numberIn(result.derivation, 'V') / numberIn(current.derivation, 'A') / Math.sqrt(3) / 100;
  };
  /** ohm per 1000 ft as ohm per metre. */
  const perMetre = (value: number): number => value / 304.8;

  it.each([
    ['raceway: pvc', 0.8 * 0.019 + 0.6 * 0.038],
    ['raceway: none', 0.8 * 0.019 + 0.6 * 0.038],
    ['', 0.8 * 0.019 + 0.6 * 0.038],
    ['raceway: aluminium', 0.8 * 0.024 + 0.6 * 0.038],
    ['raceway: steel', 0.8 * 0.021 + 0.6 * 0.048],
    ['metalRaceway: yes', 0.8 * 0.021 + 0.6 * 0.048],
  ])('of `%s`', async (facts, expected) => {
    expect(await dropAt(facts)).toBeCloseTo(perMetre(expected), 8);
  });

  it('counts the power factor at which the drop is most, from that of the load up to 1', async () => {
    // The angle of the conductors in PVC: cos = R/Z = 0.019/0.0425 = 0.447; a load of 0.3 may run together with better ones.
    expect(await dropAt('raceway: pvc', 0.3)).toBeCloseTo(perMetre(Math.hypot(0.019, 0.038)), 7);
    expect(await dropAt('raceway: pvc', 1)).toBeCloseTo(perMetre(0.019), 8);
  });

  it('is asked for where it decides', async () => {
    // 266 kW / (√3 · 480 V · 0.8) = 400 A; 3 % of 480 V are 14.4 V.
    const longest = (ohms: number): number => 14.4 / (Math.sqrt(3) * 399.94 * perMetre(ohms));
    const [pvc, steel] = [longest(0.038), longest(0.0456)];
    expect(await outcome(barn(steel - 0.3, ''))).toEqual({ found: 0, asked: [] });
    expect(await outcome(barn(steel + 0.3, ''))).toEqual({ found: 0, asked: ['raceway'] });
    expect(await outcome(barn(steel + 0.3, 'raceway: steel'))).toEqual({ found: 1, asked: [] });
    expect(await outcome(barn(steel + 0.3, 'raceway: pvc'))).toEqual({ found: 0, asked: [] });
    expect((await outcome(barn(pvc + 0.3, ''))).found).toBe(1);
  });
});
