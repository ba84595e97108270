import { type KindDefinition, flagOf, quantityOf, quietOf, tableOf, textOf, wordOf } from './define.js';

export const CONTROL = {
  kind: 'control',
  group: 'control',
  doc: 'Rules that start and stop a generator, or switch a load or charger.',
  properties: [
    quantityOf('minimumRun', 'time', 'min', 'Shortest run once started.', { minimum: 0 }),
    quantityOf('minimumRest', 'time', 'min', 'Shortest rest once stopped.', { minimum: 0 }),
    quantityOf('maximumRun', 'time', 'h', 'Longest run.', { minimum: 0 }),
    quantityOf('warmUp', 'time', 'min', 'Running without load before loading.', { minimum: 0 }),
    quantityOf('coolDown', 'time', 'min', 'Running without load before stopping.', { minimum: 0 }),
    quietOf('quiet', 'Hours in which it does not start, with an exception after `unless`.'),
    quantityOf('priority', 'ratio', '', 'Rank where two controls command one thing; the lower number wins.', {
      minimum: 1,
      maximum: 99,
      whole: true,
    }),
    quantityOf('resolution', ['ratio', 'voltage'], '%', 'Step in which the watched signal is measured.', {
      minimum: 0,
    }),
    textOf('note', 'A remark that shows in hovers and reports.'),
  ],
} as const satisfies KindDefinition;

export const SITE = {
  kind: 'site',
  group: 'design',
  doc: 'Where the system stands.',
  properties: [
    quantityOf('altitude', 'length', 'm', 'Height above sea level.', { minimum: -430, maximum: 9000 }),
    quantityOf('ambient', 'temperature', 'degC', 'Lowest and highest temperature that occur.', {
      minimum: -90,
      maximum: 80,
      ranges: true,
    }),
    quantityOf('latitude', 'angle', 'deg', 'Latitude, north positive.', { minimum: -90, maximum: 90 }),
    quantityOf('longitude', 'angle', 'deg', 'Longitude, east positive.', { minimum: -180, maximum: 180 }),
    textOf('timeZone', 'Time zone name of the tz database.'),
    tableOf(
      'clearness',
      'ratio',
      '',
      'ratio',
      '',
      'Clearness index by month: radiation on the horizontal over that outside the air, `{ 1: 0.45, 2: 0.48, … 12: 0.42 }`, for scenarios with `sun: months`.',
    ),
    tableOf(
      'clearnessSpread',
      'ratio',
      '',
      'ratio',
      '',
      'Deviation of the clearness of the days of a month from its mean, by month, `{ 1: 0.15, … }`: as the station has it; not stated: as the matrices of Aguiar, Collares-Pereira and Conde have it.',
    ),
    quantityOf(
      'yearSpread',
      'ratio',
      '%',
      'Deviation of the sun of a year from the mean of many, beyond what its days bring about: by how much whole years differ.',
      { minimum: 0, maximum: 0.3, default: '2.5 %', note: 'from memory: whole years then differ by 3 to 4 %' },
    ),
    wordOf(
      'sky',
      {
        hayDavies: 'brighter around the sun (Hay and Davies)',
        perez: 'brighter around the sun and at the horizon (Perez and others 1990)',
        isotropic: 'the same from everywhere: the most careful for tilted modules',
      },
      'How the light of the sky comes to tilted modules.',
      { default: 'hayDavies', note: 'not stated' },
    ),
    flagOf('dwelling', 'Whether it is a one- or two-family house, where fire codes limit the energy stored.'),
    textOf('note', 'A remark that shows in hovers and reports.'),
  ],
} as const satisfies KindDefinition;

export const DESIGN = {
  kind: 'design',
  group: 'design',
  doc: 'One power system.',
  properties: [
    wordOf(
      'basis',
      {
        nec: 'NFPA 70, the National Electrical Code',
        iec: 'IEC 60364',
        craft: 'small craft and vehicles (33 CFR 183, ISO 13297 practice)',
      },
      'Wiring rules the design follows, with their edition: `basis: nec 2023`.',
      { default: 'nec', note: 'not stated' },
    ),
    quantityOf('dcDropLimit', 'ratio', '%', 'Largest voltage drop on a direct-current run, of nominal.', {
      minimum: 0,
      maximum: 0.5,
    }),
    quantityOf(
      'chargeDropLimit',
      'ratio',
      '%',
      'Largest voltage drop between a charger that measures at its own terminals and its bank, of its set point.',
      { minimum: 0, maximum: 0.2, default: '2 %', note: 'common practice, no source' },
    ),
    quantityOf(
      'stringFusesFrom',
      'ratio',
      '',
      'Battery strings in parallel from which each must have a fuse of its own.',
      { minimum: 2, maximum: 100, whole: true, default: '2', note: 'common practice, no source' },
    ),
    quantityOf('acDropLimit', 'ratio', '%', 'Largest voltage drop on an alternating-current run, of nominal.', {
      minimum: 0,
      maximum: 0.5,
    }),
    quantityOf('socGap', 'ratio', '%', 'Least distance between start and stop thresholds on state of charge.', {
      minimum: 0,
      maximum: 1,
      default: '10 %',
      note: 'common practice, no source',
    }),
    quantityOf('leastRun', 'time', 'min', 'Runs of a generator shorter than this count as too short.', {
      minimum: 0,
      default: '20 min',
      note: 'time to warm a generator through: common practice, no source',
    }),
    quantityOf('mostStarts', 'ratio', '', 'Most starts of a generator in a day.', {
      minimum: 0,
      maximum: 1000,
      default: '6',
      note: 'common practice, no source',
    }),
    quantityOf('sagDwell', 'time', 's', 'Dwell from which a rule on voltage counts as blind to the sag of a load.', {
      minimum: 0,
      default: '1 min',
      note: 'common practice, no source',
    }),
    quantityOf('mostStrings', 'ratio', '', 'Most strings of a bank in parallel, where its maker states no number.', {
      minimum: 1,
      maximum: 100,
      whole: true,
      default: '4',
      note: 'common practice, no source',
    }),
    quantityOf(
      'stringExcess',
      'ratio',
      '%',
      'Most by which a string may carry more than its fair share of the current of its bank.',
      { minimum: 0, maximum: 1, default: '10 %', note: 'common practice, no source' },
    ),
    quantityOf(
      'rateShare',
      'ratio',
      '%',
      'Least share of its rated capacity that a lead bank must still give at the rate of its loads.',
      { minimum: 0, maximum: 1, default: '80 %', note: 'common practice, no source' },
    ),
    quantityOf(
      'deratingShare',
      'ratio',
      '%',
      'Share of a generator’s rating that may be lost at the site before the maker’s own figures are asked for.',
      { minimum: 0, maximum: 1, default: '3 %', note: 'common practice, no source' },
    ),
    quantityOf('dipLimit', 'ratio', '%', 'Largest dip of a generator’s voltage when a motor starts.', {
      minimum: 0,
      maximum: 1,
      default: '20 %',
      note: 'usual limit of the dip at motor start, from memory',
    }),
    quantityOf('fuelReserve', 'ratio', '%', 'Share of a tank that is kept in hand.', {
      minimum: 0,
      maximum: 0.9,
      default: '10 %',
      note: 'common practice, no source',
    }),
    quantityOf('idleShare', 'ratio', '%', 'Largest share of the daily energy of the loads that inverters use idle.', {
      minimum: 0,
      maximum: 1,
      default: '10 %',
      note: 'common practice, no source',
    }),
    quantityOf('prechargeCapacitance', 'capacitance', 'mF', 'Input capacitance from which precharging is asked for.', {
      minimum: 0,
      default: '1 mF',
      note: 'common practice, no source',
    }),
    quantityOf('arrayExcess', 'ratio', '%', 'Largest output an array could give over what its controller can.', {
      minimum: 1,
      maximum: 10,
      default: '130 %',
      note: 'common practice, no source',
    }),
    quantityOf('stringHeadroom', 'voltage', 'V', 'Voltage that a hot string must have above the charge voltage.', {
      minimum: 0,
      default: '1 V',
      note: 'common practice, no source; makers state 1 to 5 V',
    }),
    quantityOf(
      'torqueFrom',
      'current',
      'A',
      'Design current of a direct-current run from which the torque of its terminals must be stated.',
      {
        minimum: 0,
        default: '50 A',
        note: 'rule of thumb; common practice, no source. NEC 110.14(D) demands the torque wherever a value is given',
      },
    ),
    quantityOf(
      'readingTolerance',
      'ratio',
      '%',
      'Error of the instruments that readings were taken with, as share of what they show; else what is usual for hand-held ones.',
      { minimum: 0, maximum: 0.5 },
    ),
    quantityOf('lugsPerStud', 'ratio', '', 'Most lugs stacked on one stud.', {
      minimum: 1,
      maximum: 12,
      whole: true,
      default: '4',
      note: 'ABYC E-11, from memory',
    }),
    quantityOf(
      'legDifference',
      'ratio',
      '%',
      'Most by which the legs of a supply may differ, as share of what one leg gives.',
      { minimum: 0, maximum: 1, default: '50 %', note: 'rule of thumb; common practice, no source' },
    ),
    textOf('note', 'A remark that shows in hovers and reports.'),
    textOf('customer', 'Who it is for.'),
    textOf('author', 'Who designed it.'),
    textOf('checkedBy', 'Who has checked it.'),
    textOf('revision', 'Revision that drawings and sheets are issued under.'),
  ],
} as const satisfies KindDefinition;

export const SCENARIO = {
  kind: 'scenario',
  group: 'design',
  doc: 'A time span to be simulated.',
  properties: [
    // The formulas for the position of the sun hold for this span to a fraction of a degree.
    { name: 'from', type: { type: 'date', first: '1900-01-01', last: '2199-12-31' }, doc: 'First day.' },
    quantityOf('at', 'time', 'h', 'Time of day at which it starts: `at: 18:00`.', {
      minimum: 0,
      maximum: 24,
      ranges: false,
      default: '0 h',
      note: 'midnight unless said',
    }),
    quantityOf('duration', 'time', 'd', 'How long it lasts.', {
      minimum: 0,
      maximum: 36525,
      aboveZero: true,
      ranges: false,
    }),
    quantityOf('runs', 'ratio', '', 'Number of runs with random weather and outages.', {
      minimum: 1,
      maximum: 100000,
      whole: true,
      default: '1',
      note: 'simulated once unless said',
    }),
    quantityOf('seed', 'ratio', '', 'Seed of the random numbers.', {
      minimum: 0,
      maximum: 4294967295,
      whole: true,
      default: '1',
      note: 'always the same random numbers, so that a result can be repeated',
    }),
    textOf('weather', 'Weather data file.'),
    textOf('note', 'A remark.'),
    wordOf('sun', { none: 'no sun', clear: 'clear sky', months: 'monthly means' }, 'Sun during the scenario.'),
  ],
} as const satisfies KindDefinition;
