import { inWordsOf } from '../../glossary/basis-words.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import { inPeopleUnits } from '../../glossary/units-text.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Link, Property, Run } from '../../model/types.js';
import type { QuantityName } from '../../model/quantity-names.js';
import { formatNumber, formatQuantity } from '../../quantity/index.js';
import { chargingOf, isArray, isBank, isDevice, isInverter, isJoint, isLoad, sourceOf } from '../../model/roles.js';
import type { Span, TextLine } from './drawing.js';

const SEPARATOR: Span = { text: '  ', style: 'plain' };
const MOST_LINES = 2;

/** What is shown of each sort of thing, most important first: a property as written, or a quantity worked out. */
interface Shown {
  readonly facts: readonly string[];
  readonly quantities?: readonly QuantityName[];
}

function shownOf(instance: Instance): Shown {
  if (isBank(instance)) return { quantities: ['bankCapacity', 'bankVoltage'], facts: ['chemistry'] };
  if (isInverter(instance)) return { facts: ['rated', 'voltage', 'apparent', 'currentLimit'] };
  if (isArray(instance)) return { quantities: ['arrayPower'], facts: ['power', 'openCircuitVoltage'] };
  if (sourceOf(instance))
    return { facts: ['rated', 'apparent', 'power', 'rating', 'currentLimit', 'voltage', 'faultCurrent'] };
  if (chargingOf(instance)) return { facts: ['maximumCurrent', 'currentLimit', 'absorb', 'output'] };
  if (isDevice(instance)) return { facts: ['class', 'rating', 'curve'] };
  if (isJoint(instance)) return { facts: ['rating', 'voltage', 'dcVoltage'] };
  if (isLoad(instance)) return { facts: ['power', 'horsepower', 'voltage', 'count'] };
  return { facts: ['rating', 'plug', 'outlet', 'voltage', 'dcVoltage'] };
}

const styleOf = (origin: Derivation['origin'] | Property['origin']): Span['style'] =>
  origin === 'assumed' ? 'assumed' : 'plain';

/** A value of a property for a drawing, without the word that marks it assumed. */
export const propertySpan = ({ value, text, origin }: Property): Span => ({
  text:
    value.type === 'quantity'
      ? inPeopleUnits(formatQuantity(value.quantity))
      : value.type === 'part'
        ? value.part.name
        : text.replace(/^assumed\s+/, ''),
  style: styleOf(origin),
});

const restsOnAssumed = (derivation: Derivation): boolean =>
  derivation.origin === 'assumed' || derivation.inputs.some(restsOnAssumed);

/** A current, in amperes however small it is. */
export const currentSpan = (derivation: Derivation): Span => ({
  ...derivedSpan(derivation),
  text: `${formatNumber(numberIn(derivation, 'A'), 3)} A`,
});

/** Charges are compared in ampere-hours, however many. */
const CHARGE = 'Ah';

/** A value that was worked out; in italics where it rests on one that was assumed. */
export const derivedSpan = (derivation: Derivation): Span => ({
  text:
    derivation.unit === CHARGE
      ? `${formatNumber(numberIn(derivation, CHARGE), 3)} ${CHARGE}`
      : inPeopleUnits(displayValue(derivation, 3)),
  style: restsOnAssumed(derivation) ? 'assumed' : 'plain',
});

/** Most spans of ratings a thing shows. */
const MOST_RATINGS = 3;

/** Poles, count and the like, as drawings write them. */
function tagged(name: string, span: Span, isOfModule: boolean): Span {
  if (isOfModule) return { ...span, text: `${span.text} a module` };
  if (name === 'count') return { ...span, text: `× ${span.text}` };
  if (name === 'faultCurrent') return { ...span, text: `fault ${span.text}` };
  if (name === 'curve') return { ...span, text: `curve ${span.text}` };
  if (name === 'currentLimit') return { ...span, text: `set to ${span.text}` };
  if (name === 'absorb') return { ...span, text: `absorb ${span.text}` };
  if (name === 'chemistry' && span.text.length <= 3) return { ...span, text: span.text.toUpperCase() };
  return span;
}

/** The two or three ratings that matter of a thing. A default that nobody stated is no rating. */
export function ratingSpans(instance: Instance, context: DesignContext): readonly Span[] {
  const { facts, quantities = [] } = shownOf(instance);
  const worked = quantities.flatMap((name) => {
    if (!context.quantityNames(instance).includes(name)) return [];
    const result = context.quantity(instance, name);
    return result.kind === 'known' ? [derivedSpan(result.derivation)] : [];
  });
  const stated = facts.flatMap((name) => {
    const property = instance.properties.get(name);
    return property && property.origin !== 'default' ? [tagged(name, propertySpan(property), isArray(instance))] : [];
  });
  const poles = instance.properties.get('poles');
  const all = [...worked, ...stated].slice(0, MOST_RATINGS);
  if (poles && poles.origin !== 'default' && isDevice(instance))
    all.push({ ...propertySpan(poles), text: `${propertySpan(poles).text}P` });
  return all;
}

/** Ratings in as few lines as their width asks for. */
export function inLines(spans: readonly Span[], widest: number, mostLines = MOST_LINES): TextLine[] {
  const lines: Span[][] = [];
  let length = Infinity;
  for (const span of spans) {
    const last = lines.at(-1);
    if (!last || (length + span.text.length + 2 > widest && lines.length < mostLines)) {
      lines.push([span]);
      length = span.text.length;
    } else {
      last.push(SEPARATOR, span);
      length += span.text.length + 2;
    }
  }
  return lines;
}

export const nameLine = ({ name, label }: { readonly name: string; readonly label?: string }): TextLine[] => [
  [{ text: name, style: 'name' }],
  ...(label ? [[{ text: label, style: 'plain' } as const]] : []),
];

const fact = (run: Run | Link, name: string, otherwise: string): Span => {
  const property = run.properties.get(name);
  return property ? propertySpan(property) : { text: otherwise, style: 'missing' };
};

/** Words of a run: how many conductors of which size, its length, type, earth conductor and design current; what is not stated is said to be so. */
export function runLines(run: Run, context: DesignContext): readonly TextLine[] {
  const parallel = run.properties.get('parallel');
  const times: readonly Span[] =
    parallel && parallel.origin !== 'default'
      ? [{ ...propertySpan(parallel), text: `${propertySpan(parallel).text} ×` }, SEPARATOR]
      : [];
  const current = context.quantity(run, 'current');
  const kind = run.carries === 'any' ? '' : `${run.carries.toUpperCase()} `;
  const type = run.properties.get('type');
  const conductors = run.properties.get('conductors');
  // `conductors` counts those of all in parallel.
  const count: readonly Span[] =
    times.length === 0 && conductors && conductors.origin !== 'default'
      ? [{ ...propertySpan(conductors), text: `${propertySpan(conductors).text} × ` }]
      : [];
  const { practice } = context.system.basis;
  const earth = run.properties.get('earth');
  const made: readonly Span[] = [
    ...(type && type.origin !== 'default' ? [propertySpan(type)] : []),
    ...(earth && earth.origin !== 'default' && earth.value.type === 'quantity'
      ? [{ ...propertySpan(earth), text: inWordsOf(practice, `earth ${propertySpan(earth).text}`) }]
      : []),
  ];
  return [
    [{ text: run.name, style: 'name' }],
    [...times, ...count, fact(run, 'size', 'size not stated'), SEPARATOR, fact(run, 'length', 'length not stated')],
    ...(made.length > 0 ? [made.flatMap((span, index) => (index === 0 ? [span] : [SEPARATOR, span]))] : []),
    [
      current.kind === 'known'
        ? { ...currentSpan(current.derivation), text: `${kind}${currentSpan(current.derivation).text}` }
        : { text: `${kind}current not worked out`, style: 'missing' },
    ],
  ];
}

/** Words of a link: name and protocol or medium. */
export function linkLines(link: Link): readonly TextLine[] {
  const medium = link.properties.get('medium');
  return [
    [{ text: link.name, style: 'name' }],
    ...(medium ? [[{ ...propertySpan(medium), text: propertySpan(medium).text.toUpperCase() }]] : []),
  ];
}

export const plainText = (lines: readonly TextLine[]): string =>
  lines
    .map((line) => line.map(({ text, style }) => (style === 'assumed' ? `${text} (assumed)` : text)).join(''))
    .join(', ')
    .replace(/ {2}/g, ', ');
