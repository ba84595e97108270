import { flagOf, quantityOf, wordOf } from './define.js';

/** What a load that is a motor says of itself, for its circuit under NEC 430. */
export const MOTOR = [
  wordOf(
    'motor',
    {
      'single-phase': 'one phase',
      'three-phase': 'three phases, squirrel cage',
      'design-b': 'three phases, design B energy-efficient or premium',
      'wound-rotor': 'three phases, wound rotor',
      synchronous: 'synchronous',
      'direct-current': 'direct current',
    },
    'What sort of motor it is, with a circuit of its own by NEC 430: conductors of 125 %, short-circuit and overload protection apart.',
  ),
  quantityOf('horsepower', 'power', 'hp', 'Rated shaft power of the motor; the NEC tells its current by it.', {
    minimum: 0,
    flavour: 'active',
  }),
  quantityOf('fullLoadCurrent', 'current', 'A', 'Full-load current by the nameplate of the motor.', { minimum: 0 }),
  quantityOf('serviceFactor', 'ratio', '', 'Service factor of the motor.', {
    minimum: 1,
    maximum: 2,
    default: '1',
    note: 'no reserve above nameplate power',
  }),
  quantityOf('overload', 'current', 'A', 'Setting of the overload protection of the motor.', { minimum: 0 }),
  flagOf('thermalProtection', 'Whether the motor has a thermal protector built in that opens on overload.'),
  flagOf(
    'groupListed',
    'Whether the motor, its controller and its overload protection are listed for group installation, several motors behind one device as large as it is.',
  ),
] as const;
