import { none } from './capabilities.js';
import { quantityOf, COMMON, defineDevice } from './define.js';

export const SOLAR = defineDevice({
  kind: 'solar',
  group: 'source',
  doc: 'An array of photovoltaic modules: strings of modules in series, strings in parallel.',
  properties: [
    quantityOf('power', 'power', 'W', 'Power of one module at standard test conditions.', {
      minimum: 0,
      flavour: 'active',
    }),
    quantityOf(
      'openCircuitVoltage',
      'voltage',
      'V',
      'Open-circuit voltage of one module at standard test conditions.',
      { minimum: 0 },
    ),
    quantityOf(
      'shortCircuitCurrent',
      'current',
      'A',
      'Short-circuit current of one module at standard test conditions.',
      { minimum: 0 },
    ),
    quantityOf('maximumPowerVoltage', 'voltage', 'V', 'Voltage of one module at maximum power.', { minimum: 0 }),
    quantityOf('maximumPowerCurrent', 'current', 'A', 'Current of one module at maximum power.', { minimum: 0 }),
    quantityOf('series', 'ratio', '', 'Modules in series in one string.', {
      minimum: 1,
      maximum: 200,
      whole: true,
      default: '1',
      note: 'one module',
    }),
    quantityOf('parallel', 'ratio', '', 'Strings in parallel.', {
      minimum: 1,
      maximum: 1000,
      whole: true,
      default: '1',
      note: 'one string',
    }),
    quantityOf(
      'voltageCoefficient',
      'ratioPerTemperature',
      '%/K',
      'Change of open-circuit voltage with temperature (negative).',
      { minimum: -2, maximum: 0 },
    ),
    quantityOf(
      'powerCoefficient',
      'ratioPerTemperature',
      '%/K',
      'Change of maximum power with temperature (negative).',
      { minimum: -2, maximum: 0 },
    ),
    quantityOf('seriesFuse', 'current', 'A', 'Largest series fuse the module allows.', { minimum: 0 }),
    quantityOf('stringFuse', 'current', 'A', 'Rating of the fuse that each string in parallel has of its own.', {
      minimum: 0,
    }),
    quantityOf('noct', 'temperature', 'degC', 'Nominal operating cell temperature.', { minimum: 20, maximum: 90 }),
    quantityOf('tilt', 'angle', 'deg', 'Tilt from the horizontal.', { minimum: 0, maximum: 90 }),
    quantityOf('azimuth', 'angle', 'deg', 'Direction the modules face, from north eastward.', {
      minimum: 0,
      maximum: 360,
    }),
    ...COMMON,
  ],
  terminals: { dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: [{ at: 'dc', carries: 'dc', from: 'sun', heldBy: none }],
    charges: {
      at: 'dc',
      supply: { kind: 'own', drive: none, regulates: false },
      setPoints: [],
      isUnregulated: true,
      bounds: {},
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
