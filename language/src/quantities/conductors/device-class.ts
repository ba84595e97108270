import { type Derivation, deriveQuantity, withFacts } from '../../derivation/index.js';
import { derivationOfProperty } from '../../model/lower/property-facts.js';
import { stepsTo } from '../../model/stated-facts.js';
import type { Instance, Part, PropertyValue } from '../../model/types.js';

/** The class of a device as a part, when it states one. */
export function classOf(device: Instance): Part | undefined {
  const value = device.properties.get('class')?.value;
  return value?.type === 'part' ? value.part : undefined;
}

/**
 * Whether a class says that one of its values is from memory, over any number of parts that extend each other. A part that overrides such
 * a value states a data sheet of its own, unless it says `fromMemory` again.
 */
export function isFromMemory(part: Part, property: string): boolean {
  const listed = part.properties.get('fromMemory')?.value;
  return (
    listed?.type === 'words' &&
    listed.words.includes(property) &&
    stepsTo(part, property) >= stepsTo(part, 'fromMemory')
  );
}

/** Says of a value of a class where it comes from: memory, or the data sheet that the class is. */
function sourced(derivation: Derivation, part: Part, property: string): Derivation {
  if (isFromMemory(part, property))
    return withFacts(derivation, {
      origin: 'table',
      source: { standard: `class ${part.name}`, provenance: 'from memory' },
    });
  return part.library
    ? derivation
    : withFacts(derivation, { source: { standard: `part ${part.name} of the design`, provenance: 'data sheet' } });
}

/** A value that a class states, with its provenance. */
export function classFact(part: Part, property: string): Derivation | undefined {
  const stated = part.properties.get(property);
  const derivation = stated && derivationOfProperty(stated, `class ${part.name}`);
  return derivation && sourced(derivation, part, property);
}

type TableValue = Extract<PropertyValue, { type: 'table' }>;

/** A table that a device states itself, or its class; `sourced` gives a row's value its provenance. */
export interface StatedTable {
  readonly rows: TableValue['rows'];
  readonly sourced: (derivation: Derivation) => Derivation;
}

const tableIn = (owner: Instance | Part, property: string): TableValue | undefined => {
  const value = owner.properties.get(property)?.value;
  return value?.type === 'table' ? value : undefined;
};

export function classTable(part: Part, property: string): StatedTable | undefined {
  const table = tableIn(part, property);
  return table && { rows: table.rows, sourced: (derivation) => sourced(derivation, part, property) };
}

/** The table of a device itself, which goes before that of its class. */
export function deviceTable(device: Instance, property: string): StatedTable | undefined {
  const own = tableIn(device, property);
  if (own)
    return {
      rows: own.rows,
      sourced: (derivation) =>
        withFacts(derivation, { source: { standard: 'own table of the design', provenance: 'data sheet' } }),
    };
  const part = classOf(device);
  return part && classTable(part, property);
}

/** A rating that a device states itself, else its class. */
export function deviceFact(device: Instance, property: string): Derivation | undefined {
  const own = device.properties.get(property);
  if (own) return derivationOfProperty(own, device.name);
  const part = classOf(device);
  return part && classFact(part, property);
}

/** The value of a table row as a derivation. */
export const rowValue = (name: string, table: StatedTable, index: number): Derivation =>
  table.sourced(deriveQuantity(name, table.rows[index]!.value, { origin: 'stated' }));
