import type { PartArgument } from '../../calculate/index.js';
import { type Derivation, derive, deriveFact, deriveQuantity } from '../../derivation/index.js';
import type { Part, Property } from '../types.js';

/** A property's value as a derivation, so that calculations and findings can show where it stands. */
export function derivationOfProperty(property: Property, subject: string): Derivation | undefined {
  const { value } = property;
  const notes = [
    ...(property.origin === 'assumed' ? ['assumed'] : []),
    ...(property.origin === 'default'
      ? [`not stated: ${property.text} taken${property.note ? ` (${property.note})` : ''}`]
      : []),
    ...(property.inheritedFrom ? [`from part ${property.inheritedFrom}`] : []),
  ];
  const name = `${property.name} of ${subject}`;
  const options = {
    fact: property.name,
    origin: property.origin,
    notes,
    ...(property.place ? { place: property.place } : {}),
  } as const;
  switch (value.type) {
    case 'quantity':
      return deriveQuantity(name, value.quantity, options);
    case 'word':
      return deriveFact(name, value.word, options);
    case 'flag':
      return deriveFact(name, value.flag, options);
    case 'text':
      return deriveFact(name, value.text, options);
    case 'date':
      return deriveFact(name, value.date, options);
    case 'part':
      return deriveFact(name, value.part.name, options);
    case 'system':
      return derive(name, value.system.lineToLine, 'V', { ...options, notes: [...notes, value.system.text] });
    case 'words':
      return deriveFact(name, value.words.join(', '), options);
    default:
      return undefined;
  }
}

/** A part as an argument of a function. */
export function partArgument(part: Part): PartArgument {
  return {
    kind: 'part',
    partKind: part.kind,
    name: part.name,
    fact: (name) => {
      const property = part.properties.get(name);
      return property ? derivationOfProperty(property, part.name) : undefined;
    },
    table: (name) => {
      const value = part.properties.get(name)?.value;
      return value?.type === 'table' ? value.rows : undefined;
    },
  };
}
