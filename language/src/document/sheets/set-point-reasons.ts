import { derive, numberIn } from '../../derivation/index.js';
import { kindOf } from '../../equipment/index.js';
import { formatNumber } from '../../quantity/index.js';
import type { Instance } from '../../model/types.js';
import type { SetPoint, SetPointRole } from '../../quantities/storage/set-points.js';
import { said } from '../cells.js';

type RoleOf<K extends SetPointRole['kind']> = Extract<SetPointRole, { readonly kind: K }>;

/** What a limit of the bank means for what is set. Each names a fact of the bank, which the appendix derives. */
const LIMITS: Readonly<Record<RoleOf<'limit'>['quantity'], string>> = {
  protectionVoltage:
    'Limit of the bank, not set here: all charging stays below it, else its BMS disconnects the bank during charge.',
  chargeVoltageLimit: 'Limit of the bank, not set here: no charger is set above it.',
  lowestVoltage: 'Limit of the bank, not set here: loads must be off before the bank reaches it.',
};

/** What the property itself is for: as the design says it, else as its kind does. */
export const purposeOf = (instance: Instance, name: string): string =>
  instance.properties.get(name)?.note ??
  kindOf(instance.kind)?.properties.find((property) => property.name === name)?.doc ??
  '';

/**
 * Why a set point stands where it does: what it is for, and the set point that it must keep its distance from, with the distance there is.
 * `points` are all of one bank along one axis, in `unit`.
 */
export function reasonOfSetPoint(point: SetPoint, points: readonly SetPoint[], unit: string): string {
  const { role } = point;
  switch (role.kind) {
    case 'limit':
      return LIMITS[role.quantity];
    case 'charge': {
      const limits = points.filter((each) => each.role.kind === 'limit' && each.role.quantity !== 'lowestVoltage');
      return sentences(purposeOf(role.at, role.property), distance(point, lowestOf(limits, unit), 'below', unit));
    }
    case 'cutOff': {
      const lowest = points.find((each) => each.role.kind === 'limit' && each.role.quantity === 'lowestVoltage');
      return sentences(purposeOf(role.at, role.property), distance(point, lowest, 'above', unit));
    }
    case 'reconnect': {
      const cutOff = points.find((each) => each.role.kind === 'cutOff' && each.role.at === role.at);
      return sentences(purposeOf(role.at, role.property), distance(point, cutOff, 'above', unit));
    }
    case 'rule':
      return sentences(role.at.doc ?? '', ...ruleDistances(point, role, points, unit));
  }
}

/** A rule keeps apart from the one that undoes it, and acts before what would come in its place. */
function ruleDistances(
  point: SetPoint,
  { at, rule, without }: RoleOf<'rule'>,
  points: readonly SetPoint[],
  unit: string,
): string[] {
  const isOn = (verb: string): boolean => verb === 'start' || verb === 'on';
  const counter = points.find(
    ({ role }) =>
      role.kind === 'rule' && role.at === at && role.without === without && isOn(role.rule.verb) !== isOn(rule.verb),
  );
  const isLow = rule.thresholds.some(({ comparison }) => comparison.startsWith('<'));
  const cutOffs = points.filter((each) => each.role.kind === 'cutOff');
  return [
    distance(point, counter, isLow ? 'below' : 'above', unit),
    // What acts as the bank empties is of use only before the inverters give up.
    isLow ? distance(point, highestOf(cutOffs, unit), 'above', unit) : '',
  ];
}

const heightOf = ({ value }: SetPoint, unit: string): number => numberIn(value, unit);

const lowestOf = (points: readonly SetPoint[], unit: string): SetPoint | undefined =>
  [...points].sort((a, b) => heightOf(a, unit) - heightOf(b, unit))[0];

const highestOf = (points: readonly SetPoint[], unit: string): SetPoint | undefined =>
  [...points].sort((a, b) => heightOf(b, unit) - heightOf(a, unit))[0];

/** `1.6 V below 57.6 V (highest charge voltage of Bank)`, or that it is not where it has to be. */
function distance(point: SetPoint, from: SetPoint | undefined, side: 'below' | 'above', unit: string): string {
  if (!from) return '';
  const apart = (heightOf(point, unit) - heightOf(from, unit)) * (side === 'below' ? -1 : 1);
  const other = `${said(from.value)} (${from.what})`;
  // Differences of what was written in decimals are rounded as they were written.
  const gap = Number(apart.toPrecision(10));
  const text =
    unit === '' || unit === '1'
      ? `${formatNumber(gap * 100, 3)} percentage points`
      : said(derive('distance', gap, unit));
  return gap > 0 ? `${text} ${side} ${other}` : `Not ${side} ${other}: look at both`;
}

const sentences = (...parts: readonly string[]): string =>
  parts
    .filter(Boolean)
    .map((part) => (/[.!?]$/.test(part) ? part : `${part}.`))
    .join(' ');
