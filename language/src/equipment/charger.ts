import { none } from './capabilities.js';
import { flagOf, partOf, quantityOf, wordOf, COMMON, defineDevice } from './define.js';
import { efficiency, inputLimitFrom, legs, protocol, rate, address, setPoints, lostLink, acceptance } from './converter-facts.js';
import { TERMINATION } from './terminations.js';

export const CHARGER = defineDevice({
  kind: 'charger',
  group: 'converter',
  doc: 'An AC-to-DC charger (rectifier) that charges the bank.',
  properties: [
    quantityOf('input', 'voltage', 'V', 'Window of supply voltage it accepts.', { minimum: 0, ranges: true }),
    quantityOf('frequency', 'frequency', 'Hz', 'Window of supply frequency it accepts.', { minimum: 0, ranges: true }),
    wordOf('phases', { single: 'line and neutral, or line and line', three: 'three-phase' }, 'Supply phases.', {
      default: 'single',
      note: 'single-phase input',
    }),
    ...acceptance,
    quantityOf('output', 'voltage', 'V', 'Range of output voltage it can be set to.', { minimum: 0, ranges: true }),
    quantityOf('maximumCurrent', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    quantityOf('maximumPower', 'power', 'W', 'Highest output power.', { minimum: 0, flavour: 'active' }),
    quantityOf('currentLimit', 'current', 'A', 'Output current limit as set.', { minimum: 0 }),
    quantityOf('inputLimit', 'current', 'A', 'Input current limit as set.', { minimum: 0 }),
    inputLimitFrom,
    quantityOf('maximumInputCurrent', 'current', 'A', 'Highest input current by data sheet.', { minimum: 0 }),
    ...setPoints,
    efficiency,
    flagOf('powerFactorCorrection', 'Whether the input stage corrects its power factor.'),
    quantityOf('powerFactor', 'ratio', '', 'True power factor of the input at full load.', {
      minimum: 0.3,
      maximum: 1,
    }),
    quantityOf('ramp', 'time', 's', 'Time from start to full output.', { minimum: 0 }),
    flagOf('remoteSense', 'Whether it measures voltage at the bank by sense leads or by the link.', {
      default: 'no',
      note: 'no sense leads stated',
    }),
    partOf('plug', ['plug'], 'Its input plug, when it has one.'),
    legs,
    protocol,
    rate,
    address,
    lostLink,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: { ac: { carries: 'ac', direction: 'in' }, dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: none,
    charges: {
      at: 'dc',
      supply: { kind: 'alternating', at: 'ac' },
      setPoints: ['absorb', 'float', 'equalise'],
      bounds: {
        setting: 'currentLimit',
        rating: 'maximumCurrent',
        power: 'maximumPower',
        inputSetting: 'inputLimit',
        inputRating: 'maximumInputCurrent',
        efficiency: 'efficiency',
        powerFactor: 'powerFactor',
        temperatureCompensation: 'temperatureCompensation',
      },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: [{ at: 'ac', to: 'charge' }],
    drivesFault: [{ at: 'dc', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: 'switched',
  },
});
