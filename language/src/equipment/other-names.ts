/**
 * Words that people write for a property, by the property's own name. Only for proposals: `continuous` is no property of an inverter, did
 * you mean `rated`? From data sheets and common usage, no source.
 */
const OF_ANY: Readonly<Record<string, readonly string[]>> = {
  price: ['cost'],
  mass: ['weight'],
  note: ['remark', 'comment', 'description'],
  dataSheet: ['datasheet', 'reference', 'url', 'link'],
  frequency: ['hertz', 'hz'],
  neutralBond: ['bond', 'bonding', 'neutral', 'neutralGroundBond', 'groundBond'],
  legs: ['leg', 'phase', 'lines', 'line'],
  efficiency: ['eta', 'eff'],
  powerFactor: ['pf', 'cosPhi'],
  thdLimit: ['maximumThd', 'thdMax', 'thd'],
  absorb: ['absorption', 'absorptionVoltage', 'bulk', 'bulkVoltage', 'boost', 'chargeVoltage', 'constantVoltage'],
  float: ['floatVoltage', 'floating'],
  equalise: ['equalize', 'equalization', 'equalisation', 'equalizeVoltage'],
  temperatureCompensation: ['tempCompensation', 'compensation'],
  currentLimit: ['chargeCurrent', 'current', 'limit', 'setCurrent', 'maximumOutputCurrent'],
  inputLimit: ['inputCurrentLimit', 'inputCurrent', 'acInputLimit', 'acLimit', 'acCurrentLimit'],
  maximumCurrent: ['outputCurrent', 'ratedCurrent', 'maxCurrent', 'ratedOutputCurrent', 'rating'],
  maximumPower: ['outputPower', 'power', 'maxPower', 'rated', 'ratedPower'],
  maximumInputCurrent: ['maxInputCurrent', 'inputCurrentMaximum'],
  protocol: ['language'],
  rate: ['baud', 'baudRate', 'bitRate', 'speed'],
  rating: ['rated', 'ratedCurrent', 'amps', 'amperes', 'ampacity', 'current', 'size', 'service'],
  terminals: ['terminalRating', 'terminalTemperature', 'terminal'],
  interruptRating: ['breakingCapacity', 'interruptingRating', 'aic', 'kaic', 'icu', 'icn', 'interruptCapacity'],
  outlet: ['receptacle', 'socket', 'plug', 'connector'],
  plug: ['outlet', 'receptacle', 'socket', 'configuration', 'type'],
  class: ['type', 'style'],
};

const OF_KIND: Readonly<Record<string, Readonly<Record<string, readonly string[]>>>> = {
  generator: {
    rated: ['continuous', 'power', 'running', 'runningPower', 'continuousPower', 'ratedPower', 'output', 'prime'],
    apparent: ['kva', 'apparentPower', 'va'],
    surge: ['peak', 'starting', 'startingPower', 'surgePower', 'peakPower', 'maximum', 'maximumPower'],
    voltage: ['output', 'outputVoltage', 'volts'],
    thd: ['distortion', 'harmonics'],
    fuel: ['fuelType'],
    burn: ['consumption', 'fuelConsumption', 'fuelCurve', 'fuelRate', 'fuelUse'],
    tank: ['tankSize', 'tankCapacity', 'fuelTank', 'fuelCapacity'],
    remoteStart: ['autostart', 'start', 'startType'],
    reactance: ['xd', 'transientReactance'],
    noise: ['sound', 'soundLevel'],
    waveform: ['wave', 'type', 'technology'],
  },
  grid: {
    voltage: ['volts', 'output'],
    faultCurrent: ['shortCircuitCurrent', 'faultLevel', 'prospectiveCurrent', 'pscc', 'availableFaultCurrent'],
  },
  vehicle: {
    rating: ['currentLimit', 'maximumCurrent', 'limit'],
    rated: ['power', 'maximumPower'],
  },
  solar: {
    power: ['rated', 'peakPower', 'pmax', 'watts', 'stc', 'modulePower'],
    openCircuitVoltage: ['voc'],
    shortCircuitCurrent: ['isc'],
    maximumPowerVoltage: ['vmp', 'vmpp', 'voltage'],
    maximumPowerCurrent: ['imp', 'impp', 'current'],
    voltageCoefficient: ['vocCoefficient', 'betaVoc', 'voltageTemperatureCoefficient'],
    powerCoefficient: ['gamma', 'powerTemperatureCoefficient', 'temperatureCoefficient'],
    series: ['modulesInSeries', 'cells'],
    parallel: ['strings', 'count', 'modulesInParallel'],
    azimuth: ['orientation', 'direction', 'facing'],
    tilt: ['inclination', 'slope'],
    seriesFuse: ['maximumSeriesFuse', 'maxFuse'],
  },
  charger: {
    input: ['inputVoltage', 'acVoltage', 'supplyVoltage', 'acInput'],
    output: ['outputVoltage', 'voltage', 'dcVoltage', 'outputRange', 'nominalVoltage'],
    accepts: ['waveform', 'acceptsWaveform'],
    ramp: ['walkIn', 'softStart'],
    remoteSense: ['sense', 'voltageSense'],
    powerFactorCorrection: ['pfc'],
  },
  inverter: {
    rated: ['continuous', 'power', 'ratedPower', 'continuousPower', 'output', 'outputPower', 'maximumPower'],
    apparent: ['kva', 'apparentPower', 'va'],
    surge: ['peak', 'surgePower', 'peakPower', 'starting'],
    voltage: ['output', 'outputVoltage', 'acVoltage', 'ac'],
    dcVoltage: ['inputVoltage', 'dcInput', 'batteryVoltage', 'bankVoltage', 'nominalVoltage'],
    cutOff: ['lowVoltageCutOff', 'lowVoltageDisconnect', 'lvd', 'lvc', 'cutoffVoltage', 'shutdown', 'lowVoltage'],
    reconnect: ['restart', 'reconnectVoltage', 'recovery', 'restartVoltage'],
    idle: ['noLoad', 'selfConsumption', 'standby', 'idlePower', 'tare', 'noLoadPower'],
    passThrough: ['bypass', 'transfer', 'passthrough'],
    transferRating: ['transferSwitch', 'relayRating', 'transferCurrent'],
  },
  chargeController: {
    maximumVoltage: ['maximumInputVoltage', 'maxVoltage', 'inputVoltage', 'vocMax', 'pvVoltage'],
    window: ['mpptRange', 'trackingRange', 'inputWindow', 'input'],
    tracking: ['type', 'mppt', 'method'],
  },
  battery: {
    capacity: ['ah', 'ampHours', 'charge', 'size', 'energy', 'wh', 'kwh'],
    voltage: ['nominalVoltage', 'nominal', 'volts'],
    chemistry: ['type', 'technology', 'kind'],
    cells: ['cellCount', 'cellsInSeries', 's'],
    series: ['unitsInSeries'],
    parallel: ['strings', 'count', 'unitsInParallel', 'quantity'],
    resistance: ['internalResistance', 'impedance'],
    protectionHigh: ['overVoltage', 'ovp', 'highVoltageProtection', 'bmsHigh'],
    protectionLow: ['underVoltage', 'uvp', 'lowVoltageProtection', 'bmsLow'],
    reserve: ['minimumSoc', 'depthOfDischarge', 'dod', 'usable'],
    shortCircuitCurrent: ['faultCurrent', 'isc'],
    heater: ['heated', 'heating'],
    capacityTime: ['hours', 'hourRate', 'rateTime', 'dischargeTime'],
  },
  load: {
    power: ['watts', 'rated', 'load', 'consumption', 'demand', 'ratedPower'],
    count: ['quantity', 'number', 'pieces'],
    startFactor: ['surge', 'surgeFactor', 'inrush', 'startingFactor', 'startSurge'],
    startTime: ['surgeTime', 'inrushTime'],
    profile: ['schedule', 'hours', 'when'],
    duty: ['dutyCycle'],
    continuous: ['isContinuous'],
    voltage: ['volts'],
    horsepower: ['hp', 'motorPower', 'shaftPower'],
    fullLoadCurrent: ['fla', 'flc', 'nameplateCurrent', 'ratedCurrent'],
    overload: ['overloadSetting', 'overloadRelay'],
  },
  bus: { dcVoltage: ['volts', 'maximumVoltage'] },
  fuse: { dcVoltage: ['voltage', 'volts', 'voltageRating'] },
  receptacle: { groundFault: ['gfci', 'rcd'] },
  breaker: {
    dcVoltage: ['voltage', 'volts', 'voltageRating'],
    curve: ['characteristic', 'tripCurve'],
    groundFault: ['gfci', 'rcd'],
  },
  switch: { dcVoltage: ['voltage', 'volts', 'voltageRating'] },
  transfer: {
    switches: ['poles', 'switchesNeutral'],
    acVoltage: ['voltage', 'volts'],
    operation: ['mode', 'type', 'automatic'],
  },
  run: {
    size: ['gauge', 'awg', 'area', 'crossSection', 'conductor', 'wire', 'cable'],
    type: ['cable', 'cableType', 'wireType', 'conductorType', 'cord'],
    length: ['distance', 'oneWay', 'long'],
    parallel: ['sets', 'conductorsInParallel', 'perPole'],
    ambient: ['temperature', 'ambientTemperature'],
    conductors: ['bundle', 'currentCarrying', 'bundled'],
    method: ['installation', 'installationMethod', 'installed'],
    earth: ['ground', 'groundSize', 'earthSize', 'egc', 'protective', 'pe'],
    dropLimit: ['maximumDrop', 'voltageDrop', 'drop'],
    metal: ['material'],
  },
  link: {
    medium: ['type', 'bus', 'interface'],
    terminators: ['termination', 'terminated', 'terminations'],
    timeOut: ['timeout'],
  },
  control: {
    minimumRun: ['minRun', 'minimumRunTime', 'minRunTime'],
    minimumRest: ['minRest', 'minimumOff', 'minimumOffTime', 'restTime'],
    maximumRun: ['maxRun', 'maximumRunTime'],
    quiet: ['quietHours', 'quietTime', 'silent'],
    warmUp: ['warmup', 'warmUpTime'],
    coolDown: ['cooldown', 'coolDownTime'],
  },
  site: {
    altitude: ['elevation', 'height'],
    ambient: ['temperature', 'temperatures', 'climate'],
    latitude: ['lat'],
    longitude: ['lon', 'lng', 'long'],
    timeZone: ['timezone', 'tz'],
  },
  design: {
    basis: ['code', 'standard', 'rules', 'practice'],
    dcDropLimit: ['dropLimit', 'voltageDropLimit', 'voltageDrop'],
    acDropLimit: ['dropLimit', 'voltageDropLimit', 'voltageDrop'],
    customer: ['client'],
    author: ['designer', 'engineer'],
  },
  scenario: {
    from: ['start', 'begin', 'date'],
    duration: ['length', 'for', 'days'],
    sun: ['solar', 'irradiance'],
    seed: ['randomSeed'],
  },
};

/** Words that people write for a kind of thing. From common usage, no source. */
const OF_KINDS: Readonly<Record<string, readonly string[]>> = {
  generator: ['genset', 'engine', 'gen', 'engineGenerator', 'dieselGenerator'],
  grid: ['mains', 'utility', 'shore', 'shorePower', 'pedestal', 'service', 'supply'],
  solar: ['panel', 'panels', 'pv', 'array', 'module', 'modules', 'solarPanel', 'solarArray', 'photovoltaic'],
  hydro: ['turbine', 'watermill', 'wheel', 'waterWheel', 'microHydro', 'hydroTurbine', 'pelton'],
  wind: ['windmill', 'windTurbine', 'aerogenerator'],
  vehicle: ['car', 'ev', 'electricVehicle'],
  alternator: ['dynamo'],
  charger: ['rectifier', 'batteryCharger', 'powerSupply'],
  chargeController: ['mppt', 'pwm', 'solarCharger', 'solarController', 'regulator', 'controller'],
  converter: ['dcdc', 'dcConverter', 'dcDc', 'buck', 'boost', 'transformer'],
  inverter: ['inverterCharger', 'ups', 'combi'],
  battery: ['bank', 'accumulator', 'cell', 'batteries', 'pack', 'storage'],
  load: ['appliance', 'consumer', 'lamp', 'light', 'motor', 'pump', 'heater', 'device'],
  bus: ['busbar', 'panelboard', 'distribution', 'node', 'bar', 'junction', 'board'],
  transfer: ['ats', 'transferSwitch', 'changeover', 'changeOver'],
  switch: ['contactor', 'relay', 'isolator', 'disconnect', 'disconnector'],
  breaker: ['mcb', 'circuitBreaker', 'rcbo'],
  receptacle: ['outlet', 'socket', 'inlet', 'socketOutlet'],
  shunt: ['meter', 'batteryMonitor', 'monitor'],
  run: ['cable', 'wire', 'line', 'feeder', 'circuit', 'wires'],
  control: ['rule', 'rules', 'automation', 'autostart'],
};

const plain = (word: string): string => word.toLowerCase().replace(/[-_]/g, '');

/** The properties of a kind that another word may mean, of those it has; none when the word means nothing there. */
export function propertiesMeant(kind: string, word: string, own: readonly string[]): string[] {
  const wanted = plain(word);
  const found = [OF_KIND[kind] ?? {}, OF_ANY].flatMap((names) =>
    Object.entries(names).flatMap(([property, others]) =>
      own.includes(property) && others.some((other) => plain(other) === wanted) ? [property] : [],
    ),
  );
  return [...new Set(found)];
}

/** The kinds that another word may mean. */
export const kindsMeant = (word: string): string[] =>
  Object.entries(OF_KINDS).flatMap(([kind, others]) =>
    others.some((other) => plain(other) === plain(word)) ? [kind] : [],
  );

/** Every kind that other words may mean, for the test that holds the list against the kinds. */
export const KINDS_SPOKEN_OF: readonly (readonly [kind: string, others: readonly string[]])[] =
  Object.entries(OF_KINDS);

/** Every kind and property spoken of, for the test that holds this list against the kinds. */
export const OTHER_NAMES: readonly {
  readonly kind?: string;
  readonly property: string;
  readonly others: readonly string[];
}[] = [
  ...Object.entries(OF_ANY).map(([property, others]) => ({ property, others })),
  ...Object.entries(OF_KIND).flatMap(([kind, names]) =>
    Object.entries(names).map(([property, others]) => ({ kind, property, others })),
  ),
];
