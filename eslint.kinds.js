/** The names of the kinds that can be placed in a design; tests/unit/equipment/kind-names.test.ts holds them against the kinds. */
export const INSTANCE_KIND_NAMES = [
  'generator',
  'grid',
  'solar',
  'wind',
  'hydro',
  'alternator',
  'vehicle',
  'charger',
  'inverter',
  'chargeController',
  'converter',
  'battery',
  'bus',
  'fuse',
  'breaker',
  'switch',
  'transfer',
  'receptacle',
  'shunt',
  'load',
];

const NAME = `Literal[value=/^(${INSTANCE_KIND_NAMES.join('|')})$/]`;

/** `thing.kind`, `thing?.kind` and a destructured `kind`; the `kind` of a charger's supply is no kind of thing. */
const KIND_AT = (side) =>
  [
    `[${side}.name="kind"]`,
    `[${side}.property.name="kind"]:not([${side}.object.property.name="supply"])`,
    `[${side}.expression.property.name="kind"]:not([${side}.expression.object.property.name="supply"])`,
  ].join(', ');

const MESSAGE =
  'Ask what the thing can do (model/roles.ts, equipment/questions.ts), not for the name of its kind: a new kind would not count here.';

/** Comparing a kind with a name, and lists of names to look it up in. */
export const KIND_NAMES = [
  `BinaryExpression[operator=/^[!=]==$/]:matches(${KIND_AT('left')}) > ${NAME}.right`,
  `BinaryExpression[operator=/^[!=]==$/]:matches(${KIND_AT('right')}) > ${NAME}.left`,
  `SwitchStatement:matches(${KIND_AT('discriminant')}) > SwitchCase > ${NAME}`,
  `ArrayExpression > ${NAME}`,
  `Property[key.name="kind"] > ${NAME}.value`,
].map((selector) => ({ selector, message: MESSAGE }));
