import {
  type Derivation,
  type Result,
  type Source,
  derive,
  deriveFact,
  fromTable,
  known,
  numberIn,
  refused,
} from '../../derivation/index.js';
import { quantity } from '../../quantity/index.js';
import {
  FUELS,
  FUEL_DIESEL,
  FUEL_DIESEL_SMALL,
  FUEL_NATURAL_GAS,
  FUEL_PETROL,
  FUEL_PROPANE,
  type Fuel,
  type FuelTable,
  type Point,
  heatingValue,
  onExtendedCurve,
  tableSource,
} from '../../reference/energy/index.js';
import { defineFunction, needs, word, wordOr } from '../registry.js';

const WAVEFORMS = ['conventional', 'inverter'] as const;
type Waveform = (typeof WAVEFORMS)[number];

/** Smallest diesel set the smallest tabulated row (8 kW) is scaled down to, and how; a published 5 kW set agrees within 2 %. */
const SMALLEST_DIESEL_KW = 3;

/** A fuel rate in the unit of its table, and how it was found. */
interface Rate {
  readonly value: number;
  readonly unit: string;
  readonly source: Source;
  readonly notes: readonly string[];
}

/** Rate at a load between 0 and 1 from a row; below the first load of the table its line is carried on to no load. */
const atLoad = (table: FuelTable, rates: readonly number[], share: number): number =>
  Math.max(
    0,
    onExtendedCurve(
      table.loads.map((load, index): Point => [load, rates[index]!]),
      share,
    ),
  );

/** Rate from a table, between its sizes by straight lines. Undefined outside its sizes. */
function fromFuelTable(table: FuelTable, kilowatts: number, share: number): Rate | undefined {
  const rows = [...table.rows].sort((left, right) => left.rated - right.rated);
  const above = rows.findIndex((row) => row.rated >= kilowatts);
  const upper = rows[above];
  if (!upper) return undefined;
  const notes: string[] = [];
  if (share < table.loads[0]!) notes.push(`below ${table.loads[0]! * 100} % load the line of the table is carried on`);
  const source = tableSource(table);
  if (upper.rated === kilowatts) return { value: atLoad(table, upper.rate, share), unit: table.unit, source, notes };
  const lower = rows[above - 1];
  if (!lower) return undefined;
  notes.push(`between the rows for ${lower.rated} kW and ${upper.rated} kW`);
  const along = (kilowatts - lower.rated) / (upper.rated - lower.rated);
  const value = atLoad(table, lower.rate, share) * (1 - along) + atLoad(table, upper.rate, share) * along;
  return { value, unit: table.unit, source, notes };
}

function dieselRate(kilowatts: number, share: number): Rate | undefined {
  const smallest = Math.min(...FUEL_DIESEL_SMALL.rows.map((row) => row.rated));
  if (kilowatts < SMALLEST_DIESEL_KW) return undefined;
  if (kilowatts < smallest) {
    const rate = fromFuelTable(FUEL_DIESEL_SMALL, smallest, share)!;
    const notes = [...rate.notes, `scaled down from the row for ${smallest} kW`];
    return { ...rate, value: (rate.value * kilowatts) / smallest, notes };
  }
  return fromFuelTable(FUEL_DIESEL, kilowatts, share) ?? fromFuelTable(FUEL_DIESEL_SMALL, kilowatts, share);
}

function gasRate(table: FuelTable, fuel: Fuel, kilowatts: number, share: number): Rate | undefined {
  const heat = fromFuelTable(table, kilowatts, share);
  if (!heat) return undefined;
  const gross = heatingValue(fuel);
  return {
    value: heat.value / gross.value,
    unit: `${gross.per}/h`,
    source: heat.source,
    notes: [...heat.notes, `heat by the gross heating value, ${gross.value}·1000 Btu/${gross.per}`],
  };
}

/** Rated powers in kW a fuel's figures cover. */
const RATED_SPAN: Readonly<Record<Fuel, string>> = {
  petrol: '0.5 kW to 15 kW',
  diesel: '3 kW to 250 kW',
  propane: '12 kW to 25 kW',
  naturalGas: '10 kW to 26 kW',
};
const LEAST_PETROL_KW = 0.5;
const MOST_PETROL_KW = 15;

function petrolRate(waveform: Waveform, kilowatts: number, share: number): Rate | undefined {
  if (kilowatts < LEAST_PETROL_KW || kilowatts > MOST_PETROL_KW) return undefined;
  const line = FUEL_PETROL.rows.find((row) => row.waveform === waveform)!;
  return {
    value: kilowatts * (line.noLoad + line.perOutput * share),
    unit: 'L/h',
    source: tableSource(FUEL_PETROL),
    notes: [`${line.title}; within ±${FUEL_PETROL.spread * 100} %`],
  };
}

function rateFor(fuel: Fuel, waveform: Waveform, kilowatts: number, share: number): Rate | undefined {
  switch (fuel) {
    case 'diesel':
      return dieselRate(kilowatts, share);
    case 'propane':
      return gasRate(FUEL_PROPANE, fuel, kilowatts, share);
    case 'naturalGas':
      return gasRate(FUEL_NATURAL_GAS, fuel, kilowatts, share);
    case 'petrol':
      return petrolRate(waveform, kilowatts, share);
  }
}

/** The load as a share of the rating, from a share or a power. */
function loadShare(rated: Derivation, load: Derivation): Derivation {
  const isPower = typeof load.value === 'object' && load.value.dimension === quantity(1, 'W').dimension;
  if (!isPower) return load;
  return derive('load share', numberIn(load, 'W') / numberIn(rated, 'W'), '1', {
    formula: 'P/P_r',
    inputs: [load, rated],
  });
}

function fuelRateOf(name: string, rated: Derivation, load: Derivation, fuel: Fuel, waveform: Waveform): Result {
  const share = loadShare(rated, load);
  const part = numberIn(share, '');
  if (part < 0 || part > 1 + 1e-9)
    return refused(`\`load\` of ${name} must lie between no load and the rating`, 'load');
  const kilowatts = numberIn(rated, 'kW');
  const rate = rateFor(fuel, waveform, kilowatts, part);
  if (!rate)
    return refused(
      `${name} knows ${fuel} generators from ${RATED_SPAN[fuel]}; give the generator’s own burn figures`,
      'rated',
    );
  const kind = [deriveFact('fuel', fuel, { origin: 'stated' })];
  if (fuel === 'petrol') kind.push(deriveFact('waveform', waveform, { origin: 'stated' }));
  const table = fromTable(`rate by the table, ${fuel}`, rate.value, rate.unit, rate.source, {
    inputs: [rated, share],
    notes: rate.notes,
  });
  return known(
    derive('fuel rate', numberIn(table, 'L/h'), 'L/h', {
      symbol: 'F',
      inputs: [rated, share, ...kind, table],
      formula: 'F(P_r, P/P_r)',
      source: rate.source,
      notes: rate.notes,
      parts: { share },
    }),
  );
}

const fuelParameters = {
  rated: needs('power', 'W', 'running rating of the generator', { minimum: 0, aboveMinimum: true }),
  load: needs(['ratio', 'power'], '', 'load, as a share of the rating or as power', { minimum: 0, maximum: 1 }),
};
const fuelWords = {
  fuel: word(FUELS, 'fuel'),
  waveform: wordOr(WAVEFORMS, 'conventional', 'petrol generators: fixed speed or inverter with speed by load'),
};
const VALIDITY =
  'Diesel 3 to 250 kW, propane 12 to 25 kW, natural gas 10 to 26 kW, petrol 0.5 to 15 kW (±25 %); no load to full load. The generator’s own burn figures go first.';
const SOURCES = [
  'approximate diesel fuel consumption chart, and the chart of small generators (several identical public copies)',
  "home standby generators' owner's manuals (propane, natural gas)",
  'petrol: from memory',
];

export const fuelRate = defineFunction({
  name: 'fuelRate',
  group: 'sources',
  summary: 'Fuel a generating set burns at a load.',
  parameters: { ...fuelParameters, ...fuelWords },
  result: 'flow in L/h of liquid fuel, or of gas at standard conditions for natural gas; `.share` of the rating',
  worst: 'high',
  validity: VALIDITY,
  sources: SOURCES,
  examples: [
    {
      call: 'fuelRate(rated: 100 kW, load: 75 %, fuel: diesel)',
      gives: '22.0 L/h',
      source: 'approximate diesel fuel consumption chart, 100 kW at 3/4 load',
    },
    {
      call: 'fuelRate(rated: 8 kW, load: 4 kW, fuel: diesel)',
      gives: '0.39 gal/h',
      source: 'small diesel generator chart, 8 kW at half load',
    },
    {
      call: 'fuelRate(rated: 5 kW, load: 100 %, fuel: diesel)',
      gives: '0.42 gal/h',
      tolerance: 0.05,
      source: 'page on fuel consumption of diesel generators: a 5 kW set burns 0.42 gal/h at 65 to 100 % load',
    },
    {
      call: 'fuelRate(rated: 25 kW, load: 100 %, fuel: propane)',
      gives: '4.3 gal/h',
      tolerance: 0.02,
      source: "25 kW standby generator owner's manual: 4.3 gal/h of liquid at full load",
    },
  ],
  compute: ({ rated, load, fuel, waveform }) => fuelRateOf('fuelRate', rated, load, fuel, waveform),
});

export const fuelFor = defineFunction({
  name: 'fuelFor',
  group: 'sources',
  summary: 'Fuel a generating set burns in a time at a load.',
  parameters: {
    ...fuelParameters,
    time: needs('time', 'h', 'running time', { minimum: 0 }),
    ...fuelWords,
  },
  result: 'volume in L; `.rate` is the fuel rate',
  worst: 'high',
  validity: VALIDITY,
  sources: SOURCES,
  examples: [
    {
      call: 'fuelFor(rated: 20 kW, load: 100 %, time: 8 h, fuel: diesel)',
      gives: '48.8 L',
      source: 'approximate diesel fuel consumption chart, 20 kW at full load 6.1 L/h, eight hours by hand',
    },
    {
      call: 'fuelFor(rated: 2 kW, load: 50 %, time: 10 h, fuel: petrol, waveform: inverter)',
      gives: '6.6 L',
      source: 'hand calculation: (0.10·2 + 0.46·1)·10',
    },
  ],
  compute: ({ rated, load, time, fuel, waveform }) => {
    const rate = fuelRateOf('fuelFor', rated, load, fuel, waveform);
    if (rate.kind !== 'known') return rate;
    const { derivation } = rate;
    return known(
      derive('fuel', numberIn(derivation, 'L/h') * numberIn(time, 'h'), 'L', {
        symbol: 'V',
        formula: 'F·t',
        inputs: [derivation, time],
        ...(derivation.source ? { source: derivation.source } : {}),
        parts: { rate: derivation },
      }),
    );
  },
});

/** A measured or stated burn figure of a set: load as a share of the rating, rate in L/h. */
export interface BurnPoint {
  readonly load: number;
  readonly rate: number;
}

/**
 * Fuel rate in L/h from a set's own burn figures, by straight lines between them; below the first figure the first line is carried
 * on, never below half the first figure, since an idling engine still burns. Refused above the last figure and with fewer than two.
 */
export function burnAt(points: readonly BurnPoint[], load: Derivation): Result {
  const sorted = [...points].sort((left, right) => left.load - right.load);
  const curve = sorted.map(({ load: share, rate }): Point => [share, rate]);
  const share = numberIn(load, '');
  const first = sorted[0];
  const last = sorted.at(-1);
  if (!first || !last || first.load === last.load)
    return refused('burn figures at two different loads are needed', 'burn');
  if (share < 0 || share > last.load + 1e-9)
    return refused(`the burn figures end at ${Math.round(last.load * 100)} % load`, 'load');
  const floor = share < first.load ? first.rate / 2 : 0;
  return known(
    derive('fuel rate', Math.max(floor, onExtendedCurve(curve, Math.min(share, last.load))), 'L/h', {
      symbol: 'F',
      formula: 'straight lines between the burn figures',
      inputs: [
        load,
        ...sorted.map((point) =>
          derive(`burn at ${Math.round(point.load * 100)} %`, point.rate, 'L/h', { origin: 'stated' }),
        ),
      ],
      source: { standard: 'burn figures of the generator', provenance: 'data sheet' },
    }),
  );
}
