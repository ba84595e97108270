import { bySupplyOf, quantityOf, textOf, wordOf, wordsOf } from './define.js';
import { LEGS } from './legs.js';

/* Facts that several converters state. */

export const efficiency = quantityOf('efficiency', 'ratio', '%', 'Output power over input power at full load.', {
  minimum: 0.3,
  maximum: 1,
});

export const inputLimitFrom = bySupplyOf(
  'inputLimitFrom',
  'current',
  'A',
  'Input current limit to set while it is fed from a supply, for each supply that needs one of its own; it overrides `inputLimit`.',
  { minimum: 0 },
);

export const legs = wordsOf(
  'legs',
  LEGS,
  'The legs or phases it is connected to: `L1` for one that accepts several voltages and stands between one leg and neutral. Unless said, one leg and neutral when its voltage is that of one leg, else all.',
);

export const protocol = textOf('protocol', 'Protocol it speaks on its communication port.');

export const rate = quantityOf('rate', 'bitRate', 'kbit/s', 'Bit rate of its communication port.', { minimum: 0 });

export const address = quantityOf('address', 'ratio', '', 'Its address on the link.', {
  minimum: 0,
  maximum: 65535,
  whole: true,
});

export const setPoints = [
  quantityOf('absorb', 'voltage', 'V', 'Absorption (constant-voltage) set point.', { minimum: 0 }),
  quantityOf('float', 'voltage', 'V', 'Float set point.', { minimum: 0 }),
  quantityOf('equalise', 'voltage', 'V', 'Equalising set point, when equalising is enabled.', { minimum: 0 }),
  quantityOf(
    'temperatureCompensation',
    'voltagePerTemperature',
    'mV/K',
    'Change of the set points with temperature, for the whole bank (negative or zero).',
    { minimum: -1000, maximum: 0 },
  ),
];

/** When absorption ends and begins again; see `charge-stages.ts`. */
export const stages = [
  quantityOf(
    'absorbTime',
    'time',
    'h',
    'Longest time for which absorption is held; not stated: the tail current alone ends it.',
    {
      minimum: 0,
    },
  ),
  quantityOf(
    'tailCurrent',
    'current',
    'A',
    'Current at or below which absorption ends; not stated: the usual one of the banks it charges (5 % of the capacity per hour for lithium, 2 % for lead-acid).',
    { minimum: 0 },
  ),
  quantityOf('tailTime', 'time', 'min', 'Time for which the current stays at or below the tail before it floats.', {
    minimum: 0,
    default: '1 min',
    note: 'usual tail time; common practice, no source',
  }),
  quantityOf(
    'rebulk',
    'voltage',
    'V',
    'Voltage below which it leaves float and absorbs again; not stated: 97 % of the float voltage, for a minute.',
    { minimum: 0 },
  ),
  quantityOf(
    'equaliseInterval',
    'time',
    'd',
    'How often it equalises by itself: at the first end of absorption after that time; not stated: never by itself.',
    { minimum: 0 },
  ),
  quantityOf('equaliseTime', 'time', 'h', 'Time for which it holds the equalising voltage.', { minimum: 0 }),
];

export const lostLink = wordOf(
  'lostLink',
  {
    stop: 'stops charging or inverting',
    hold: 'holds the last limits received',
    defaults: 'falls back to its own set points',
  },
  'What it does when its link is lost.',
);

export const endOfCharge = wordOf(
  'endOfCharge',
  {
    setPoints: 'its own set points and stages',
    limits: 'the limits that the BMS sends over the link',
    disconnect: 'the disconnect of the BMS',
  },
  'What ends its charge; not stated: its own set points.',
);

export const acceptance = [
  quantityOf('thdLimit', 'ratio', '%', 'Highest distortion of the supply it accepts.', { minimum: 0, maximum: 1 }),
  wordOf(
    'accepts',
    { any: 'any waveform a generator makes', sine: 'needs a clean sine' },
    'Which supply waveform it accepts.',
  ),
];
