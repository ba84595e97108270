import { isInverter } from '../../model/roles.js';
import type { PropertyName } from '../../equipment/index.js';
import { type Derivation, deriveQuantity, displayValue } from '../../derivation/index.js';
import type { Control, Instance, Link, Rule } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { isProtected } from './bank.js';
import { banksAt, chargersOf } from '../supply/joined.js';
import { setPointsOf } from '../plant/chargers.js';

/** What a set point is: a limit of the bank, which nobody sets, or where something is set to act. */
export type SetPointRole =
  | { readonly kind: 'limit'; readonly quantity: 'protectionVoltage' | 'chargeVoltageLimit' | 'lowestVoltage' }
  | { readonly kind: 'charge' | 'cutOff' | 'reconnect'; readonly at: Instance; readonly property: PropertyName }
  | { readonly kind: 'rule'; readonly at: Control; readonly rule: Rule; readonly without?: Link };

/** A value at which something acts on a bank. */
export interface SetPoint {
  /** What acts: `Inv cuts off`, `Autostart starts Genset`. */
  readonly what: string;
  readonly value: Derivation;
  readonly role: SetPointRole;
}

const VERBS = { start: 'starts', stop: 'stops', on: 'switches on', off: 'switches off' } as const;

/**
 * Everything that acts at a voltage or a state of charge of a bank, from high to low: its protection, chargers, inverters, and the rules
 * of controls. What is not stated is left out.
 */
export function setPointsInOrder(bank: Instance, signal: 'voltage' | 'soc', context: QuantityContext): SetPoint[] {
  const points = [
    ...(signal === 'voltage' ? [...ofTheBank(bank, context), ...ofConverters(bank, context)] : []),
    ...context.system.controls.flatMap((control) => ofRules(control, bank, signal)),
  ];
  const height = ({ value: { value } }: SetPoint): number => (typeof value === 'object' ? value.value : 0);
  return points.sort((left, right) => height(right) - height(left));
}

function ofTheBank(bank: Instance, context: QuantityContext): SetPoint[] {
  const known = (quantity: 'protectionVoltage' | 'chargeVoltageLimit' | 'lowestVoltage', what: string): SetPoint[] => {
    const result = context.quantity(bank, quantity);
    return result.kind === 'known' ? [{ what, value: result.derivation, role: { kind: 'limit', quantity } }] : [];
  };
  return [
    ...known('protectionVoltage', `the BMS of ${bank.name} disconnects above this`),
    ...known('chargeVoltageLimit', `highest charge voltage of ${bank.name}`),
    ...known(
      'lowestVoltage',
      isProtected(bank, context)
        ? `the BMS of ${bank.name} disconnects below this`
        : `${bank.name} is not discharged below this`,
    ),
  ];
}

function ofConverters(bank: Instance, context: QuantityContext): SetPoint[] {
  const chargers = chargersOf(bank, context).flatMap((charger) =>
    setPointsOf(charger, context).map(({ name, point }) => ({
      what: `${name} of ${charger.name}`,
      value: point,
      role: { kind: 'charge' as const, at: charger, property: name },
    })),
  );
  const inverters = context.system.instances
    .filter((each) => isInverter(each) && banksAt(each, context).includes(bank))
    .flatMap((inverter) => {
      const stated = (name: 'cutOff' | 'reconnect', what: string): SetPoint[] => {
        const value = context.maybe(inverter, name);
        const role = { kind: name, at: inverter, property: name };
        return value ? [{ what: `${inverter.name} ${what}`, value, role }] : [];
      };
      return [...stated('cutOff', 'cuts off'), ...stated('reconnect', 'reconnects')];
    });
  return [...chargers, ...inverters];
}

function ofRules(control: Control, bank: Instance, signal: string): SetPoint[] {
  const thresholds = (title: string, rules: readonly Rule[], without?: Link): SetPoint[] =>
    rules.flatMap((rule) =>
      rule.thresholds
        .filter((each) => each.signal === signal && each.of === bank)
        .map(({ limit, comparison, limitPlace }) => ({
          what: `${title} ${VERBS[rule.verb]} ${control.target.name} ${comparison.startsWith('<') ? 'below' : 'above'}`,
          value: deriveQuantity(`threshold of ${control.name}`, limit, { origin: 'stated', place: limitPlace }),
          role: { kind: 'rule' as const, at: control, rule, ...(without ? { without } : {}) },
        })),
    );
  return [
    ...thresholds(control.name, control.rules),
    ...control.fallbacks.flatMap(({ link, rules }) => thresholds(`${control.name} without ${link.name}`, rules, link)),
  ];
}

/** Set points in one line: `58.4 V the BMS of Bank disconnects above this, 56 V absorb of Rect, …`. */
export const setPointsText = (points: readonly SetPoint[]): string =>
  points.map(({ what, value }) => `${displayValue(value)} ${what}`).join(', ');
