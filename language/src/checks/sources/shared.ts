import { firstFew } from '../text/wording.js';
import { groupCapacity, groupChargeLimit } from '../../quantities/storage/bank-group.js';
import type { PropertyName } from '../../equipment/index.js';
import { type Derivation, type Source, derive, displayValue, numberIn, boundOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { chargersFedBy } from '../../quantities/supply/source-demand.js';
import { deliveredIn, loadIn } from '../../quantities/demand/steady-load.js';
import { collect } from '../../quantities/worst.js';
import type { Fix } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import {
  chargingOf,
  isConnection,
  isDevice,
  isSet,
  isSwitchgear,
  ownDeviceOf,
  ownDeviceTitle,
  passingOf,
} from '../../model/roles.js';
import { banksAt, chargersOf, isCharging, modulesBehind } from '../../quantities/supply/joined.js';
import { chargeVoltage } from '../../quantities/supply/chargers.js';
import { chargeEfficiency, inputPowerFactor } from '../../quantities/plant/chargers.js';

export const PRACTICE: Source = { standard: 'common practice, no source', provenance: 'common practice, no source' };

/** A set point rounded down to a step chargers can be set to. */
export const roundDown = (value: number, step: number): number =>
  Number((Math.floor(value / step + 1e-9) * step).toFixed(3));
export const roundUp = (value: number, step: number): number =>
  Number((Math.ceil(value / step - 1e-9) * step).toFixed(3));

/** The terminal at which what charges from an alternating supply, or passes it on, takes it. */
export const inputTerminal = (charger: Instance): string => {
  const supply = chargingOf(charger)?.supply;
  return supply?.kind === 'alternating' ? supply.at : passingOf(charger)!.from[0]!;
};

/** The sources that can feed a charger, each once. */
export function sourcesOf(charger: Instance, context: DesignContext): Instance[] {
  const key = `${charger.name}.${inputTerminal(charger)}`;
  return [...new Set(context.circuitStates.flatMap(({ circuit }) => [...(circuit.supply.get(key) ?? [])]))];
}

/** Something in the path of a current that limits it. */
export interface PathLimit {
  readonly current: Derivation;
  /** `breaker Main`, `the L14-30 outlet of Genset`. */
  readonly title: string;
  /** Whether it is listed for all of its rating for hours. */
  readonly isFullyRated: boolean;
}

/** The AC runs that carry the input current of a charger from one source, in no particular order. */
export function runsTo(charger: Instance, source: Instance, terminal: string, context: DesignContext): Run[] {
  const key = `${charger.name}.${terminal}`;
  const circuits = context.circuitStates
    .map(({ circuit }) => circuit)
    .filter((circuit) => circuit.supply.get(key)?.has(source));
  return context.system.runs.filter(
    (run) =>
      run.carries === 'ac' &&
      circuits.some((circuit) => {
        const flow = acFlow(run, circuit, context);
        return flow !== undefined && flow.sources.includes(source) && flow.nodes.has(key);
      }),
  );
}

const leadsTo = (start: Node, key: string, run: Run, context: DesignContext): boolean =>
  context.graph.reach(start, run).has(key);

/** What limits the current between a source and a charger: devices, receptacles and plugs in the path, the outlet and breaker of the source. */
export function pathLimits(charger: Instance, source: Instance, terminal: string, context: DesignContext): PathLimit[] {
  const limits: PathLimit[] = [];
  const add = (owner: Instance, property: PropertyName, title: string): void => {
    const current = context.maybe(owner, property);
    const isFullyRated = context.maybe(owner, 'fullRating')?.value === true;
    if (current) limits.push({ current, title, isFullyRated });
  };
  const plugOf = (owner: Instance, property: string, title: string): void => {
    const value = owner.properties.get(property)?.value;
    if (value?.type !== 'part') return;
    const rating = value.part.properties.get('rating')?.value;
    if (rating?.type === 'quantity')
      limits.push({
        current: {
          name: `rating of ${value.part.name}`,
          value: rating.quantity,
          unit: 'A',
          origin: 'stated',
          inputs: [],
          notes: [],
          parts: {},
        },
        title: title.replace('%', value.part.name),
        isFullyRated: false,
      });
  };
  const key = `${charger.name}.${terminal}`;
  for (const run of runsTo(charger, source, terminal, context)) {
    // Of several far ends only the one towards the charger carries its current.
    const ends =
      run.to.length === 1 ? run.to : run.to.filter((stop) => leadsTo(context.graph.nodeOf(stop), key, run, context));
    for (const { instance } of [run.from, ...run.through, ...ends]) {
      if (isDevice(instance) || isConnection(instance) || isSwitchgear(instance))
        add(instance, 'rating', `${instance.kind} ${instance.name}`);
      if (isConnection(instance))
        for (const side of ['plug', 'outlet']) plugOf(instance, side, `the % ${side} of ${instance.name}`);
    }
  }
  const own = ownDeviceOf(source);
  if (own) add(source, own.rating, ownDeviceTitle(source));
  plugOf(source, 'outlet', `the % outlet of ${source.name}`);
  plugOf(charger, 'plug', `the % plug of ${charger.name}`);
  return limits.sort((a, b) => numberIn(a.current, 'A') - numberIn(b.current, 'A'));
}

/** Share of capacity per hour that must be left for a bank, so that a charge ends within 20 hours (common practice, no source). */
const LEAST_RATE = 0.05;

/** Current that must be left for the bank: 5 % of its capacity an hour. */
export function leastCurrent(bank: Instance, context: DesignContext): Derivation | undefined {
  const capacity = groupCapacity(bank, context);
  if (capacity.kind !== 'known') return undefined;
  const share = derive('least charge rate', LEAST_RATE, 'C', {
    symbol: 'r',
    notes: ['a full charge within 20 hours; common practice, no source'],
  });
  return derive('least current for the bank', numberIn(capacity.derivation, 'Ah') * LEAST_RATE, 'A', {
    symbol: 'I_least',
    formula: 'C·r',
    inputs: [capacity.derivation, share],
  });
}

/** Input a charger takes for each ampere of output: active and apparent power at its highest charge voltage. */
export function inputPerAmpere(
  charger: Instance,
  context: DesignContext,
): { readonly W: number; readonly VA: number } | undefined {
  const all = collect([
    chargeVoltage(charger, context),
    chargeEfficiency(charger, context),
    inputPowerFactor(charger, context),
  ]);
  if (!all.ok) return undefined;
  const [voltage, efficiency, factor] = all.derivations as [Derivation, Derivation, Derivation];
  const watts = numberIn(voltage, 'V') / numberIn(efficiency, '');
  return { W: watts, VA: watts / numberIn(factor, '') };
}

/** What is left for a charger's banks at given limits would still be enough, in every state in which one AC source charges them. */
function keepsCharging(limits: ReadonlyMap<Instance, number>, context: DesignContext): boolean {
  const banks = new Set([...limits.keys()].flatMap((charger) => banksAt(charger, context)));
  return [...banks].every((bank) =>
    context.circuitStates.every(({ state, circuit }) => {
      if (state.acSources.length !== 1 || state.dcSources.length > 0) return true;
      const working = chargersOf(bank, context).filter((each) =>
        isCharging(each, context, state.dcSources, circuit.supply),
      );
      const load = loadIn(bank, circuit, context);
      if (!working.some((each) => limits.has(each))) return true;
      // What the loads take is not known: then it is not known either whether anything is left.
      if (load.kind !== 'known') return false;
      const given = working.map((each) => {
        const current = deliveredIn(each, bank, circuit, context);
        const amperes = current.kind === 'known' ? numberIn(current.derivation, 'A') : 0;
        return Math.min(amperes, limits.get(each) ?? Infinity);
      });
      const left = given.reduce((sum, each) => sum + each, 0) - numberIn(load.derivation, 'A');
      const least = leastCurrent(bank, context);
      return left > 0 && least !== undefined && left >= numberIn(least, 'A');
    }),
  );
}

/** A limit that is exceeded, as seen from one charger: what the charger takes of it, what it takes for each ampere, and the excess. */
export interface Burden {
  readonly share: number;
  readonly perAmpere: number;
  readonly excess: number;
}

/** Output limits in A, by charger. */
type OutputLimits = ReadonlyMap<Instance, number>;

/** `Limit Rect to 40 A and Shore to 20 A`. */
export const limitsText = (limits: OutputLimits): string =>
  `Limit ${[...limits].map(([{ name }, amperes]) => `${name} to ${amperes} A`).join(' and ')}`;

/** The property in which a charger states the current it is set to. */
const settingOf = (charger: Instance): PropertyName => chargingOf(charger)?.bounds.setting ?? 'currentLimit';

/** Fixes that set output limits, the first of them preferred, with what that is good for where it is told. */
export const limitFixes = (all: readonly OutputLimits[], purpose = ''): Fix[] =>
  all.map((limits, at) =>
    propose(
      `${limitsText(limits)}${purpose}`,
      [...limits].map(([charger, amperes]) => setProperty(charger, settingOf(charger), `${amperes} A`)),
      at === 0,
    ),
  );

/** Fixes that turn chargers down, as `turnedDown` finds them. */
export const turnDown = (
  chargers: readonly { readonly charger: Instance; readonly burdens: readonly Burden[] }[],
  context: DesignContext,
): Fix[] => limitFixes(turnedDown(chargers, context));

/**
 * Output limits at which nothing is exceeded any more: one charger turned down, or all of them alike where one alone is not enough.
 * Limits that would leave too little for a bank are not proposed.
 */
export function turnedDown(
  chargers: readonly { readonly charger: Instance; readonly burdens: readonly Burden[] }[],
  context: DesignContext,
): OutputLimits[] {
  const works = (limits: OutputLimits): boolean =>
    [...limits.values()].every((amperes) => amperes >= 1) && keepsCharging(limits, context);
  const least = (burdens: readonly Burden[], left: (burden: Burden) => number): number =>
    roundDown(Math.min(...burdens.map((burden) => left(burden) / burden.perAmpere)), 1);
  const usable = chargers.filter(({ burdens }) => burdens.length > 0);
  const alone = usable
    .map(({ charger, burdens }) => new Map([[charger, least(burdens, ({ share, excess }) => share - excess)]]))
    .filter(works);
  if (alone.length > 0) return alone;
  const count = Math.max(0, ...usable.map(({ burdens }) => burdens.length));
  const totals = Array.from({ length: count }, (_, index) =>
    usable.reduce((sum, { burdens }) => sum + (burdens[index]?.share ?? 0), 0),
  );
  const together = new Map(
    usable.map(({ charger, burdens }) => [
      charger,
      roundDown(
        Math.min(
          ...burdens.map(({ share, perAmpere, excess }, index) => (share * (1 - excess / totals[index]!)) / perAmpere),
        ),
        1,
      ),
    ]),
  );
  return usable.length > 1 && works(together) ? [together] : [];
}

/** Output limits higher by `shortBy` A, where charger, bank and generator are known to take them. */
export function turnUp(bank: Instance, working: readonly Instance[], shortBy: number, context: DesignContext): Fix[] {
  const limit = groupChargeLimit(bank, context, 'worst');
  const total = context.quantity(bank, 'chargeCurrent');
  return working
    .flatMap((charger) => {
      const now = context.quantity(charger, 'outputCurrent');
      const most = context.maybe(charger, 'maximumCurrent');
      // A charger held by another bound than its setting does not give more for a higher one.
      if (now.kind !== 'known' || boundOf(now.derivation) !== 'setting' || modulesBehind(charger, context).length > 0)
        return [];
      const amperes = roundUp(numberIn(now.derivation, 'A') + shortBy, 5);
      const more = amperes - numberIn(now.derivation, 'A');
      if (most && amperes > numberIn(most, 'A')) return [];
      if (
        limit.kind !== 'known' ||
        total.kind !== 'known' ||
        numberIn(total.derivation, 'A') + more > numberIn(limit.derivation, 'A')
      )
        return [];
      return isFed(charger, more, context) ? [{ charger, amperes }] : [];
    })
    .map(({ charger, amperes }, index) =>
      propose(
        `Raise the limit of ${charger.name} to ${amperes} A`,
        [setProperty(charger, settingOf(charger), `${amperes} A`)],
        index === 0,
      ),
    );
}

/** Whether every generator that feeds a charger has the power for more output current. */
function isFed(charger: Instance, more: number, context: DesignContext): boolean {
  const perAmpere = inputPerAmpere(charger, context);
  return context.system.instances
    .filter((source) => isSet(source) && chargersFedBy(source, context).includes(charger))
    .every((source) => {
      const both = collect([context.quantity(source, 'powerDemand'), context.quantity(source, 'usablePower')]);
      if (!both.ok || !perAmpere) return false;
      const [demand, usable] = both.derivations as [Derivation, Derivation];
      return numberIn(demand, 'W') + more * perAmpere.W <= numberIn(usable, 'W');
    });
}

/** The terms of a sum for messages: `Rect 4.3 kW, Lights 0.2 kW`; nothing for a sum of one. */
export function termsOf(sum: Derivation): string {
  const parts = sum.inputs.filter((input) => typeof input.value === 'object' && input.value.value !== 0);
  return parts.length < 2
    ? ''
    : firstFew(
        parts.map((input) => `${termName(input)} ${displayValue(input, 3)}`),
        4,
      );
}

/** What a term of a sum is called: by its thing where it is the current or power of one. */
const termName = ({ subject, name }: Derivation): string => subject ?? name;

/** The terms of a sum for messages, those of a sum of one by name alone. */
/** What a sum is made of, by name. */
export const termNames = (sum: Derivation): string[] =>
  sum.inputs.filter((input) => typeof input.value === 'object' && input.value.value !== 0).map(termName);

export const termsOrNames = (sum: Derivation): string => termsOf(sum) || firstFew(sum.inputs.map(termName));
