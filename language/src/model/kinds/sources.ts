import {
  COMMON,
  type KindDefinition,
  flagOf,
  partOf,
  quantityOf,
  systemOf,
  tableOf,
  terminal,
  textOf,
  wordIn,
  wordOf,
  wordsOf,
} from './define.js';

export const LEGS = { L1: 'first leg or phase', L2: 'second leg or phase', L3: 'third phase' };

const neutralBond = wordOf(
  'neutralBond',
  { bonded: 'neutral and frame (earth) are joined inside', floating: 'neutral is not joined to the frame' },
  'Whether the neutral is bonded to the frame inside this source. Exactly one bond must exist in each source state.',
);

const legs = wordsOf('legs', LEGS, 'The legs or phases that are connected; all of them when not said.');

const tolerance = quantityOf(
  'tolerance',
  'ratio',
  '%',
  'How far the voltage may stray from nominal in steady running.',
  {
    minimum: 0,
    maximum: 0.5,
    default: '5 %',
    note: 'ISO 8528-5 class G1 and ANSI C84.1 range A, ±5 %',
  },
);

const frequency = quantityOf('frequency', 'frequency', 'Hz', 'Frequency of the output.', {
  minimum: 40,
  maximum: 70,
  ranges: true,
});

export const GENERATOR: KindDefinition = {
  kind: 'generator',
  group: 'source',
  doc: 'A generating set: engine with alternator, or with an inverter output stage.',
  properties: [
    quantityOf(
      'rated',
      'power',
      'W',
      'Continuous (running) active power at reference conditions, not the starting figure.',
      { minimum: 0, flavour: 'active' },
    ),
    quantityOf('apparent', 'power', 'VA', 'Continuous apparent power of the alternator.', {
      minimum: 0,
      flavour: 'apparent',
    }),
    quantityOf('surge', 'power', 'W', 'Power for motor starting, a few seconds.', { minimum: 0, flavour: 'active' }),
    systemOf('voltage', 'Nominal voltage or system, such as 230 V, 120/240 V or three 400 V.'),
    tolerance,
    frequency,
    wordOf(
      'waveform',
      { conventional: 'alternator feeds the outlet directly', inverter: 'an output stage forms the wave' },
      'How the alternating voltage is made.',
    ),
    quantityOf('thd', 'ratio', '%', 'Total harmonic distortion of the voltage.', { minimum: 0, maximum: 1 }),
    quantityOf(
      'cleanShare',
      'ratio',
      '%',
      'Share of rated power up to which the waveform stays clean under rectifier load. When not stated: 60 % for a conventional alternator (common practice, no source), 100 % for an inverter type.',
      { minimum: 0, maximum: 1 },
    ),
    quantityOf('powerFactor', 'ratio', '', 'Rated power factor of the alternator.', { minimum: 0.1, maximum: 1 }),
    wordOf(
      'fuel',
      { petrol: 'petrol (gasoline)', diesel: 'diesel fuel', propane: 'propane (LPG)', naturalGas: 'natural gas' },
      'Fuel it runs on.',
    ),
    wordOf(
      'ratedFuel',
      { petrol: 'petrol (gasoline)', diesel: 'diesel fuel', propane: 'propane (LPG)', naturalGas: 'natural gas' },
      'Fuel for which the rating holds, when that is not the fuel it runs on.',
    ),
    quantityOf('tank', 'volume', 'L', 'Usable fuel in the tank.', { minimum: 0 }),
    quantityOf('plannedRun', 'time', 'h', 'How long it is to run between two fillings of its tank.', { minimum: 0 }),
    quantityOf(
      'vaporisation',
      'flow',
      'L/h',
      'Gas its cylinders or tank give off in the cold, as litres of liquid in an hour (propane; by the supplier’s table for their size, filling and the lowest temperature).',
      { minimum: 0 },
    ),
    tableOf('burn', ['ratio', 'power'], '%', 'flow', 'L/h', 'Fuel burnt at shares of rated power.'),
    partOf('outlet', ['plug'], 'The receptacle through which it is loaded.'),
    quantityOf('breaker', 'current', 'A', 'Rating of the breaker built into the set.', { minimum: 0 }),
    flagOf('integralProtection', 'Whether the set limits or interrupts its own overcurrent at its terminals.'),
    wordOf(
      'remoteStart',
      {
        none: 'started by hand only',
        'two-wire': 'runs while a contact is closed',
        'three-wire': 'separate start and stop contacts',
        bus: 'by message over a link',
      },
      'How it can be started from afar.',
    ),
    neutralBond,
    flagOf('groundFault', 'Whether its receptacles open on earth-fault (residual) current.'),
    legs,
    quantityOf('altitudeDerate', 'ratio', '%', 'Power lost per 305 m (1000 ft) above sea level.', {
      minimum: 0,
      maximum: 0.2,
    }),
    quantityOf('temperatureDerate', 'ratio', '%', 'Power lost per 5.6 K (10 °F) above 25 °C.', {
      minimum: 0,
      maximum: 0.2,
    }),
    quantityOf('reactance', 'ratio', '', 'Transient reactance per unit, for motor starting and fault current.', {
      minimum: 0.02,
      maximum: 1,
    }),
    quantityOf(
      'droop',
      'ratio',
      '%',
      'How far the frequency falls from no load to full load, of nominal; half of it lies above nominal and half below.',
      { minimum: 0, maximum: 0.2 },
    ),
    quantityOf(
      'sustainedFault',
      'ratio',
      '%',
      'Current it drives into a lasting short circuit, of its rated current; without it the transient reactance counts for small faults too.',
      { minimum: 0, maximum: 10 },
    ),
    quantityOf('noise', 'soundLevel', 'dBA', 'Sound pressure level at 7 m.'),
    quantityOf('warmUp', 'time', 'min', 'Running without load before loading.', { minimum: 0 }),
    quantityOf('coolDown', 'time', 'min', 'Running without load before stopping.', { minimum: 0 }),
    ...COMMON,
  ],
  terminals: () => [terminal('ac', 'ac', 'out')],
};

export const GRID: KindDefinition = {
  kind: 'grid',
  group: 'source',
  doc: 'A utility or shore connection.',
  properties: [
    systemOf('voltage', 'Nominal voltage or system.'),
    tolerance,
    frequency,
    quantityOf('rating', 'current', 'A', 'Current of the service or shore outlet, per leg.', { minimum: 0 }),
    partOf('outlet', ['plug'], 'The receptacle through which it is taken, for shore power.'),
    neutralBond,
    legs,
    quantityOf(
      'betweenOutages',
      'time',
      'd',
      'Mean time from the end of one outage to the next, for scenarios with random outages.',
      { minimum: 0 },
    ),
    quantityOf('outageTime', 'time', 'h', 'Mean time of an outage.', { minimum: 0 }),
    quantityOf(
      'faultCurrent',
      'current',
      'A',
      'Prospective short-circuit current at the connection: the largest, or the range from smallest to largest.',
      { minimum: 0, ranges: true },
    ),
    ...COMMON,
  ],
  terminals: () => [terminal('ac', 'ac', 'out')],
};

export const SOLAR: KindDefinition = {
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
  terminals: () => [terminal('dc', 'dc', 'out')],
};

export const WIND: KindDefinition = {
  kind: 'wind',
  group: 'source',
  doc: 'A wind turbine with its own rectifier, delivering direct current.',
  properties: [
    quantityOf('rated', 'power', 'W', 'Rated power.', { minimum: 0, flavour: 'active' }),
    quantityOf('voltage', 'voltage', 'V', 'Output voltage, with its range.', { minimum: 0, ranges: true }),
    quantityOf('currentLimit', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    ...COMMON,
  ],
  terminals: () => [terminal('dc', 'dc', 'out')],
};

export const ALTERNATOR: KindDefinition = {
  kind: 'alternator',
  group: 'source',
  doc: 'An engine-driven alternator with regulator, charging a bank with direct current.',
  properties: [
    quantityOf('currentLimit', 'current', 'A', 'Highest output current, hot.', { minimum: 0 }),
    quantityOf('voltage', 'voltage', 'V', 'Regulated voltage.', { minimum: 0, ranges: true }),
    flagOf('surgeProtected', 'Whether it survives the bank being disconnected while it charges.'),
    ...COMMON,
  ],
  terminals: () => [terminal('dc', 'dc', 'out')],
};

export const VEHICLE: KindDefinition = {
  kind: 'vehicle',
  group: 'source',
  doc: 'A vehicle used as a source, by its outlet: alternating current (export outlet) or direct current (socket, trailer connector).',
  properties: [
    wordOf('supply', { ac: 'alternating current outlet', dc: 'direct current outlet' }, 'What the outlet gives.', {
      default: 'ac',
      note: 'an export outlet',
    }),
    systemOf('voltage', 'Nominal voltage of the outlet.'),
    tolerance,
    frequency,
    quantityOf('rating', 'current', 'A', 'Continuous current of the outlet.', { minimum: 0 }),
    quantityOf('rated', 'power', 'W', 'Continuous power of the outlet.', { minimum: 0, flavour: 'active' }),
    partOf('outlet', ['plug'], 'The receptacle.'),
    neutralBond,
    legs,
    textOf('terms', 'Conditions the maker of the vehicle sets.'),
    ...COMMON,
  ],
  terminals: (properties) =>
    wordIn(properties, 'supply') === 'dc' ? [terminal('dc', 'dc', 'out')] : [terminal('ac', 'ac', 'out')],
};
