import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';
import { isCharging } from '../../../language/src/quantities/supply/joined.js';

/** A vehicle on a pier, or on the road: an inverter that charges and passes its supply on, and a converter behind the engine. */
const coach = (inputLimit: string, more = ''): string => `design Coach {
  grid Shore { voltage: 120 V   rating: 30 A }
  inverter Inv {
    rated: 3 kW   voltage: 120 V   passThrough: yes   efficiency: 90 %   chargeEfficiency: 90 %   powerFactor: 1   absorb: 14 V
    currentLimit: 100 A   ${inputLimit}
  }
  battery Bank { chemistry: lfp   voltage: 12.8 V   capacity: 300 Ah }
  bus Dc {}
  load Cooler { power: 1.2 kW   voltage: 120 V   duty: 50 % }
  load Lights { power: 128 W   supply: dc }
  run Cord: Shore -> Inv.input
  run Out: Inv.ac -> Cooler
  run Feed: Bank -> Dc
  run InvFeed: Dc -> Inv.dc
  run LightsLine: Dc -> Lights
  ${more}
  require netChargeCurrent(Bank) >= 0 A
  require chargeTime(Bank, 20 %, 50 %) >= 0 h
}
`;
const ENGINE = `alternator Engine { currentLimit: 90 A   voltage: 14.2 V }
  battery Starter { chemistry: flooded   voltage: 12 V   capacity: 100 Ah }
  converter Booster { input: 11..16 V   output: 14.2 V   currentLimit: 30 A   efficiency: 90 % }
  run EngineLine: Engine -> Starter
  run BoosterIn: Starter -> Booster.in
  run BoosterOut: Booster.out -> Dc`;

async function leftOf(text: string): Promise<{ net: number; hours: number }> {
  const [net, time] = (await analyseText(text)).requirements;
  return { net: numberIn(net!.left!, 'A'), hours: numberIn(time!.left!, 'h') };
}

describe('current left for a bank', () => {
  it('is what its chargers give less what its loads take in the same source state', async () => {
    // On the pier the cooler runs on what is passed through: 100 A less 128 W / 12.8 V are left.
    const { net, hours } = await leftOf(coach(''));
    expect(net).toBeCloseTo(90, 9);
    // 0.3 · 300 Ah / (0.995 · 90 A): the efficiency of charging is that of the chemistry, from memory.
    expect(hours).toBeCloseTo(90 / (0.995 * 90), 6);
  });

  it('counts of an input limit what the loads that are passed through leave of it', async () => {
    // 15 A · 120 V less half of 1.2 kW are 1200 W; 1200 W · 0.9 / 14 V = 77.14 A.
    expect((await leftOf(coach('inputLimit: 15 A'))).net).toBeCloseTo(1080 / 14 - 10, 6);
    expect((await leftOf(coach('inputLimit: 20 A'))).net).toBeCloseTo(90, 9);
  });

  it('is that of the state in which most is left', async () => {
    expect((await leftOf(coach('', ENGINE))).net).toBeCloseTo(120, 9);
  });

  it('gets nothing from a converter behind an engine that stands still', async () => {
    const { context, system } = (await analyseText(coach('', ENGINE))).designs[0]!;
    const booster = system.instances.find(({ name }) => name === 'Booster')!;
    const charging = context.circuitStates
      .filter(({ state, circuit }) => isCharging(booster, context, state.dcSources, circuit.supply))
      .map(({ state }) => state.title);
    expect(charging).toEqual(['Engine charging', 'Shore connected, Engine charging']);
    expect(context.circuitStates.map(({ state }) => state.title)).toContain('Shore connected');
  });
});
