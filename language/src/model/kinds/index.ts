import { CONDUCTOR, CORD, DEVICE_CLASS, PLUG } from './catalogue.js';
import { LINK, RUN } from './connections.js';
import { CONTROL, DESIGN, SCENARIO, SITE } from './control.js';
import { CHARGE_CONTROLLER, CHARGER, CONVERTER, INVERTER } from './converters.js';
import type { KindDefinition, PropertyDefinition } from './define.js';
import { BREAKER, BUS, FUSE, RECEPTACLE, SHUNT, SWITCH, TRANSFER } from './gear.js';
import { LOAD } from './load.js';
import { ALTERNATOR, GENERATOR, GRID, SOLAR, VEHICLE, WIND } from './sources.js';
import { BATTERY } from './storage.js';

/** Kinds that can be placed in a design. */
export const INSTANCE_KINDS: readonly KindDefinition[] = [
  GENERATOR,
  GRID,
  SOLAR,
  WIND,
  ALTERNATOR,
  VEHICLE,
  CHARGER,
  INVERTER,
  CHARGE_CONTROLLER,
  CONVERTER,
  BATTERY,
  BUS,
  FUSE,
  BREAKER,
  SWITCH,
  TRANSFER,
  RECEPTACLE,
  SHUNT,
  LOAD,
];

/** Kinds that only parts can be: catalogue data that properties refer to. */
export const CATALOGUE_KINDS: readonly KindDefinition[] = [CONDUCTOR, CORD, PLUG, DEVICE_CLASS];

/** Everything that has a property catalogue. */
export const ALL_KINDS: readonly KindDefinition[] = [
  ...INSTANCE_KINDS,
  ...CATALOGUE_KINDS,
  RUN,
  LINK,
  CONTROL,
  SITE,
  DESIGN,
  SCENARIO,
];

const byKind = new Map(ALL_KINDS.map((definition) => [definition.kind, definition]));
const byProperty = new Map(
  ALL_KINDS.map((definition) => [
    definition.kind,
    new Map(definition.properties.map((property) => [property.name, property])),
  ]),
);

export const kindOf = (kind: string): KindDefinition | undefined => byKind.get(kind);
export const propertyOf = (kind: string, name: string): PropertyDefinition | undefined =>
  byProperty.get(kind)?.get(name);

export * from './define.js';
export { propertiesMeant } from './other-names.js';
export { LEGS } from './sources.js';
