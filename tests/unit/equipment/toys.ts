import { type Capabilities, none } from '../../../language/src/equipment/capabilities.js';
import { COMMON, type DeviceDefinition, defineDevice, quantityOf } from '../../../language/src/equipment/define.js';

/*
 * Kinds for the tests of kinds: copies of those there are, under other names and with other names for their terminals, and one of our own
 * invention. They are put into the list of kinds by the one test file that mocks it.
 */

/** What a terminal of a copy is called. */
export const terminalOfCopy = (name: string): string => `my${name}`;

/** What a copy of a kind can do: the same, at terminals with other names. */
function atCopies<T>(answer: T, terminals: ReadonlySet<string>): T {
  if (Array.isArray(answer)) return answer.map((each: unknown) => atCopies(each, terminals)) as T;
  if (typeof answer !== 'object' || answer === null) return answer;
  // Formulas are no places.
  if (Object.getPrototypeOf(answer) !== Object.prototype) return answer;
  const named = (each: unknown): unknown =>
    typeof each === 'string' && terminals.has(each)
      ? terminalOfCopy(each)
      : Array.isArray(each)
        ? each.map(named)
        : atCopies(each, terminals);
  return Object.fromEntries(
    Object.entries(answer).map(([key, value]) => [
      key,
      ['at', 'from', 'to'].includes(key) ? named(value) : atCopies(value, terminals),
    ]),
  ) as T;
}

const ALWAYS = { has: () => true, word: () => undefined, flag: () => true };

/** A kind under another name, with other names for its terminals. */
export function copyOf(device: DeviceDefinition): DeviceDefinition {
  // Terminals that hang on a word are those of both.
  const words = ['ac', 'dc'].map((word) => ({ ...ALWAYS, word: () => word }));
  const names = new Set([ALWAYS, ...words].flatMap((facts) => device.terminals(facts).map(({ name }) => name)));
  return {
    ...device,
    kind: `toy${device.kind}`,
    terminals: (facts) => device.terminals(facts).map((each) => ({ ...each, name: terminalOfCopy(each.name) })),
    capabilities: atCopies<Capabilities>(device.capabilities, names),
  };
}

/** Gives to a direct bus, by itself and within a setting; holds a voltage; is lost as a whole; a rule can switch it. */
export const SPRING = defineDevice({
  kind: 'spring',
  group: 'source',
  doc: 'A wound spring with a dynamo. It exists in tests only.',
  properties: [
    quantityOf('most', 'current', 'A', 'Most that it gives.', { minimum: 0 }),
    quantityOf('holds', 'voltage', 'V', 'Voltage that it holds.', { minimum: 0 }),
    ...COMMON,
  ],
  terminals: { wire: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: [{ at: 'wire', carries: 'dc', from: 'engine', heldBy: none }],
    charges: {
      at: 'wire',
      supply: { kind: 'own', drive: none, regulates: true },
      setPoints: ['holds'],
      bounds: { setting: 'most' },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [{ at: 'wire', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: 'switched',
  },
});
