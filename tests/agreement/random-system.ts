import { Dice } from '../helpers/random.js';
import { type Amount, type Draft, type Facts, type Run, type Thing, amount, stated } from './draft.js';

/*
 * Designs as somebody might state them, every fact a single value: a range would make a closed form take its worst end where a play takes its
 * middle, for good reason. All data are invented. What is stated is always enough to play the design.
 */

interface Chemistry {
  readonly name: 'lfp' | 'nmc' | 'agm' | 'gel' | 'flooded';
  readonly isLead: boolean;
  /** Cells of banks of 12, 24 and 48 V. */
  readonly cells: readonly [number, number, number];
  readonly nominal: number;
  /** V per cell at which inverters give up, and come back. */
  readonly low: readonly [number, number];
  readonly absorb: readonly [number, number];
  readonly float: readonly [number, number];
  /** Charge current over capacity that is usual, 1/h. */
  readonly rate: readonly [number, number];
}

const LFP: Chemistry = {
  name: 'lfp',
  isLead: false,
  cells: [4, 8, 16],
  nominal: 3.2,
  low: [2.75, 3.05],
  absorb: [3.45, 3.55],
  float: [3.36, 3.4],
  rate: [0.1, 0.5],
};
const AGM: Chemistry = {
  name: 'agm',
  isLead: true,
  cells: [6, 12, 24],
  nominal: 2,
  low: [1.75, 1.95],
  absorb: [2.38, 2.45],
  float: [2.25, 2.28],
  rate: [0.08, 0.2],
};
/** Cells that are drawn in place of the two above, by dice of their own: all else stays as it was drawn before. */
const NMC: Chemistry = {
  name: 'nmc',
  isLead: false,
  cells: [4, 7, 14],
  nominal: 3.6,
  low: [3.05, 3.4],
  absorb: [4.05, 4.15],
  float: [3.95, 4.05],
  rate: [0.1, 0.6],
};
const GEL: Chemistry = { ...AGM, name: 'gel', absorb: [2.33, 2.37], float: [2.23, 2.28], rate: [0.08, 0.15] };
const FLOODED: Chemistry = { ...AGM, name: 'flooded', absorb: [2.4, 2.5], float: [2.17, 2.25] };
const BANK_NAMES = ['A', 'B', 'C', 'E'];

/** Names of the source of alternating current and of its terminal are fixed, so that plays and questions know them. */
export const SET = 'Set';
/** Another source of alternating current, in some. */
export const SECOND = 'Second';

class Making {
  readonly things: Thing[] = [];
  readonly runs: Run[] = [];
  readonly links: string[] = [];

  constructor(
    readonly dice: Dice,
    readonly chemistry: Chemistry,
    readonly cells: number,
    readonly hasCables: boolean,
    readonly seed: number,
  ) {}

  get volts(): number {
    return this.cells * this.chemistry.nominal;
  }

  add(kind: string, name: string, facts: Facts): void {
    this.things.push({ kind, name, facts });
  }

  /** A run of one of some sizes, or one of which neither size nor length is stated. */
  run(name: string, path: string, size: readonly number[]): void {
    const facts: Facts = this.hasCables
      ? { size: amount(this.dice.pick(size), 'mm2'), length: amount(this.dice.between(0.5, 3), 'm') }
      : {};
    this.runs.push({ name, path, facts });
  }

  maybe(share: number, facts: Facts): Facts {
    return this.dice.chance(share) ? facts : {};
  }

  setPoints(): Facts {
    const { absorb, float } = this.chemistry;
    const { dice, cells } = this;
    return {
      absorb: amount(cells * dice.between(...absorb), 'V'),
      ...this.maybe(0.7, { float: amount(cells * dice.between(...float), 'V') }),
    };
  }
}

/** The design of a seed. */
export function randomSystem(seed: number): Draft {
  const dice = new Dice(seed);
  const other = new Dice(seed + 4e6);
  const chemistry = dice.chance(0.7) ? (other.chance(0.15) ? NMC : LFP) : other.pick([AGM, GEL, FLOODED]);
  const cells = chemistry.cells[dice.pick([0, 1, 2, 2])]!;
  const making = new Making(dice, chemistry, cells, dice.chance(0.5), seed);
  const current = addChargers(making);
  addBanks(making, current);
  addLoads(making, current);
  const { things, runs, links, hasCables } = making;
  return { seed, bankVolts: making.volts, hasCables, things, runs, links };
}

function addBanks(making: Making, current: number): void {
  const { dice, chemistry, cells } = making;
  const count = dice.pick([1, 1, 2, 2, 3, 4]);
  const types = count > 1 && dice.chance(0.4) ? 2 : 1;
  const usual = dice.pick([25, 25, 25, 25, 25, 10, 10, 35, 35, -5]);
  const other = new Dice(making.seed + 5e6);
  const temperature = other.chance(0.25)
    ? other.pick(chemistry.isLead ? [-8, 5, 48, 52] : [-22, 0, 5, 12, 48, 58])
    : usual;
  const total = current / dice.between(...chemistry.rate);
  const sizes = Array.from({ length: types }, () => dice.between(0.6, 1.4));
  const reserve = amount(dice.pick([10, 20, 30, 50]), '%');
  // One block of 12 V in series for lead, one whole unit for lithium.
  const series = chemistry.isLead ? cells / chemistry.cells[0] : 1;
  const rateEffect: Facts =
    chemistry.isLead && other.chance(0.4)
      ? { peukert: amount(other.between(1.05, 1.3), ''), capacityTime: amount(other.pick([10, 20, 20]), 'h') }
      : {};
  const own = sizes.map((size): Facts => {
    const parallel = dice.pick([1, 1, 2]);
    const capacity = Math.max(10, (total * size) / count / parallel);
    return {
      chemistry: chemistry.name,
      voltage: amount((cells / series) * chemistry.nominal, 'V'),
      cells: amount(cells / series, ''),
      capacity: amount(capacity, 'Ah'),
      // Some thousandths of the resistance that would drop all of its voltage at its one-hour current.
      resistance: amount((1000 * dice.between(0.01, 0.03) * (cells / series) * chemistry.nominal) / capacity, 'mohm'),
      ...(series > 1 ? { series: amount(series, '') } : {}),
      ...(parallel > 1 ? { parallel: amount(parallel, '') } : {}),
      ...making.maybe(0.3, { maximumCharge: amount(capacity * dice.between(0.1, 0.6), 'A') }),
      ...rateEffect,
      cellTemperature: amount(temperature, 'degC'),
      reserve,
    };
  });
  for (let index = 0; index < count; index += 1) {
    const name = BANK_NAMES[index]!;
    making.add('battery', name, own[index % types]!);
    making.run(`${name}Run`, `${name} -> Bar`, [35, 50, 70, 95]);
  }
}

/** Limits of a charger: any of those that it may state, at least one that says how many amperes it gives. */
function limitsOf(making: Making, amperes: number, inputVolts: number): Facts {
  const { dice, cells, chemistry } = making;
  const watts = amperes * cells * chemistry.absorb[1];
  const input = (): Amount => amount((watts / 0.92 / inputVolts) * dice.between(0.4, 1.6), 'A');
  const current = dice.chance(0.5);
  return {
    ...(current ? { currentLimit: amount(amperes, 'A') } : {}),
    ...(!current || dice.chance(0.3) ? { maximumCurrent: amount(amperes * dice.between(0.8, 1.5), 'A') } : {}),
    ...making.maybe(0.3, { maximumPower: amount(watts * dice.between(0.4, 1.3), 'W') }),
    ...making.maybe(0.25, { inputLimit: input() }),
    ...making.maybe(0.25, { maximumInputCurrent: input() }),
  };
}

/** Adds sources and chargers. Returns the amperes that all chargers give by what they state, to size banks and loads by. */
function addChargers(making: Making): number {
  const { dice } = making;
  const count = dice.pick([1, 1, 1, 2, 2, 3]);
  const inputVolts = dice.pick([230, 230, 120]);
  let current = 0;
  let alternating = 0;
  making.add('bus', 'Bar', {});
  for (let index = 0; index < count; index += 1) {
    const amperes = dice.between(15, 90);
    const kind = dice.pick(['charger', 'charger', 'charger', 'inverter', 'alternator', 'converter', 'controller']);
    const name = `Charge${index + 1}`;
    // Dice of its own, so that all else stays as it was drawn before there were turbines.
    const other = new Dice(making.seed + 3e6 + index);
    const isWater = kind === 'alternator' && other.chance(0.6);
    const isVehicle = kind === 'alternator' && !isWater && other.chance(0.4);
    const given = isWater
      ? addHydro(making, name, amperes)
      : isVehicle
        ? addVehicle(making, name, amperes)
        : kind === 'alternator' || kind === 'converter'
          ? addDirectCharger(making, kind, name, amperes)
          : kind === 'controller'
            ? addController(making, name, amperes)
            : addAlternatingCharger(making, kind === 'inverter' && index === 0, name, amperes, inputVolts);
    if (kind === 'charger' || kind === 'inverter') alternating += given * making.cells * making.chemistry.absorb[1];
    current += given;
  }
  const other = new Dice(making.seed + 6e6);
  if (alternating > 0) addSource(making, alternating, inputVolts, other);
  if (other.chance(0.12)) addWind(making, other);
  return current;
}

/** A wind generator beside other chargers, with a power curve or without: no closed form counts on it, and it is played in still air. */
function addWind(making: Making, dice: Dice): void {
  const { cells, chemistry } = making;
  const amperes = dice.between(5, 30);
  making.add('wind', 'Wind', {
    rated: amount(amperes * making.volts, 'W'),
    voltage: amount(cells * dice.between(...chemistry.absorb), 'V'),
    currentLimit: amount(amperes, 'A'),
    ...(dice.chance(0.5)
      ? {
          powerCurve: `{ 3 m/s: 0 W, 12 m/s: ${Math.round(amperes * making.volts)} W, 20 m/s: ${Math.round(amperes * making.volts)} W }`,
          hubHeight: amount(12, 'm'),
        }
      : {}),
  });
  making.run('WindRun', 'Wind -> Bar', [16, 25]);
}

/** The socket of a vehicle that charges the bank without anything between. */
function addVehicle(making: Making, name: string, amperes: number): number {
  const { dice, cells, chemistry } = making;
  const volts = amount(cells * dice.between(...chemistry.absorb), 'V');
  making.add('vehicle', name, {
    supply: 'dc',
    voltage: `${volts.value} V`,
    rating: amount(amperes, 'A'),
    ...making.maybe(0.5, { rated: amount(amperes * volts.value * dice.between(0.7, 1.4), 'W') }),
  });
  making.run(`${name}Run`, `${name} -> Bar`, [25, 35, 50]);
  return amperes;
}

function addAlternatingCharger(
  making: Making,
  isBuiltIn: boolean,
  name: string,
  amperes: number,
  inputVolts: number,
): number {
  const { dice, cells, chemistry } = making;
  const top = cells * chemistry.absorb[1];
  const factor = dice.between(0.7, 1);
  const efficiency = dice.between(0.86, 0.96);
  const limits: Facts = isBuiltIn
    ? {
        currentLimit: amount(amperes, 'A'),
        ...making.maybe(0.4, { inputLimit: amount((amperes * top * dice.between(0.6, 2)) / inputVolts, 'A') }),
      }
    : limitsOf(making, amperes, inputVolts);
  const common: Facts = {
    ...limits,
    ...making.setPoints(),
    powerFactor: amount(factor, ''),
    input: inputVolts === 230 ? '180..264 V' : '90..135 V',
    ...(chemistry.isLead ? making.maybe(0.4, { temperatureCompensation: amount(-4 * cells, 'mV/K') }) : {}),
  };
  if (isBuiltIn) {
    const rated = Math.max(600, amperes * top * dice.between(1, 2));
    making.add('inverter', name, {
      ...inverterFacts(making, rated, `${inputVolts} V`),
      ...common,
      chargeEfficiency: amount(100 * efficiency, '%'),
      passThrough: 'yes',
      transferRating: amount(50, 'A'),
    });
    making.run(`${name}In`, `Panel -> ${name}.input`, [6, 10]);
  } else {
    making.add('charger', name, {
      ...common,
      efficiency: amount(100 * efficiency, '%'),
      ...making.maybe(0.4, { remoteSense: 'yes' }),
    });
    making.run(`${name}In`, `Panel -> ${name}.ac`, [6, 10]);
    if (dice.chance(0.2)) making.links.push(`link ${name}Link: A -> ${name} { medium: can   timeOut: 30 s }`);
  }
  making.run(`${name}Run`, `${name}.dc -> Bar`, [25, 35, 50]);
  const of = (fact: string): number => {
    const value = limits[fact];
    return typeof value === 'object' ? value.value : Infinity;
  };
  const byInput = Math.min(of('inputLimit'), of('maximumInputCurrent')) * inputVolts * factor * efficiency;
  return Math.min(of('currentLimit'), of('maximumCurrent'), of('maximumPower') / top, byInput / top);
}

function addDirectCharger(making: Making, kind: 'alternator' | 'converter', name: string, amperes: number): number {
  const { dice, cells, chemistry } = making;
  const volts = amount(cells * dice.between(...chemistry.absorb), 'V');
  if (kind === 'alternator') {
    making.add('alternator', name, { currentLimit: amount(amperes, 'A'), voltage: volts });
    making.run(`${name}Run`, `${name} -> Bar`, [25, 35, 50]);
    return amperes;
  }
  // The socket of a vehicle gives more, or less, than the converter behind it takes.
  const limit = Math.min(amperes, 40);
  const efficiency = dice.between(0.86, 0.95);
  const rating = amount(((limit * volts.value) / efficiency / 12.8) * dice.between(0.6, 1.8), 'A');
  making.add('vehicle', `${name}Car`, { supply: 'dc', voltage: '12.8 V', rating });
  making.add('converter', name, {
    input: '11..16 V',
    output: volts,
    currentLimit: amount(limit, 'A'),
    efficiency: amount(100 * efficiency, '%'),
  });
  making.run(`${name}In`, `${name}Car -> ${name}.in`, [25, 35, 50]);
  making.run(`${name}Run`, `${name}.out -> Bar`, [16, 25]);
  return Math.min(limit, (rating.value * 12.8 * efficiency) / volts.value);
}

/** Months other than June, in which the plays are: with as much water or more, or less where the turbine names June for its least. */
function byMonth(dice: Dice, flow: number, isPoorer: boolean, more: number): string {
  const rows = Array.from({ length: 12 }, (_, at) => {
    const times = at === 5 ? 1 : isPoorer ? dice.between(0.5, 1.5) : 1 + more * dice.between(0, 1);
    return `${at + 1}: ${(flow * times).toPrecision(4)} L/s`;
  });
  return `{ ${rows.join(', ')} }`;
}

/** How much wetter other months are where no nozzle holds the water back: beyond that its pipe takes more head than the water brings power. */
const WETTER = 0.15;

/** A turbine that the water, its nozzles, its rating or its current limit bounds, with a diversion load or none. */
function addHydro(making: Making, name: string, amperes: number): number {
  const { dice, cells, chemistry } = making;
  const volts = amount(cells * dice.between(...chemistry.absorb), 'V');
  const watts = amperes * volts.value;
  const [head, efficiency] = [amount(dice.between(8, 120), 'm'), dice.between(0.5, 0.8)];
  const flow = watts / (9806.65 * head.value * efficiency * 0.85 * 0.92);
  // About as fast as pipes are laid for.
  const diameter = amount(1000 * Math.sqrt((4 * flow) / (Math.PI * dice.between(0.7, 1.6))), 'mm');
  const length = amount(head.value * dice.between(1.5, 6), 'm');
  const roughness = dice.pick([100, 130, 140, 150]);
  const litres = 1000 * flow;
  const isByNozzle = dice.chance(0.5);
  const kept = dice.chance(0.5) ? amount(litres * 0.4, 'L/s') : amount(0, 'L/s');
  const stream = litres * (isByNozzle ? dice.between(1, 2) : 1) + kept.value;
  const isPoorer = dice.chance(0.3);
  const limit = dice.chance(0.4) ? dice.between(0.5, 1.2) : 2;
  making.add('hydro', name, {
    head,
    ...(dice.chance(0.5)
      ? { flowByMonth: byMonth(dice, stream, isPoorer, isByNozzle ? 1 : WETTER), ...(isPoorer ? { month: '6' } : {}) }
      : { flow: amount(stream, 'L/s') }),
    ...(kept.value > 0 ? { ecologicalFlow: kept } : {}),
    ...(isByNozzle ? { designFlow: amount(litres, 'L/s') } : {}),
    penstockLength: length,
    penstockDiameter: diameter,
    roughness: amount(roughness, ''),
    ...making.maybe(0.5, { minorLosses: amount(dice.between(1, 4), '') }),
    turbineEfficiency: amount(100 * efficiency, '%'),
    generatorEfficiency: amount(85, '%'),
    ...making.maybe(0.4, { rated: amount(watts * dice.between(0.6, 1.5), 'W') }),
    voltage: volts,
    currentLimit: amount(amperes * limit, 'A'),
    ...(dice.chance(0.6) ? { heldBy: 'diversion', diversionPower: amount(watts * 1.5, 'W') } : { heldBy: 'deflector' }),
  });
  making.run(`${name}Run`, `${name} -> Bar`, [25, 35, 50]);
  return amperes * Math.min(1, limit);
}

/** A charge controller with an array that gives more than the controller passes on, or less. */
function addController(making: Making, name: string, amperes: number): number {
  const { dice, cells, chemistry } = making;
  const watts = amperes * cells * chemistry.absorb[1] * dice.pick([0.5, 0.8, 2, 3]);
  const modules = dice.whole(1, 3);
  const efficiency = dice.between(93, 98);
  making.add('solar', `${name}Sun`, {
    power: amount(watts / modules, 'W'),
    openCircuitVoltage: amount(1.2 * making.volts * 1.6, 'V'),
    maximumPowerVoltage: amount(making.volts * 1.6, 'V'),
    shortCircuitCurrent: amount((1.07 * watts) / modules / (making.volts * 1.6), 'A'),
    maximumPowerCurrent: amount(watts / modules / (making.volts * 1.6), 'A'),
    ...(modules > 1 ? { parallel: amount(modules, '') } : {}),
    // At the sun at which modules are rated they give what they are rated for, whatever the air.
    powerCoefficient: amount(0, '%/K'),
    voltageCoefficient: amount(-0.3, '%/K'),
    noct: amount(45, 'degC'),
    tilt: amount(0, 'deg'),
    azimuth: amount(180, 'deg'),
  });
  making.add('chargeController', name, {
    tracking: 'mppt',
    currentLimit: amount(amperes, 'A'),
    efficiency: amount(efficiency, '%'),
    ...making.setPoints(),
  });
  making.run(`${name}In`, `${name}Sun -> ${name}.solar`, [6, 10]);
  making.run(`${name}Run`, `${name}.dc -> Bar`, [25, 35]);
  return Math.min(amperes, (watts * efficiency) / 100 / cells / chemistry.absorb[1]);
}

/**
 * The source of alternating current: strong enough most of the time, in every fourth design not. In some there is another, behind transfer
 * gear or with a charger of its own.
 */
function addSource(making: Making, watts: number, volts: number, other: Dice): void {
  const { dice } = making;
  const form = other.chance(0.3) ? other.pick(['transfer', 'apart']) : 'alone';
  if (form !== 'alone') addSecond(making, form, watts, volts, other);
  const power = (watts / 0.85) * (dice.chance(0.25) ? dice.between(0.5, 0.9) : dice.between(1.3, 2.5));
  making.add('bus', 'Panel', {});
  making.run('SetRun', `${SET} -> ${form === 'transfer' ? 'Ats.normal' : 'Panel'}`, [10, 16]);
  const voltage = `${volts} V`;
  switch (dice.pick(['generator', 'generator', 'grid', 'vehicle'])) {
    case 'generator':
      making.add('generator', SET, {
        rated: amount(power, 'W'),
        apparent: amount(power, 'VA'),
        powerFactor: amount(1, ''),
        voltage,
        fuel: 'diesel',
        burn: `{ 0 %: ${(power * 4e-5).toPrecision(2)} L/h, 100 %: ${(power * 3e-4).toPrecision(2)} L/h }`,
      });
      break;
    case 'grid':
      making.add('grid', SET, { voltage, rating: amount(power / volts, 'A') });
      break;
    default:
      making.add('vehicle', SET, { voltage, rating: amount(power / volts, 'A'), rated: amount(power, 'W') });
  }
}

/** Another source of alternating current, which no rule has to start. */
function addSecond(making: Making, form: string, watts: number, volts: number, dice: Dice): void {
  const power = (watts / 0.85) * dice.between(0.5, 2);
  const facts: Facts = { voltage: `${volts} V`, rating: amount(power / volts, 'A') };
  if (dice.chance(0.5)) making.add('grid', SECOND, facts);
  else making.add('vehicle', SECOND, { ...facts, rated: amount(power, 'W') });
  if (form === 'transfer') {
    making.add('transfer', 'Ats', {});
    making.run('SecondRun', `${SECOND} -> Ats.standby`, [10, 16]);
    making.run('AtsRun', 'Ats.out -> Panel', [10, 16]);
    return;
  }
  const { cells, chemistry } = making;
  making.add('charger', 'Charge9', {
    currentLimit: amount(dice.between(10, 30), 'A'),
    absorb: amount(cells * dice.between(...chemistry.absorb), 'V'),
    powerFactor: amount(dice.between(0.7, 1), ''),
    efficiency: amount(dice.between(86, 96), '%'),
    input: volts === 230 ? '180..264 V' : '90..135 V',
  });
  making.run('Charge9In', `${SECOND} -> Charge9.ac`, [6, 10]);
  making.run('Charge9Run', 'Charge9.dc -> Bar', [25, 35]);
}

const inverterFacts = (making: Making, rated: number, voltage: string): Facts => {
  const { dice, cells, chemistry } = making;
  const { low } = chemistry;
  const cutOff = { cutOff: amount(cells * low[0], 'V'), reconnect: amount(cells * low[1], 'V') };
  return {
    rated: amount(rated, 'W'),
    apparent: amount(rated, 'VA'),
    voltage,
    efficiency: amount(dice.between(85, 95), '%'),
    ...making.maybe(0.8, { idle: amount(rated * dice.between(0, 0.012), 'W') }),
    ...(making.maybe(0.8, cutOff) === cutOff || chemistry.isLead ? cutOff : {}),
  };
};

/**
 * Adds loads behind inverters, on the bus, or both. They take from a twentieth to a third of what the chargers give, so that an error of the
 * chargers is not blown up in what is left for the banks; in some designs they take more than all of it.
 */
function addLoads(making: Making, current: number): void {
  const { dice, things } = making;
  const watts = current * making.volts * (dice.chance(0.06) ? dice.between(1.3, 2) : dice.between(0.05, 0.33));
  const builtIn = things.find(({ kind }) => kind === 'inverter');
  const share = dice.pick([0, 0.5, 1, 1]);
  if (share < 1) {
    // Lead has no disconnect of its own: what draws from it states where it ends. Converters have their window.
    const { isLead, low } = making.chemistry;
    const load = { power: amount(watts * (1 - share), 'W'), supply: 'dc', profile: 'always' };
    const own = isLead ? { ...load, minimumVoltage: amount(making.cells * low[0], 'V') } : load;
    if (making.volts > 20 && dice.chance(0.2)) addStepDown(making, load);
    else {
      making.add('load', 'Direct', own);
      making.run('DirectRun', 'Bar -> Direct', sizesFor(own.power.value / making.volts));
    }
  }
  if (share > 0) addInverters(making, watts * share, builtIn?.name);
}

/** Two sizes, mm², of which the smaller carries a current: a cable on which half of the voltage is lost is no design. */
function sizesFor(amperes: number): readonly number[] {
  const at = SIZES.findIndex((size) => size * AMPERES_PER_SQUARE >= amperes);
  const least = at < 0 ? SIZES.length - 2 : Math.min(at, SIZES.length - 2);
  return SIZES.slice(least, least + 2);
}
const SIZES = [10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400, 500, 630];
const AMPERES_PER_SQUARE = 4;

/** A load of 12 V behind a converter. */
function addStepDown(making: Making, load: Facts): void {
  const { dice, cells, chemistry } = making;
  const watts = load['power'] as Amount;
  making.add('converter', 'Down', {
    input: `${(cells * (chemistry.isLead ? chemistry.low[0] : chemistry.nominal * 0.85)).toFixed(1)}..${(cells * chemistry.absorb[1] * 1.05).toFixed(1)} V`,
    output: amount(12.5, 'V'),
    currentLimit: amount((watts.value / 12.5) * dice.between(1.1, 2), 'A'),
    efficiency: amount(dice.between(85, 95), '%'),
  });
  making.add('load', 'Small', load);
  making.run('DownIn', 'Bar -> Down.in', sizesFor(watts.value / making.volts));
  making.run('DownOut', 'Down.out -> Small', sizesFor(watts.value / 12.5));
}

function addInverters(making: Making, watts: number, builtIn: string | undefined): void {
  const { dice } = making;
  const power = (part: number): Facts => ({ power: amount(watts * part, 'W'), profile: 'always' });
  if (builtIn !== undefined) {
    const most =
      0.8 *
      stated(
        making.things.find(({ name }) => name === builtIn)!,
        'rated',
      )!;
    making.add('load', 'House', power(Math.min(1, most / watts)));
    making.run('HouseRun', `${builtIn}.ac -> House`, [4, 6]);
    return;
  }
  const rated = watts * dice.pick([1.2, 2, 5, 20]);
  const form = dice.pick(['alone', 'alone', 'parallel', 'legs']);
  making.add('bus', 'Board', {});
  const names = form === 'alone' ? ['Inv'] : ['InvA', 'InvB'];
  const facts = inverterFacts(making, rated, form === 'legs' ? '120 V' : '230 V');
  names.forEach((name, index) => {
    making.add('inverter', name, form === 'legs' ? { ...facts, legs: `L${index + 1}` } : facts);
    making.run(`${name}Run`, `Bar -> ${name}.dc`, [35, 50, 70]);
    making.run(`${name}Out`, `${name}.ac -> Board`, [4, 6]);
  });
  const parts = form === 'legs' ? [0.5, 0.5] : [1];
  parts.forEach((part, index) => {
    const name = parts.length === 1 ? 'House' : `House${index + 1}`;
    making.add('load', name, {
      ...power(part),
      ...(form === 'legs' ? { voltage: '120 V', legs: `L${index + 1}` } : {}),
    });
    making.run(`${name}Run`, `Board -> ${name}`, [4, 6]);
  });
}
