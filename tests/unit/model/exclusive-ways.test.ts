import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

/* Breakers with a mechanical interlock, cords of direct current at one inlet, and outlets of one machine. The designs are inventions. */

const panel = (interlock: string, scenario = ''): string => `design House {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  generator Genset { rated: 5 kW   apparent: 5 kVA   voltage: 120/240 V   neutralBond: floating   fuel: petrol }
  breaker MainBreaker { rating: 100 A   poles: 2   ${interlock} }
  breaker GenBreaker { rating: 30 A   poles: 2   ${interlock} }
  bus Panel { rating: 100 A   voltage: 120/240 V   terminals: 75 degC }
  load Lights { power: 900 W   voltage: 120 V   legs: L1   powerFactor: 1 }
  run Service: Mains -> MainBreaker -> Panel { size: 2 AWG   length: 10 m   conductors: 3 }
  run GenFeed: Genset -> GenBreaker -> Panel { size: 10 AWG   length: 5 m   conductors: 3 }
  run Line: Panel -> Lights { size: 12 AWG   length: 5 m   conductors: 2 }
  ${scenario}
}
`;
const KIT = 'interlock: "panel kit"';

const statesOf = async (text: string): Promise<string[]> => {
  const { designs } = await analyseText(text);
  return designs[0]!.context.circuitStates.map(({ state }) => state.id);
};

describe('breakers with an interlock', () => {
  it('exclude the states in which both sources feed', async () => {
    expect(await statesOf(panel(''))).toContain('Mains+Genset');
    expect(await statesOf(panel(KIT))).toEqual(['battery', 'Mains', 'Genset']);
    expect(findingsOf(await analyseText(panel('')), 'two-sources-one-bus')).not.toEqual([]);
    expect(findingsOf(await analyseText(panel(KIT)), 'two-sources-one-bus')).toEqual([]);
  });

  it('are two interlocks where their names differ', async () => {
    const two = panel(KIT).replace(KIT, 'interlock: "another kit"');
    expect(findingsOf(await analyseText(two), 'two-sources-one-bus')).not.toEqual([]);
  });

  it('let the bar behind them carry the larger of the two, not the sum', async () => {
    const rated = panel(KIT).replace('bus Panel { rating: 100 A', 'bus Panel { rating: 110 A');
    expect(findingsOf(await analyseText(rated), 'bus-rating')).toEqual([]);
  });

  it('ask a scenario which way is closed, and play that one', async () => {
    const scenario = (plugged: string): string =>
      `scenario Day { from: 2027-03-01   duration: 6 h   ${plugged}\n    require energy(Mains) > 5 kWh }`;
    const holds = async (plugged: string): Promise<(boolean | undefined)[]> =>
      (await analyseText(panel(KIT, scenario(plugged)))).requirements.map((each) => each.holds);
    expect(await holds('plugged(MainBreaker): Mains')).toEqual([true]);
    expect(await holds('plugged(GenBreaker): Genset')).toEqual([false]);
    const open = await analyseText(panel(KIT, scenario('')));
    expect(open.requirements[0]?.undecided).toMatch(/which way interlock "panel kit" has closed/);
    const wrong = await analyseText(panel('', scenario('plugged(MainBreaker): Mains')));
    expect(wrong.findings.map(({ message }) => message).join()).toMatch(/a breaker or switch with an interlock/);
  });
});

describe('cords of direct current at one inlet', () => {
  const array = (name: string, amperes: number): string =>
    `solar ${name} { power: ${20 * amperes} W   openCircuitVoltage: 24 V   shortCircuitCurrent: ${1.1 * amperes} A   maximumPowerVoltage: 20 V   maximumPowerCurrent: ${amperes} A   tilt: 30 deg   azimuth: 180 deg   series: 1   parallel: 1 }`;
  const van = (inlet: string): string => `design Van {
  site { altitude: 0 m   ambient: 10..30 degC   latitude: 45 deg   longitude: 10 deg }
  ${array('Near', 10)}
  ${array('Far', 5)}
  receptacle DcInlet { ${inlet} }
  chargeController Sun { tracking: mppt   currentLimit: 20 A   maximumCurrent: 20 A   maximumInputCurrent: 15 A   efficiency: 97 %   absorb: 14.2 V }
  battery Bank : Lfp12V100Ah { cellTemperature: 20 degC }
  run NearCord: Near -> DcInlet { size: 6 mm2   length: 5 m }
  run FarCord: Far -> DcInlet { size: 6 mm2   length: 10 m }
  run In: DcInlet -> Sun.solar { size: 6 mm2   length: 2 m }
  run Feed: Sun.dc -> Bank { size: 10 mm2   length: 1 m }
  scenario OfFar { from: 2027-06-01   duration: 1 d   soc(Bank): 20 %   sun: clear   plugged(DcInlet): Far
    require energy(Near) == 0 kWh
    require energy(Far) > 0.2 kWh
  }
}
`;

  it('are states of their own, of which none meets another', async () => {
    expect(await statesOf(van('oneCord: yes'))).toEqual(['battery', 'sun@NearCord', 'sun@FarCord']);
    expect(await statesOf(van(''))).toEqual(['battery', 'sun']);
  });

  it('bring the current of one array at a time', async () => {
    // 1.25 · 1.1 · 10 A is within 15 A, that of both is not.
    expect(findingsOf(await analyseText(van('')), 'string-current')).toHaveLength(1);
    expect(findingsOf(await analyseText(van('oneCord: yes')), 'string-current')).toEqual([]);
  });

  it('are played one at a time', async () => {
    expect((await analyseText(van('oneCord: yes'))).requirements.map(({ holds }) => holds)).toEqual([true, true]);
  });
});

describe('outlets of one machine', () => {
  const camp = (machine: string): string => `design Camp {
  generator Big { rated: 3 kW   apparent: 3 kVA   voltage: 230 V   ${machine}   tank: 10 L   burn: { 0 %: 0.4 L/h, 100 %: 1.6 L/h } }
  generator Small { rated: 3 kW   apparent: 3 kVA   voltage: 230 V   ${machine}   burn: { 0 %: 0.4 L/h, 100 %: 1.6 L/h } }
  battery Bank : Lfp48V280Ah { cellTemperature: 20 degC }
  load Stove { power: 600 W   powerFactor: 1 }
  load Heater { power: 900 W   powerFactor: 1 }
  run A: Big -> Stove { size: 2.5 mm2   length: 5 m }
  run B: Small -> Heater { size: 2.5 mm2   length: 5 m }
  control Start of Big { start when soc(Bank) < 40 %   stop when soc(Bank) > 80 % }
  scenario Day { from: 2027-03-01   duration: 10 h   soc(Bank): 30 %
    require unserved(Heater) == 0 kWh
    require runTime(Small) == 10 h
    require starts(Small) <= 1
    require fuel(Big) <= 10.1 L
    require fuel(Small) >= 9.9 L
  }
  let Lasts = Big.tankTime
}
`;

  it('turn together, and burn the fuel of one machine', async () => {
    // Half of the rating in all: 1 L/h, not 0.64 L/h and 0.76 L/h with the idle burn counted twice.
    const { requirements } = await analyseText(camp('machine: "open set"'));
    expect(requirements.map(({ holds, undecided }) => undecided ?? holds)).toEqual([true, true, true, true, true]);
    const apart = await analyseText(camp(''));
    expect(apart.requirements[0]?.holds).toBe(false);
  });

  it('draw on one tank', async () => {
    const { designs } = await analyseText(camp('machine: "open set"'));
    const { context, system } = designs[0]!;
    const big = system.instances.find(({ name }) => name === 'Big')!;
    const lasts = context.quantity(big, 'tankTime');
    // 10 L at 1 L/h; a thousandth less for what the conductors lose.
    const seconds = lasts.kind === 'known' ? numberIn(lasts.derivation, 's') : 0;
    expect(seconds).toBeLessThan(36_000);
    expect(seconds).toBeGreaterThan(35_950);
  });

  it('are one thing to rules: two controls of two outlets are two of one thing', async () => {
    const both = camp('machine: "open set"').replace(
      '  scenario Day',
      '  control Other of Small { start when soc(Bank) < 50 %   stop when soc(Bank) > 45 % and soc(Bank) < 46 % }\n  scenario Day',
    );
    const analysis = await analyseText(both);
    expect(askedBy(analysis, 'rules-conflict')).toEqual([]);
    expect(findingsOf(analysis, 'rules-conflict').length).toBeGreaterThan(0);
  });
});
