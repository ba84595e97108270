import { type Derivation, type Result, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { leadVoltage, openCircuitCurve } from '../../reference/energy/index.js';
import { highEnd } from '../ends.js';
import { type PolarisationSpan, groupCapacity, groupOf, groupPolarisation, groupResistance } from './bank-group.js';

/** Halvings of the charge between empty and full: to less than a hundredth of a percent. */
const HALVINGS = 14;

/** How far a current moves the voltage of a bank, at the ends of its facts that move it most. */
export class VoltageMoves {
  constructor(
    /** Ohm of all banks of the bus together. */
    private readonly resistance: Derivation,
    private readonly polarisation: PolarisationSpan | undefined,
    /** V at rest by state of charge, ascending; undefined where none are known of its chemistry. */
    private readonly rest: readonly (readonly [soc: number, volts: number])[] | undefined,
  ) {}

  /** V by which voltages under current may lie off the model: 0 for chemistries that do not polarise. */
  get band(): number {
    return this.polarisation?.band ?? 0;
  }

  /** How far the bank sags under a current at a state of charge. */
  sag(current: Derivation, soc: number): Derivation {
    const beside = this.polarisation && this.beside('polarisation', this.polarisation.discharge(soc).high, soc);
    return this.moved('sag', current, beside, 0);
  }

  /** How far a charge lifts it. */
  rise(current: Derivation, soc: number): Derivation {
    const beside = this.polarisation && this.beside('polarisation on charge', this.polarisation.charge(soc).high, soc);
    return this.moved('rise', current, beside, this.polarisation?.offset ?? 0);
  }

  private beside(name: string, ohms: number, soc: number): Derivation {
    return derive(name, ohms, 'ohm', { symbol: 'R_pol', notes: [`at ${Math.round(soc * 100)} % of charge`] });
  }

  private moved(name: string, current: Derivation, beside: Derivation | undefined, offset: number): Derivation {
    const ohms = numberIn(this.resistance, 'ohm') + (beside ? numberIn(beside, 'ohm') : 0);
    return derive(name, ohms * numberIn(current, 'A') + offset, 'V', {
      symbol: 'ΔU',
      formula: `${beside ? '(R + R_pol)·I' : 'R·I'}${offset > 0 ? ' + U_0' : ''}`,
      inputs: [
        this.resistance,
        ...(beside ? [beside] : []),
        current,
        ...(offset > 0 ? [derive('step of a charge', offset, 'V', { symbol: 'U_0' })] : []),
      ],
    });
  }

  /**
   * The state of charge at which the voltage under a load falls to a limit; `off` (V) is how far the bank lies off the model. Undefined
   * where no rest voltages of its chemistry are known.
   */
  chargeAt(volts: number, load: Derivation, off = 0): number | undefined {
    const { rest } = this;
    if (!rest) return undefined;
    const isBelow = (soc: number): boolean => between(rest, soc) - numberIn(this.sag(load, soc), 'V') + off < volts;
    if (!isBelow(0)) return 0;
    let [low, high] = [0, 1];
    for (let round = 0; round < HALVINGS; round += 1) {
      const middle = (low + high) / 2;
      if (isBelow(middle)) low = middle;
      else high = middle;
    }
    return high;
  }
}

/** V on straight lines between points. */
function between(points: readonly (readonly [soc: number, volts: number])[], soc: number): number {
  const at = Math.max(
    1,
    points.findIndex(([charge]) => charge >= soc),
  );
  const [[from, low], [to, high]] = [points[at - 1]!, points[at]!];
  return low + ((high - low) * (soc - from)) / (to - from);
}

/** How a current moves the voltage of a bank, or what lacks to know it. */
export function voltageMoves(
  bank: Instance,
  context: DesignContext,
): VoltageMoves | Exclude<Result, { kind: 'known' }> {
  const [chemistry, count, own] = [
    context.fact(bank, 'chemistry'),
    context.quantity(bank, 'cellCount'),
    context.quantity(bank, 'bankResistance'),
  ];
  for (const each of [chemistry, count, own]) if (each.kind !== 'known') return each;
  const [name, cells, resistance] = [chemistry, count, own].map(
    (each) => (each as Extract<Result, { kind: 'known' }>).derivation,
  ) as [Derivation, Derivation, Derivation];
  const curve = openCircuitCurve(String(name.value));
  const series = numberIn(cells, '');
  const capacity = groupCapacity(bank, context);
  // What a lead-acid bank sags beside its resistance follows from its capacity.
  if (capacity.kind !== 'known' && leadVoltage(String(name.value))) return capacity;
  const polarisation =
    capacity.kind === 'known'
      ? groupPolarisation(bank, series, 3600 * numberIn(capacity.derivation, 'Ah'), context)
      : undefined;
  const together = groupOf(bank, context).length > 1 ? groupResistance(bank, context) : undefined;
  const all = together
    ? derive('resistance of the banks together', together.high, 'ohm', { symbol: 'R', inputs: [resistance] })
    : highEnd(resistance);
  return new VoltageMoves(
    all,
    polarisation,
    curve?.points.map(([soc, volts]) => [soc, volts * series] as const),
  );
}
