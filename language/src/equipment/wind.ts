import { none } from './capabilities.js';
import { COMMON, LOCATION, defineDevice, quantityOf, tableOf, wordOf } from './define.js';

export const WIND = defineDevice({
  kind: 'wind',
  group: 'source',
  doc: 'A wind turbine with its own rectifier and regulator, delivering direct current.',
  properties: [
    quantityOf('rated', 'power', 'W', 'Rated power, rectified.', { minimum: 0, flavour: 'active' }),
    tableOf(
      'powerCurve',
      'speed',
      'm/s',
      'power',
      'W',
      'Power by wind speed at hub height, rectified, in air of 1.225 kg/m³, from the data sheet: `{ 3 m/s: 0 W, 8 m/s: 700 W, 12 m/s: 2 kW, 20 m/s: 2 kW }`. Below the first speed and above the last it gives nothing.',
    ),
    quantityOf('hubHeight', 'length', 'm', 'Height of the hub above the ground.', {
      minimum: 0,
      aboveZero: true,
      maximum: 200,
    }),
    quantityOf('shear', 'ratio', '', 'Exponent α by which the wind grows with the height.', {
      minimum: 0,
      maximum: 0.6,
      default: '0.143',
      note: 'open ground; 0.2 crops and hedges, 0.25 woods, 0.3 small towns (from memory)',
    }),
    wordOf(
      'regulation',
      {
        stall: 'its blades stall: thin air lowers its power',
        pitch: 'its blades are turned or it is furled: thin air counts as less wind',
      },
      'What holds its power in strong wind.',
      { default: 'stall', note: 'not stated' },
    ),
    quantityOf(
      'month',
      'ratio',
      '',
      'Month by which its mean is reckoned, 1 to 12; the poorest where it is not stated.',
      { minimum: 1, maximum: 12, whole: true },
    ),
    quantityOf('voltage', 'voltage', 'V', 'Output voltage, with its range.', { minimum: 0, ranges: true }),
    quantityOf('currentLimit', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    wordOf(
      'heldBy',
      {
        diversion: 'a diversion load absorbs what the bank does not',
        furling: 'it furls, brakes or turns its blades by itself without a load',
        freewheel: 'built to run free without harm, as its data sheet says',
      },
      'What holds the turbine while the bank accepts less than it makes: without its load it runs away.',
    ),
    quantityOf('diversionPower', 'power', 'W', 'Power of the diversion load at the highest voltage of the bank.', {
      minimum: 0,
      flavour: 'active',
    }),
    LOCATION,
    ...COMMON,
  ],
  terminals: { dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: [{ at: 'dc', carries: 'dc', from: 'wind', heldBy: none }],
    charges: {
      at: 'dc',
      supply: {
        kind: 'own',
        regulates: false,
        drive: {
          by: 'wind',
          curve: 'powerCurve',
          rated: 'rated',
          currentLimit: 'currentLimit',
          voltage: 'voltage',
          hubHeight: 'hubHeight',
          shear: 'shear',
          regulation: 'regulation',
          month: 'month',
          held: { by: 'heldBy', diverting: 'diversion', power: 'diversionPower' },
          water: none,
        },
      },
      setPoints: ['voltage'],
      bounds: { setting: 'currentLimit', power: 'rated' },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [{ at: 'dc', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
