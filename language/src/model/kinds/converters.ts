import {
  COMMON,
  type KindDefinition,
  flagIn,
  flagOf,
  partOf,
  quantityOf,
  systemOf,
  terminal,
  textOf,
  wordOf,
  wordsOf,
} from './define.js';
import { LEGS } from './sources.js';
import { TERMINATION } from './terminations.js';

const efficiency = quantityOf('efficiency', 'ratio', '%', 'Output power over input power at full load.', {
  minimum: 0.3,
  maximum: 1,
});
const legs = wordsOf(
  'legs',
  LEGS,
  'The legs or phases it is connected to; one leg and neutral when its voltage is that of one leg, else all.',
);
const protocol = textOf('protocol', 'Protocol it speaks on its communication port.');
const rate = quantityOf('rate', 'bitRate', 'kbit/s', 'Bit rate of its communication port.', { minimum: 0 });
const address = quantityOf('address', 'ratio', '', 'Its address on the link.', {
  minimum: 0,
  maximum: 65535,
  whole: true,
});

const setPoints = [
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

const lostLink = wordOf(
  'lostLink',
  {
    stop: 'stops charging or inverting',
    hold: 'holds the last limits received',
    defaults: 'falls back to its own set points',
  },
  'What it does when its link is lost.',
);

const acceptance = [
  quantityOf('thdLimit', 'ratio', '%', 'Highest distortion of the supply it accepts.', { minimum: 0, maximum: 1 }),
  wordOf(
    'accepts',
    { any: 'any waveform a generator makes', sine: 'needs a clean sine' },
    'Which supply waveform it accepts.',
  ),
];

export const CHARGER: KindDefinition = {
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
  terminals: () => [terminal('ac', 'ac', 'in'), terminal('dc', 'dc', 'out')],
};

export const INVERTER: KindDefinition = {
  kind: 'inverter',
  group: 'converter',
  doc: 'A DC-to-AC inverter that carries the loads from the bank; it may pass a supply through and have a charger built in.',
  properties: [
    quantityOf('rated', 'power', 'W', 'Continuous active power.', { minimum: 0, flavour: 'active' }),
    quantityOf('apparent', 'power', 'VA', 'Continuous apparent power.', { minimum: 0, flavour: 'apparent' }),
    quantityOf('surge', 'power', 'W', 'Surge power.', { minimum: 0, flavour: 'active' }),
    quantityOf('surgeTime', 'time', 's', 'How long it gives surge power.', { minimum: 0 }),
    systemOf('voltage', 'Output voltage or system.'),
    quantityOf('tolerance', 'ratio', '%', 'How far the output voltage may stray from nominal.', {
      minimum: 0,
      maximum: 0.5,
      default: '2 %',
      note: 'regulated output; common practice, no source',
    }),
    quantityOf('frequency', 'frequency', 'Hz', 'Output frequency.', { minimum: 40, maximum: 70 }),
    wordOf('waveform', { sine: 'sine wave', modified: 'stepped wave' }, 'Waveform of the output.'),
    quantityOf('dcVoltage', 'voltage', 'V', 'Window of battery voltage it runs in.', { minimum: 0, ranges: true }),
    quantityOf('cutOff', 'voltage', 'V', 'Low-voltage cut-off as set.', { minimum: 0 }),
    quantityOf('reconnect', 'voltage', 'V', 'Voltage at which it starts again after a cut-off.', { minimum: 0 }),
    efficiency,
    quantityOf('idle', 'power', 'W', 'Draw without load.', { minimum: 0, flavour: 'active' }),
    quantityOf('onTime', 'time', 'h', 'Hours of the day in which it is switched on.', {
      minimum: 0,
      maximum: 24,
      default: '24 h',
      note: 'not stated: on all day',
    }),
    flagOf('passThrough', 'Whether it passes a supply at its input through to its output.', {
      default: 'no',
      note: 'an inverter without transfer',
    }),
    quantityOf('transferRating', 'current', 'A', 'Current its transfer relay passes.', { minimum: 0 }),
    wordOf(
      'neutralBond',
      { bonded: 'always bonded inside', floating: 'never bonded inside', switched: 'bonded only while inverting' },
      'How the output neutral is bonded to the frame.',
    ),
    quantityOf('inputCapacitance', 'capacitance', 'mF', 'Capacitance at the DC input.', { minimum: 0 }),
    flagOf('precharge', 'Whether the input capacitance is charged through a resistor before the contactor closes.'),
    quantityOf(
      'currentLimit',
      'current',
      'A',
      'Charging current limit of the built-in charger; states that there is one.',
      { minimum: 0 },
    ),
    quantityOf('inputLimit', 'current', 'A', 'Input current limit as set.', { minimum: 0 }),
    ...setPoints,
    quantityOf('chargeEfficiency', 'ratio', '%', 'Efficiency of the built-in charger.', { minimum: 0.3, maximum: 1 }),
    quantityOf('powerFactor', 'ratio', '', 'Input power factor of the built-in charger.', { minimum: 0.3, maximum: 1 }),
    quantityOf('input', 'voltage', 'V', 'Window of supply voltage it accepts.', { minimum: 0, ranges: true }),
    ...acceptance,
    legs,
    protocol,
    rate,
    address,
    lostLink,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: (properties) => [
    terminal('dc', 'dc', 'both'),
    terminal('ac', 'ac', 'out'),
    ...(flagIn(properties, 'passThrough') || properties.has('currentLimit') ? [terminal('input', 'ac', 'in')] : []),
  ],
};

export const CHARGE_CONTROLLER: KindDefinition = {
  kind: 'chargeController',
  group: 'converter',
  doc: 'A controller between a solar array and the bank.',
  properties: [
    quantityOf('maximumVoltage', 'voltage', 'V', 'Highest array voltage it survives.', { minimum: 0 }),
    quantityOf('window', 'voltage', 'V', 'Array voltages in which it works.', { minimum: 0, ranges: true }),
    quantityOf('maximumCurrent', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    quantityOf('currentLimit', 'current', 'A', 'Output current limit as set.', { minimum: 0 }),
    quantityOf('maximumInputCurrent', 'current', 'A', 'Highest array short-circuit current.', { minimum: 0 }),
    wordOf(
      'tracking',
      { mppt: 'maximum power point tracking', pwm: 'switches the array onto the bank' },
      'How it takes power from the array.',
    ),
    ...setPoints,
    efficiency,
    protocol,
    rate,
    address,
    lostLink,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: () => [terminal('solar', 'dc', 'in'), terminal('dc', 'dc', 'out')],
};

export const CONVERTER: KindDefinition = {
  kind: 'converter',
  group: 'converter',
  doc: 'A DC-to-DC converter.',
  properties: [
    quantityOf('input', 'voltage', 'V', 'Window of input voltage.', { minimum: 0, ranges: true }),
    quantityOf('output', 'voltage', 'V', 'Output voltage.', { minimum: 0, ranges: true }),
    quantityOf('currentLimit', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    efficiency,
    flagOf('isolated', 'Whether input and output are isolated from each other.'),
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: () => [terminal('in', 'dc', 'in'), terminal('out', 'dc', 'out')],
};
