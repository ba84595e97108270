import { mayUse } from '../../equipment/index.js';
import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { type QuantityContext, defineQuantity } from '../define.js';
import { highEnd } from '../ends.js';
import { connect, legCurrentOf, missingFrom, systemOf } from '../supply/supply.js';
import { collect, whenKnown } from '../worst.js';
import { type Behind, behindCables } from './behind-cables.js';
import { holdersOfBus, lowestBusVoltage } from './lowest-voltages.js';

export const loadPower = defineQuantity({
  name: 'totalPower',
  of: [mayUse],
  doc: 'Power of all pieces together when running.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'power'), context.fact(thing, 'count')]);
    if (!all.ok) return all.result;
    const [power, count] = all.derivations as [Derivation, Derivation];
    const one = highEnd(power);
    if (numberIn(count, '') === 1)
      return known({ ...one, name: `power of ${thing.name}`, symbol: `P_${thing.name}`, subject: thing.name });
    return known(
      derive(`power of ${thing.name}`, numberIn(one, 'W') * numberIn(count, ''), 'W', {
        symbol: `P_${thing.name}`,
        formula: 'P·n',
        inputs: [one, count],
        subject: thing.name,
      }),
    );
  },
});

const DAY = 86400;

export const dailyEnergy = defineQuantity({
  name: 'dailyEnergy',
  of: [mayUse],
  doc: 'Energy used in a day by its profile and duty.',
  unit: 'Wh',
  compute: (thing, context) => {
    const profile = thing.properties.get('profile')?.value;
    const duty = context.maybe(thing, 'duty');
    if (profile?.type !== 'profile' && !duty) return missing(`profile or duty of ${thing.name}`);
    return whenKnown(context.quantity(thing, 'totalPower'), (power) => {
      const seconds =
        profile?.type === 'profile'
          ? profile.windows.reduce((sum, window) => sum + (window.to - window.from) * window.share.value, 0)
          : DAY;
      const time = derive('full-power time in a day', seconds, 's', { symbol: 't' });
      const share = duty ? numberIn(duty, '') : 1;
      return known(
        derive(`energy of ${thing.name} in a day`, (numberIn(power, 'W') * seconds * share) / 3600, 'Wh', {
          symbol: 'E',
          formula: duty ? 'P·t·duty' : 'P·t',
          inputs: [power, time, ...(duty ? [duty] : [])],
        }),
      );
    });
  },
});

/** Leg current of an AC load on a source, at nominal voltage as load calculations of the codes do. */
export function loadCurrentOn(
  thing: Instance,
  source: Instance,
  context: QuantityContext,
): { result: Result; legs: readonly ('L1' | 'L2' | 'L3')[] } {
  const system = systemOf(source);
  if (!system) return { result: missing(`voltage of ${source.name}`), legs: [] };
  const connection = connect(thing, system, context);
  if (missingFrom(connection)) return { result: missing(connection.missing), legs: [] };
  const all = collect([context.quantity(thing, 'totalPower'), context.fact(thing, 'powerFactor')]);
  if (!all.ok) return { result: all.result, legs: connection.legs };
  const [power, factor] = all.derivations as [Derivation, Derivation];
  return {
    result: known({
      ...legCurrentOf(`current of ${thing.name}`, power, connection.voltage, factor, connection),
      symbol: `I_${thing.name}`,
      subject: thing.name,
    }),
    legs: connection.legs,
  };
}

const CURRENTS = query<Instance, Result>('current of a direct load');

/** Current of a DC load at what its cables leave of the lowest bus voltage, worked out once for each load. */
export const dcLoadCurrent = (thing: Instance, context: QuantityContext): Result =>
  context.kept(CURRENTS, thing, () => findLoadCurrent(thing, context));

function findLoadCurrent(thing: Instance, context: QuantityContext): Result {
  const all = collect([context.quantity(thing, 'totalPower'), lowestBusVoltage(thing, context)]);
  if (!all.ok) return all.result;
  const [power, lowest] = all.derivations as [Derivation, Derivation];
  const { voltage } = lowestAtLoad(thing, power, lowest, context);
  return known(
    derive(`current of ${thing.name}`, numberIn(power, 'W') / numberIn(voltage, 'V'), 'A', {
      symbol: `I_${thing.name}`,
      formula: `P/${voltage.symbol}`,
      inputs: [power, voltage],
      subject: thing.name,
      governing: [{ kind: 'lowestVoltage', of: 'bus' }],
    }),
  );
}

/** What the cables leave a load of the lowest voltage of its bus. */
function lowestAtLoad(thing: Instance, power: Derivation, lowest: Derivation, context: QuantityContext): Behind {
  const [node] = context.graph.nodesOf(thing);
  const least = context.maybe(thing, 'minimumVoltage');
  return node
    ? behindCables(node, numberIn(power, 'W'), lowest, holdersOfBus(thing, context), context, least)
    : { voltage: lowest, isCarried: true };
}

/** Whether the cables of a direct load carry its power while its bus is at the lowest voltage; so much is taken where facts lack. */
export function isCarriedAtLowest(thing: Instance, context: QuantityContext): boolean {
  const all = collect([context.quantity(thing, 'totalPower'), lowestBusVoltage(thing, context)]);
  if (!all.ok) return true;
  const [power, lowest] = all.derivations as [Derivation, Derivation];
  return lowestAtLoad(thing, power, lowest, context).isCarried;
}

export const loadQuantities = [loadPower, dailyEnergy];
