import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { resistanceAt } from '../../quantities/conductors/conductor.js';
import { sumOf } from '../../quantities/worst.js';
import { wayFrom } from './faults.js';
import { flagIn } from '../../model/stated-facts.js';
import { directSideOf, isInverter, isPlainCharger } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';
import { lowestInverterVoltage } from '../../quantities/demand/lowest-voltages.js';

/** What is lost between a bank and the converter at the end of a run, over every run of the way, against what may be lost. */
export interface WayDrop {
  readonly kind: 'surge' | 'charge';
  /** The inverter or charger. */
  readonly converter: Instance;
  readonly bank: Instance;
  readonly current: Derivation;
  readonly drop: Derivation;
  readonly allowed: Derivation;
}

const ends = (run: Run): readonly Instance[] => [run.from, ...run.to].map(({ instance }) => instance);

/** Resistance out and back of the way from a bank to a converter, warm, as if `run` were of `size`; undefined where a fact lacks. */
function wayResistance(
  run: Run,
  size: Derivation,
  bank: Instance,
  converter: Instance,
  context: DesignContext,
): Derivation | undefined {
  const node = context.graph.nodes.get(`${converter.name}.${directSideOf(converter)}`);
  const way = node && wayFrom(bank, node, context);
  // With several ways the current divides; what each carries is not known here.
  if (!way?.runs.includes(run) || way.runs.some((each) => context.graph.sides(each).loop)) return undefined;
  const loops = way.runs.map((each) => {
    const area = each === run ? size : context.maybe(each, 'size');
    const length = context.maybe(each, 'length');
    const one = area && length && resistanceAt(each, area, length, undefined, context);
    return one?.kind === 'known'
      ? derive(`loop of ${each.name}`, 2 * numberIn(one.derivation, 'ohm'), 'ohm', {
          symbol: `R_${each.name}`,
          formula: '2·R',
          inputs: [one.derivation],
        })
      : undefined;
  });
  if (!loops.every((loop) => loop !== undefined)) return undefined;
  return sumOf('resistance out and back', 'R', 'ohm', loops);
}

const lost = (name: string, current: Derivation, resistance: Derivation): Derivation =>
  derive(name, numberIn(current, 'A') * numberIn(resistance, 'ohm'), 'V', {
    symbol: 'ΔU',
    formula: 'I·R',
    inputs: [current, resistance],
  });

/**
 * Surge: at the voltage where the inverter cuts off it draws P_surge/(η·U_cut); the bank's nominal voltage less what its own lowest
 * resistance takes must leave more than the cables take. Where the bank alone is too weak no cable helps, and nothing is said here.
 */
function surgeDrop(run: Run, size: Derivation, inverter: Instance, context: DesignContext): WayDrop | undefined {
  const [bank] = banksAt(inverter, context);
  if (!bank || !context.maybe(inverter, 'surge')) return undefined;
  const current = context.quantity(inverter, 'surgeCurrent');
  const nominal = context.quantity(bank, 'bankVoltage');
  const cutOff = lowestInverterVoltage(inverter, context);
  const resistance = wayResistance(run, size, bank, inverter, context);
  if (current.kind !== 'known' || nominal.kind !== 'known' || cutOff.kind !== 'known' || !resistance) return undefined;
  const inner = context.quantity(bank, 'bankResistance');
  const innerOhms =
    inner.kind === 'known' && typeof inner.derivation.value === 'object' ? inner.derivation.value.low : 0;
  const sag = numberIn(current.derivation, 'A') * innerOhms;
  const left = numberIn(nominal.derivation, 'V') - sag - numberIn(cutOff.derivation, 'V');
  if (left <= 0) return undefined;
  const allowed = derive('voltage the cables may lose', left, 'V', {
    formula: 'U_nom − I·R_bank − U_cut',
    inputs: [
      nominal.derivation,
      current.derivation,
      ...(inner.kind === 'known' ? [inner.derivation] : []),
      cutOff.derivation,
    ],
    notes: inner.kind === 'known' ? [] : ['resistance of the bank is not known and left out'],
  });
  const drop = lost('voltage lost at surge', current.derivation, resistance);
  return { kind: 'surge', converter: inverter, bank, current: current.derivation, drop, allowed };
}

/** Charge: a charger that measures at its own terminals takes the loss for charge. */
function chargeDrop(run: Run, size: Derivation, charger: Instance, context: DesignContext): WayDrop | undefined {
  if (flagIn(charger.properties, 'remoteSense')) return undefined;
  const [bank] = banksAt(charger, context);
  const absorb = context.maybe(charger, 'absorb');
  const current = context.quantity(charger, 'outputCurrent');
  if (!bank || !absorb || current.kind !== 'known') return undefined;
  const resistance = wayResistance(run, size, bank, charger, context);
  if (!resistance) return undefined;
  const share = context.setting('chargeDropLimit');
  if (!share) return undefined;
  const allowed = derive('voltage that may be lost while charging', numberIn(share, '') * numberIn(absorb, 'V'), 'V', {
    formula: 'share·U',
    inputs: [share, absorb],
  });
  const drop = lost('voltage lost while charging', current.derivation, resistance);
  return { kind: 'charge', converter: charger, bank, current: current.derivation, drop, allowed };
}

/** The losses on the way between a bank and the inverter or charger at an end of a run, as if the run were of `size`. */
export function wayDrops(run: Run, size: Derivation, context: DesignContext): WayDrop[] {
  if (run.carries !== 'dc') return [];
  return [...new Set(ends(run))].flatMap((instance) => {
    if (isInverter(instance)) return surgeDrop(run, size, instance, context) ?? [];
    return isPlainCharger(instance) ? (chargeDrop(run, size, instance, context) ?? []) : [];
  });
}

export const isTooMuch = ({ drop, allowed }: WayDrop): boolean =>
  numberIn(drop, 'V') > numberIn(allowed, 'V') * (1 + 1e-9);
