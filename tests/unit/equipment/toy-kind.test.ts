import { describe, expect, it } from 'vitest';
import {
  type Capabilities,
  defineDevice,
  isMet,
  none,
  quantityOf,
  wordOf,
} from '../../../language/src/equipment/index.js';
import type { DesignContext } from '../../../language/src/model/context.js';
import type { Instance } from '../../../language/src/model/types.js';

/*
 * What must not compile stands under a line that expects an error: were it to compile, `tsc -b tests` would fail on that line. A kind of
 * our own invention shows it.
 */

const properties = [
  quantityOf('currentLimit', 'current', 'A', 'Output current as set.', { minimum: 0 }),
  wordOf('mode', { charging: 'charges', resting: 'does nothing' }, 'What it does.'),
] as const;

const terminals = {
  dc: { carries: 'dc', direction: 'out' },
  rail: { carries: 'dc', direction: 'in' },
} as const;

const toy = {
  kind: 'toy',
  group: 'converter',
  doc: 'A kind that exists in this test only.',
  properties,
  terminals,
} as const;

const nothing = {
  source: none,
  charges: none,
  inverts: none,
  passes: none,
  stores: none,
  draws: none,
  drivesFault: none,
  conducts: none,
  bondsNeutral: none,
  opensOnResidual: none,
  commanded: none,
} as const satisfies Capabilities;

const bus = { at: 'dc', supply: { kind: 'bus', at: 'rail' }, setPoints: [], bounds: {} } as const;

const charging = defineDevice({
  ...toy,
  capabilities: {
    ...nothing,
    charges: {
      ...bus,
      if: { word: 'mode', is: 'charging' },
      bounds: { setting: 'currentLimit' },
    },
  },
});

describe('a kind', () => {
  it('answers with its terminals and with what it can do', () => {
    const stated = { has: () => false, word: () => 'charging', flag: () => undefined };
    expect(charging.terminals(stated).map(({ name }) => name)).toEqual(['dc', 'rail']);
    const { charges } = charging.capabilities;
    expect(charges !== none && isMet(charges.if, stated)).toBe(true);
    expect(charges !== none && isMet(charges.if, { ...stated, word: () => 'resting' })).toBe(false);
  });

  it('does not compile while it leaves a capability unanswered', () => {
    const { commanded: _commanded, ...allButOne } = nothing;
    // @ts-expect-error -- `commanded` is not answered
    defineDevice({ ...toy, capabilities: allButOne });
    // @ts-expect-error -- a source has to say what holds its current
    defineDevice({ ...toy, capabilities: { ...nothing, source: [{ at: 'dc', carries: 'dc', from: 'sun' }] } });
    // @ts-expect-error -- a source that charges by itself has to say what drives it, and whether it regulates
    defineDevice({ ...toy, capabilities: { ...nothing, charges: { ...bus, supply: { kind: 'own' } } } });
    // @ts-expect-error -- a device has to say how it opens
    defineDevice({ ...toy, capabilities: { ...nothing, conducts: { as: 'device' } } });
    expect(Object.keys(allButOne)).not.toContain('commanded');
  });

  it('does not compile with a misspelt property in a capability', () => {
    const misspelt = [
      // @ts-expect-error -- it has `currentLimit`
      defineDevice({ ...toy, capabilities: { ...nothing, charges: { ...bus, bounds: { setting: 'curentLimit' } } } }),
      // @ts-expect-error -- it has `currentLimit`
      defineDevice({ ...toy, capabilities: { ...nothing, charges: { ...bus, setPoints: ['curentLimit'] } } }),
      // @ts-expect-error -- it has `mode`
      defineDevice({ ...toy, capabilities: { ...nothing, draws: [{ at: 'dc', to: 'use', if: { states: 'mod' } }] } }),
      // @ts-expect-error -- it has nothing of the kind
      defineDevice({ ...toy, capabilities: { ...nothing, opensOnResidual: { says: 'groundFault', unsaid: 'no' } } }),
    ];
    expect(misspelt).toHaveLength(4);
  });

  it('does not compile with a terminal it does not have', () => {
    // @ts-expect-error -- it has `dc` and `rail`
    defineDevice({ ...toy, capabilities: { ...nothing, stores: { at: 'ac' } } });
    // @ts-expect-error -- it has `dc` and `rail`
    defineDevice({ ...toy, capabilities: { ...nothing, passes: { from: ['dc'], to: 'rial', how: 'one' } } });
    expect(Object.keys(terminals)).toEqual(['dc', 'rail']);
  });
});

describe('a design context', () => {
  it('does not compile with a misspelt property or quantity', () => {
    const asks = (context: DesignContext, thing: Instance): unknown[] => [
      context.fact(thing, 'currentLimit'),
      context.maybe(thing, 'absorb'),
      context.quantity(thing, 'outputCurrent'),
      // @ts-expect-error -- `currentLimit`
      context.fact(thing, 'curentLimit'),
      // @ts-expect-error -- `absorb`
      context.maybe(thing, 'absorbs'),
      // @ts-expect-error -- `outputCurrent`
      context.quantity(thing, 'outputCurent'),
    ];
    expect(asks).toBeTypeOf('function');
  });
});
