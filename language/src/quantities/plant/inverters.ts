import { INVERTER_FACTS, INVERTER_INPUT, LINEAR_LOSS, QUADRATIC_LOSS } from '../../equipment/inverting.js';
import { type Leaf, evaluate, worked } from '../../equipment/formula/index.js';
import { type Derivation, type Result, derive, fromTable, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { invertingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { chemistry, inverterLossOf } from '../../reference/energy/index.js';
import { type InverterLoss, inverterDraw } from '../../solve/inverter-draw.js';
import { lowEnd } from '../ends.js';
import { banksAt } from '../supply/joined.js';
import type { Facts } from './facts.js';
import type { Buses } from './wiring.js';

const DAY = 86400;

/** An inverter as plain numbers in coherent SI. */
export interface InverterNumbers extends InverterLoss {
  readonly name: string;
  readonly bus: number;
  readonly cutOff: number;
  readonly reconnect: number;
  /** Ohm of its leads. */
  readonly leads: number;
}

/** Draw without load: as stated, else that usual for its rating. */
export function idlePower(inverter: Instance, context: DesignContext): Result {
  const stated = context.maybe(inverter, 'idle');
  if (stated) return known(stated);
  const rated = context.fact(inverter, 'rated');
  if (rated.kind !== 'known') return rated;
  const usual = inverterLossOf('highFrequency');
  return known(
    derive('draw without load', usual.idle * numberIn(rated.derivation, 'W'), 'W', {
      symbol: 'P_0',
      origin: 'default',
      formula: '1.2 %·P_rated',
      inputs: [rated.derivation],
      source: usual.source,
      notes: ['not stated: usual of an inverter of its rating, from memory'],
    }),
  );
}

/** Share of the day an inverter is switched on. */
export function onShare(inverter: Instance, context: DesignContext): Derivation {
  const hours = context.maybe(inverter, 'onTime');
  return derive(`share of the day ${inverter.name} is on`, hours ? numberIn(hours, 's') / DAY : 1, '', {
    symbol: 's_on',
    ...(hours ? { formula: 't_on/24 h', inputs: [hours] } : {}),
  });
}

/** The facts that its loss rests on, but for what it gives; what lacks of them. */
function lossFacts(inverter: Instance, context: DesignContext): ReadonlyMap<Leaf, Result> {
  const usual = inverterLossOf('highFrequency');
  const part = usual.linear / (usual.linear + usual.quadratic);
  return new Map<Leaf, Result>([
    [INVERTER_FACTS.rated, context.fact(inverter, 'rated')],
    [INVERTER_FACTS.efficiency, context.fact(inverter, 'efficiency')],
    [INVERTER_FACTS.idle, idlePower(inverter, context)],
    [INVERTER_FACTS.onShare, known(onShare(inverter, context))],
    [
      INVERTER_FACTS.linearPart,
      known(fromTable('linear part of the loss', part, '', usual.source, { symbol: 'a', notes: ['usual curve'] })),
    ],
  ]);
}

/** Direct power an inverter takes from its bus for a mean power that it gives. */
export function inverterInput(inverter: Instance, output: Derivation, context: DesignContext): Result {
  const facts = lossFacts(inverter, context);
  return worked(
    INVERTER_INPUT,
    inverter.name,
    (leaf) => {
      if (leaf === INVERTER_FACTS.output) return output;
      const found = facts.get(leaf);
      return found?.kind === 'known'
        ? leaf === INVERTER_FACTS.efficiency
          ? lowEnd(found.derivation)
          : found.derivation
        : undefined;
    },
    ({ key }) => `${key} of ${inverter.name}`,
  );
}

/** What it loses, as plain numbers of its facts, and the share of the day that it is on. */
function lossNumbers(
  inverter: Instance,
  context: DesignContext,
  numberOf: (result: Result, unit: string, leaf: Leaf) => number,
): InverterLoss & { readonly share: number; readonly idleWhileOn: number } {
  const numbers = new Map(
    [...lossFacts(inverter, context)].map(([leaf, result]) => [
      leaf,
      numberOf(result, leaf === INVERTER_FACTS.rated || leaf === INVERTER_FACTS.idle ? 'W' : '', leaf),
    ]),
  );
  const of = (leaf: Leaf): number => numbers.get(leaf) ?? NaN;
  const [idleWhileOn, share] = [of(INVERTER_FACTS.idle), of(INVERTER_FACTS.onShare)];
  return {
    share,
    idleWhileOn,
    idle: idleWhileOn * share,
    linear: evaluate(LINEAR_LOSS, of),
    quadratic: evaluate(QUADRATIC_LOSS, of),
  };
}

/** W that an inverter draws from its bus for W that it gives, as plain numbers; undefined where a fact lacks. */
export function inverterCurve(inverter: Instance, context: DesignContext): ((output: number) => number) | undefined {
  const loss = lossNumbers(inverter, context, (result, unit, leaf) =>
    result.kind === 'known'
      ? numberIn(leaf === INVERTER_FACTS.efficiency ? lowEnd(result.derivation) : result.derivation, unit)
      : NaN,
  );
  if (!Number.isFinite(loss.idle + loss.linear + loss.quadratic)) return undefined;
  return (output) => inverterDraw(loss, output);
}

/** Voltage at which an inverter cuts off, and starts again: as stated, else the bottom of its window, else as usual for the cells it hangs on. */
export function cutOffVoltages(
  inverter: Instance,
  context: DesignContext,
): { readonly cutOff: Result; readonly reconnect: Result } {
  const stated = (name: 'cutOff' | 'reconnect'): Derivation | undefined => context.maybe(inverter, name);
  const [bank] = banksAt(inverter, context);
  const word = bank && context.maybe(bank, 'chemistry')?.value;
  const row = typeof word === 'string' ? chemistry(word) : undefined;
  const count = bank ? context.quantity(bank, 'cellCount') : undefined;
  const usual = (name: string, perCell: number | undefined): Result =>
    perCell === undefined || !row || count?.kind !== 'known'
      ? { kind: 'missing', missing: [`${name} of ${inverter.name}`] }
      : known(
          derive(name === 'cutOff' ? 'cut-off' : 'reconnect voltage', perCell * numberIn(count.derivation, ''), 'V', {
            symbol: 'U_min',
            origin: 'default',
            formula: 'U_cell·n_c',
            inputs: [count.derivation],
            notes: [`not stated: usual for ${row.title}, from memory`],
          }),
        );
  const window = context.maybe(inverter, 'dcVoltage');
  const bottom = window && known({ ...lowEnd(window), symbol: 'U_min', name: 'lowest voltage of its window' });
  const cutOff = stated('cutOff');
  const found = cutOff ? known({ ...lowEnd(cutOff), symbol: 'U_min' }) : (bottom ?? usual('cutOff', row?.cutOff.from));
  const reconnect = stated('reconnect');
  return { cutOff: found, reconnect: reconnect ? known(reconnect) : usual('reconnect', row?.reconnect.from) };
}

/** An inverter as numbers. Facts that lack are noted; the numbers are then of no use. */
export function inverterNumbers(
  inverter: Instance,
  context: DesignContext,
  buses: Buses,
  facts: Facts,
): InverterNumbers {
  const at = invertingOf(inverter)!.from;
  const bus = buses.of(inverter, at);
  if (bus < 0) facts.lack(`what feeds ${inverter.name}`);
  const { share, idleWhileOn, ...loss } = lossNumbers(inverter, context, (result, unit) => facts.number(result, unit));
  if (share < 1)
    facts.assume(
      `the idle draw of ${inverter.name} counts as its mean over the day: its onTime is not simulated hour by hour`,
    );
  if (!context.maybe(inverter, 'idle'))
    facts.assume(
      `${inverter.name} is taken to draw ${Math.round(idleWhileOn)} W without load (${inverterLossOf('highFrequency').idle * 100} % of its rating, from memory)`,
    );
  return {
    name: inverter.name,
    bus,
    ...loss,
    ...thresholdNumbers(inverter, context, facts),
    leads: buses.leads(inverter, at),
  };
}

function thresholdNumbers(
  inverter: Instance,
  context: DesignContext,
  facts: Facts,
): Pick<InverterNumbers, 'cutOff' | 'reconnect'> {
  const found = cutOffVoltages(inverter, context);
  // Without a bank nothing is known of where it should cut off: it runs as long as its bus is up.
  const cutOff = found.cutOff.kind === 'known' ? facts.of(found.cutOff.derivation, 'V') : 0;
  const reconnect = found.reconnect.kind === 'known' ? facts.of(found.reconnect.derivation, 'V') : cutOff * 1.05;
  const taken = (volts: number): string => `${Number(volts.toPrecision(4))} V`;
  if (!context.maybe(inverter, 'cutOff'))
    facts.assume(`${inverter.name} is taken to cut off at ${taken(cutOff)}: no cutOff is stated`);
  if (!context.maybe(inverter, 'reconnect'))
    facts.assume(`${inverter.name} is taken to start again at ${taken(reconnect)}: no reconnect is stated`);
  return { cutOff, reconnect: Math.max(cutOff, reconnect) };
}
