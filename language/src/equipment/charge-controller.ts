import { none } from './capabilities.js';
import { quantityOf, wordOf, COMMON, LOCATION, defineDevice, highestCurrent } from './define.js';
import { efficiency, protocol, rate, address, setPoints, stages, lostLink, endOfCharge } from './converter-facts.js';
import { TERMINATION } from './terminations.js';

export const CHARGE_CONTROLLER = defineDevice({
  kind: 'chargeController',
  group: 'converter',
  doc: 'A controller between a solar array and the bank.',
  properties: [
    quantityOf('maximumVoltage', 'voltage', 'V', 'Highest array voltage it survives.', { minimum: 0 }),
    quantityOf('window', 'voltage', 'V', 'Array voltages in which it works.', { minimum: 0, ranges: true }),
    quantityOf('maximumCurrent', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    quantityOf('currentLimit', 'current', 'A', 'Output current limit as set.', {
      minimum: 0,
      seek: highestCurrent('maximumCurrent'),
    }),
    quantityOf('maximumInputCurrent', 'current', 'A', 'Highest array short-circuit current.', { minimum: 0 }),
    wordOf(
      'tracking',
      { mppt: 'maximum power point tracking', pwm: 'switches the array onto the bank' },
      'How it draws power from the array.',
    ),
    ...setPoints,
    ...stages,
    efficiency,
    protocol,
    rate,
    address,
    lostLink,
    endOfCharge,
    ...TERMINATION,
    LOCATION,
    ...COMMON,
  ],
  terminals: { solar: { carries: 'dc', direction: 'in' }, dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: none,
    charges: {
      at: 'dc',
      supply: { kind: 'array', at: 'solar' },
      setPoints: ['absorb', 'float', 'equalise'],
      bounds: {
        setting: 'currentLimit',
        rating: 'maximumCurrent',
        efficiency: 'efficiency',
        temperatureCompensation: 'temperatureCompensation',
      },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [{ at: 'dc', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: 'switched',
  },
});
