import { describe, expect, it } from 'vitest';
import { bestOf, chooseText } from '../helpers/choose.js';

interface Open {
  readonly limit?: string;
  readonly parallel?: string;
  readonly start?: string;
  readonly more?: string;
}

/** An invented scene: a set that charges a bank and starts by its state of charge. */
const hut = ({ limit = '30 A', parallel = '1', start = '30 %', more = '' }: Open): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { rated: 3 kW   voltage: 120 V   fuel: diesel   tank: 20 L   waveform: inverter }
  charger Rect { input: 100..140 V   output: 44..58 V   maximumCurrent: 60 A   currentLimit: ${limit}   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { parallel: ${parallel}   takeOff: busbar   stringFuse: 150 A   cellTemperature: 20..25 degC   reserve: 20 % }
  load Radio { power: 300 W   supply: dc   profile: always }
  fuse F1 { class: T   rating: 40 A }
  run In: Genset -> Rect.ac { size: 12 AWG   length: 5 m   type: THHN   conductors: 2   terminals: 60 degC }
  run Charge: Rect.dc -> Bank { size: 4 AWG   length: 2 m   type: THHN   conductors: 2   terminals: 75 degC }
  run Wire: Bank -> F1 @ 100 mm -> Radio { size: 8 AWG   length: 3 m   type: THHN   conductors: 2   terminals: 75 degC }
  control Autostart of Genset { start when soc(Bank) < ${start}   stop when soc(Bank) > 80 % }
  ${more}
}
`;

describe('a count', () => {
  it('is the fewest that a requirement lets stand', async () => {
    // 280 Ah · 51.2 V = 14.3 kWh a string: three are 43 kWh, two 28.7 kWh.
    expect(await bestOf(hut({ parallel: '?', more: 'require Bank.energy >= 40 kWh' }))).toEqual({
      'Bank.parallel': '3',
    });
  });
});

describe('a setting', () => {
  it('is the highest that what feeds it and its conductors allow', async () => {
    const [design] = await chooseText(hut({ limit: '?' }));
    const [answer] = design!.answers;
    // 12 AWG on terminals of 60 °C carries 20 A (NEC 2023 Table 310.16, 240.4(D)); with 125 % for continuous use 16 A. At 56 V, 93 % and a power
    // factor of 0.98 16 A of 120 V are 31 A, of the lowest voltage fewer.
    const amperes = Number.parseFloat(answer!.values.get('Hut.Rect.currentLimit')!);
    expect(amperes).toBeGreaterThan(24);
    expect(amperes).toBeLessThanOrEqual(31);
    expect(answer!.heldBy[0]!.next).toBe(`${amperes + 1} A`);
    expect(answer!.heldBy[0]!.subject).toBe('Hut.In');
  });
});

describe('the limit of a rule', () => {
  it('is the middle of those that hold', async () => {
    const [design] = await chooseText(hut({ start: '?' }), { scenarios: 'leave' });
    const [answer] = design!.answers;
    const [held] = answer!.heldBy;
    // It stops above 80 %: ten percent apart is the least that is asked for, so that 70 % is the last.
    expect(held!.within).toEqual(['5 %', '70 %']);
    expect(answer!.values.get('Hut.Autostart.start')).toBe('35 %');
    expect(held!.check).toBe('threshold-gap');
  });

  it('keeps to its range', async () => {
    expect(await bestOf(hut({ start: '? in 40 %..50 %' }), { scenarios: 'leave' })).toEqual({
      'Autostart.start': '45 %',
    });
  });
});
