import { describe, expect, it } from 'vitest';
import { type Derivation, numberIn } from '../../../language/src/index.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';

const design = (bank: string, rest = ''): string => `design D {
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   ${bank} }
  bus Dc {}
  run Feed: Bank -> Dc { size: 35 mm2   length: 1 m }
  ${rest}
}
`;
const load = (name: string, facts: string): string =>
  `load ${name} { supply: dc   ${facts} }\n  run To${name}: Dc -> ${name}`;

describe('stringShare of a bank', () => {
  it('is that of the function at the lowest resistance of its strings, with every share as a part', async () => {
    const text = design('resistance: 2..6 mohm   series: 2   parallel: 2   takeOff: end   jumper: 0.4 mohm');
    const share = await derivationOf(text, 'Bank', 'stringShare');
    // Two strings of 4 mΩ and a link of 0.4 mΩ in each pole: (1 + 2a)/(1 + a) at a = 0.1.
    expect(numberIn(share, '')).toBeCloseTo(1.2 / 1.1, 9);
    expect(numberIn(share.parts['string1']!, '')).toBeCloseTo(6 / 11, 9);
    expect(numberIn(share.parts['string2']!, '')).toBeCloseTo(5 / 11, 9);
  });

  it('is one for a single string and for a bus bar, whatever else lacks', async () => {
    expect(await valueOf(design(''), 'Bank', 'stringShare', '')).toBe(1);
    expect(await valueOf(design('parallel: 5   takeOff: busbar'), 'Bank', 'stringShare', '')).toBe(1);
    expect(await valueOf(design('parallel: 2'), 'Bank', 'stringShare', '')).toBe('missing takeOff of Bank');
    expect(await valueOf(design('parallel: 2   takeOff: end'), 'Bank', 'stringShare', '')).toBe(
      'missing resistance of Bank, jumper of Bank',
    );
  });
});

describe('dischargeCurrent of a bank', () => {
  it('adds what draws at the lowest voltage of the bank, loads and converters', async () => {
    const text = design(
      'protectionLow: 10 V',
      `${load('Pump', 'power: 100 W')}
  ${load('Lamp', 'power: 20 W   count: 2')}
  converter Down { input: 10..16 V   output: 5 V   currentLimit: 4 A   efficiency: 80 % }
  run In: Dc -> Down.in { size: 4 mm2   length: 1 m }`,
    );
    // 100 W and 40 W at 10 V, and 5 V · 4 A/(0.8 · 10 V).
    expect(
      await valueOf(
        text.replaceAll('supply: dc', 'supply: dc   minimumVoltage: 10 V'),
        'Bank',
        'dischargeCurrent',
        'A',
      ),
    ).toBeCloseTo(10 + 4 + 2.5, 9);
  });

  it('is nothing where nothing draws, and asks for what lacks', async () => {
    expect(await valueOf(design(''), 'Bank', 'dischargeCurrent', 'A')).toBe(0);
    expect(await valueOf(design('', load('Pump', '')), 'Bank', 'dischargeCurrent', 'A')).toBe('missing power of Pump');
  });
});

describe('autonomyTime of a bank', () => {
  it('is the charge down to the reserve over the mean load, in the cold by the published table', async () => {
    const text = (cells: string): string =>
      design(`reserve: 50 %   cellTemperature: ${cells}`, load('Radio', 'power: 12 W   profile: always'));
    expect(await valueOf(text('25 degC'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(50, 9);
    // Warm cells give no more than they are rated for.
    expect(await valueOf(text('35 degC'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(50, 9);
    // Handbook on uninterruptible supplies, p. 199: 0.91 at 10 °C for 20 h.
    expect(await valueOf(text('10..30 degC'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(45.5, 9);
  });

  it('has no value without a load, and names what it needs', async () => {
    const bank = 'reserve: 50 %   cellTemperature: 25 degC';
    expect(await valueOf(design(bank), 'Bank', 'autonomyTime', 'h')).toBe('missing a load of Bank');
    expect(await valueOf(design('', load('Radio', 'power: 12 W')), 'Bank', 'autonomyTime', 'h')).toBe(
      'missing reserve of Bank, cellTemperature of Bank',
    );
  });

  it('has figures for lithium iron phosphate in the cold, and says where they serve for other lithium', async () => {
    const text = (chemistry: string): string =>
      design('reserve: 50 %   cellTemperature: 0..30 degC', load('Radio', 'power: 12 W   profile: always')).replace(
        'chemistry: agm',
        `chemistry: ${chemistry}`,
      );
    // 88 % at 0 °C, from memory.
    expect(await valueOf(text('lfp'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(44, 9);
    expect(await valueOf(text('nmc'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(44, 9);
    const notes = (each: Derivation): readonly string[] => [...each.notes, ...each.inputs.flatMap(notes)];
    expect(notes(await derivationOf(text('nmc'), 'Bank', 'autonomyTime'))).toContain(
      'figures of lithium iron phosphate',
    );
  });
});
