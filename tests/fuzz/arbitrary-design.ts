import fc from 'fast-check';
import { INSTANCE_KINDS, type PropertyDefinition, kindOf, usualTerminals } from '../../language/src/index.js';

/*
 * Random designs that are right as texts: every name is declared once and known, every value has the type of its property and lies
 * within its bounds, every terminal exists. What they describe is any wiring at all: rings, parallel runs, things joined to nothing,
 * alternating current beside direct current where the terminals allow it.
 */

export interface RandomDesign {
  /** The members of the design, one text each, in an order that does not matter. */
  readonly members: readonly string[];
  /** What a variant changes: `Load1.power = 5 W`. */
  readonly override: string;
  /** The members with that value written in the design itself. */
  readonly overridden: readonly string[];
}

export const designText = (members: readonly string[], name = 'Any'): string =>
  `design ${name} {\n  ${members.join('\n  ')}\n}\n`;

/** Conductor types, classes and plugs of the standard library that values may name. */
const LIBRARY: Readonly<Record<string, readonly string[]>> = {
  conductor: ['THWN-2', 'FineStranded90', 'USE-2', 'UF-B'],
  cord: ['SOOW'],
  deviceClass: ['T', 'gPV', 'UL489-AC'],
  plug: ['L14-30', 'NEMA-5-15'],
};

const decimal = (value: number): string => String(Number(value.toPrecision(3)));

/** Values of the size that designs have, so that calculations come to an end instead of refusing at once. */
const USUAL: Readonly<Record<string, readonly [low: number, high: number, unit: string]>> = {
  voltage: [11, 60, 'V'],
  current: [5, 400, 'A'],
  power: [10, 8000, 'W'],
  energy: [100, 20000, 'Wh'],
  charge: [50, 800, 'Ah'],
  resistance: [1, 80, 'mohm'],
  length: [0.1, 40, 'm'],
  area: [1, 120, 'mm2'],
  volume: [5, 200, 'L'],
  mass: [1, 400, 'kg'],
  time: [1, 600, 'min'],
  frequency: [50, 60, 'Hz'],
  temperature: [-20, 60, 'degC'],
  temperatureDifference: [1, 30, 'K'],
  angle: [0, 90, 'deg'],
  soundLevel: [40, 90, 'dBA'],
  flow: [0.5, 9, 'L/h'],
};

type QuantityType = Extract<PropertyDefinition['type'], { type: 'quantity' }>;

function quantityText(type: QuantityType): fc.Arbitrary<string> | undefined {
  const [dimension] = type.dimensions;
  if (type.flavour === 'apparent') return fc.integer({ min: 100, max: 9000 }).map((value) => `${value} VA`);
  if (dimension === 'ratio') {
    const high = type.maximum ?? 100;
    const low = type.minimum ?? 0;
    if (type.whole) return fc.integer({ min: Math.ceil(low), max: Math.min(high, 6) }).map(String);
    return fc
      .double({ min: low, max: Math.min(high, low + 1), noNaN: true })
      .map((value) => (type.unit === '%' ? `${decimal(value * 100)} %` : decimal(value)));
  }
  const usual = USUAL[dimension ?? ''];
  if (!usual) return undefined;
  const [low, high, unit] = usual;
  // Bounds are in the unit of the property; only where that is the usual one can they be held here.
  const from = type.unit === unit ? Math.max(low, type.minimum ?? low) : low;
  const to = type.unit === unit ? Math.min(high, type.maximum ?? high) : high;
  if (from > to || (type.unit !== unit && ((type.minimum ?? 0) > 0 || type.maximum !== undefined))) return undefined;
  const value = type.whole
    ? fc.integer({ min: Math.ceil(from), max: Math.floor(to) })
    : fc.double({ min: from, max: to, noNaN: true });
  const one = value.map((number) => `${decimal(Math.min(to, Math.max(from, number)))} ${unit}`);
  if (!type.ranges) return one;
  const range = fc.tuple(value, value).map((ends) => {
    const [lower, upper] = ends.map((end) => Number(decimal(end))).sort((a, b) => a - b);
    return `${lower}..${upper} ${unit}`;
  });
  return fc.oneof(one, range);
}

function valueText({ type }: PropertyDefinition): fc.Arbitrary<string> | undefined {
  switch (type.type) {
    case 'quantity':
      return quantityText(type);
    case 'word':
      return fc.constantFrom(...type.words.map(({ word }) => word));
    case 'words':
      return fc
        .subarray(
          type.words.map(({ word }) => word),
          { minLength: 1 },
        )
        .map((words) => words.join(', '));
    case 'flag':
      return fc.constantFrom('yes', 'no');
    case 'text':
      return fc.constantFrom('"as built"', '"to be measured"', '""');
    case 'date':
      return fc.constantFrom('2026-02-28', '2031-12-31');
    case 'money':
      return fc.nat(5000).map((amount) => `${amount} EUR`);
    case 'system':
      return fc.constantFrom('120 V', '230 V', '24 V', '120/240 V', '230/400 V', 'three 208 V');
    case 'profile':
      return fc.constantFrom('always', '{ 07:00..08:00: 100 %, 19:00..06:00: 25 % }');
    case 'quiet':
      return fc.constantFrom('22:00..06:30', '22:00..06:30 unless soc(Store) < 20 %');
    case 'part': {
      const names = type.kinds.flatMap((kind) => LIBRARY[kind] ?? []);
      return names.length > 0 ? fc.constantFrom(...names) : undefined;
    }
    case 'table':
    case 'bySupply':
      return undefined;
  }
}

/** Some properties of a kind, each with a value of its type; sometimes assumed. */
function propertiesOf(kind: string): fc.Arbitrary<readonly (readonly [name: string, value: string])[]> {
  const writable = kindOf(kind)!.properties.flatMap((definition) => {
    const value = valueText(definition);
    return value ? [value.map((text) => [definition.name, text] as const)] : [];
  });
  return fc
    .subarray(writable)
    .chain((chosen) => (chosen.length > 0 ? fc.tuple(...chosen) : fc.constant<(readonly [string, string])[]>([])));
}

const bodyText = (properties: readonly (readonly [string, string])[]): string =>
  `{ ${properties.map(([name, value]) => `${name}: ${value}`).join('   ')} }`;

interface Thing {
  readonly kind: string;
  readonly name: string;
  readonly properties: readonly (readonly [string, string])[];
  readonly terminals: readonly string[];
}

/** Terminals that every thing of a kind has, whatever it states. */
const TERMINALS: Readonly<Record<string, readonly string[]>> = Object.fromEntries(
  INSTANCE_KINDS.map((definition) => [definition.kind, usualTerminals(definition).map(({ name }) => name)]),
);

const KINDS = INSTANCE_KINDS.map(({ kind }) => kind);

const things: fc.Arbitrary<readonly Thing[]> = fc
  .array(fc.constantFrom(...KINDS, 'bus', 'load', 'load', 'fuse', 'battery'), { minLength: 1, maxLength: 14 })
  .chain((kinds) =>
    fc.tuple(
      ...kinds.map((kind, index) =>
        propertiesOf(kind).map((properties): Thing => ({
          kind,
          name: `${kind.charAt(0).toUpperCase()}${kind.slice(1)}${index + 1}`,
          properties,
          terminals: TERMINALS[kind]!,
        })),
      ),
    ),
  );

/** The store that quiet hours and rules speak of; always there. */
const STORE: Thing = {
  kind: 'battery',
  name: 'Store',
  properties: [
    ['voltage', '51.2 V'],
    ['capacity', '280 Ah'],
    ['chemistry', 'lfp'],
  ],
  terminals: TERMINALS.battery!,
};

const stopText = ({ name, terminals }: Thing, pick: number): string =>
  terminals.length === 1 ? name : `${name}.${terminals[pick % terminals.length]}`;

function runs(all: readonly Thing[]): fc.Arbitrary<readonly string[]> {
  const joinable = all.filter(({ terminals }) => terminals.length > 0);
  const gear = all.filter(({ kind }) => ['fuse', 'breaker', 'switch', 'shunt'].includes(kind));
  const stop = fc.tuple(fc.constantFrom(...joinable), fc.nat(3)).map(([thing, pick]) => stopText(thing, pick));
  const through =
    gear.length === 0
      ? fc.constant<string[]>([])
      : fc.array(
          fc
            .tuple(fc.constantFrom(...gear), fc.option(fc.integer({ min: 0, max: 2000 })))
            .map(([{ name }, distance]) => (distance === null ? name : `${name} @ ${distance} mm`)),
          { maxLength: 2 },
        );
  return fc
    .array(fc.tuple(stop, through, fc.array(stop, { minLength: 1, maxLength: 2 }), propertiesOf('run')), {
      maxLength: 14,
    })
    .map((list) =>
      list.map(
        ([from, middle, to, properties], index) =>
          `run Run${index + 1}: ${[from, ...middle, to[0]!].join(' -> ')}${to.length > 1 ? `, ${to[1]}` : ''} ${bodyText(properties)}`,
      ),
    );
}

const instanceText = ({ kind, name, properties }: Thing): string => `${kind} ${name} ${bodyText(properties)}`;

const site = propertiesOf('site').map((properties) => `site ${bodyText(properties)}`);
const basis = fc.constantFrom('basis: nec', 'basis: nec 2023', 'basis: iec', 'basis: craft');

/** A design with all that belongs around its things: site, basis, runs, rules, requirements, and something for a variant to change. */
export const randomDesign: fc.Arbitrary<RandomDesign> = things.chain((some) => {
  const all = [STORE, ...some];
  const changeable = all.filter(({ properties }) => properties.length > 0);
  const override = fc.constantFrom(...changeable).chain((thing) =>
    fc.constantFrom(...thing.properties).chain(([property]) => {
      const definition = kindOf(thing.kind)!.properties.find(({ name }) => name === property)!;
      return valueText(definition)!.map((value) => ({ thing, property, value }));
    }),
  );
  const rules = fc.constantFrom(
    [],
    ['control Rule of Store { off when soc(Store) < 20 % for 1 min   on when soc(Store) > 40 % }'],
    ['require Store.capacity >= 100 Ah because "as agreed"', 'let margin = 25 %', 'require margin < 50 %'],
    ['require chargeTime(Store, 20 %, 90 %) <= 10 h', 'scenario Week { duration: 7 d   soc(Store): 90 % }'],
  );
  return fc
    .record({ site: fc.option(site), basis: fc.option(basis), runs: runs(all), rules, override })
    .map((parts) => {
      const { thing, property, value } = parts.override;
      const members = (list: readonly Thing[]): string[] => [
        ...(parts.basis ? [parts.basis] : []),
        ...(parts.site ? [parts.site] : []),
        ...list.map(instanceText),
        ...parts.runs,
        ...parts.rules,
      ];
      const changed: Thing = {
        ...thing,
        properties: thing.properties.map(([name, before]) => [name, name === property ? value : before] as const),
      };
      return {
        members: members(all),
        override: `${thing.name}.${property} = ${value}`,
        overridden: members(all.map((each) => (each === thing ? changed : each))),
      };
    });
});
