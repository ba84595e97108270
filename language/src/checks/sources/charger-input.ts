import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn, boundOf, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { connect, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { ruleValue } from '../../reference/index.js';
import { defineCheck, type Fix, type Verdict, atMost } from '../define.js';
import { beforeOthers, hasSupplies, limitInput } from '../input-limit.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { inputTerminal, type PathLimit, pathLimits, PRACTICE, roundDown, sourcesOf, turnDown } from './shared.js';
import { isAcCharger } from '../../model/roles.js';
import { chargeVoltage, chargerInputOn } from '../../quantities/supply/chargers.js';
import { chargeEfficiency, inputPowerFactor } from '../../quantities/plant/chargers.js';

function limitFixes(
  charger: Instance,
  source: Instance,
  current: Derivation,
  most: number,
  context: DesignContext,
): Fix[] {
  const output = context.quantity(charger, 'outputPower');
  const voltage = chargeVoltage(charger, context);
  if (output.kind !== 'known' || voltage.kind !== 'known') return [];
  const drawn = numberIn(current, 'A');
  const perAmpere = (drawn * numberIn(voltage.derivation, 'V')) / numberIn(output.derivation, 'W');
  const fixes = turnDown([{ charger, burdens: [{ share: drawn, perAmpere, excess: drawn - most }] }], context);
  const input = roundDown(most, 1);
  if (input < 1) return fixes;
  // With supplies of its own for each cord, the one that is too weak has its own limit; the others keep theirs.
  if (hasSupplies(charger, context)) return beforeOthers(limitInput(charger, source, input, true, context), fixes);
  return [...fixes, limitInput(charger, source, input, fixes.length === 0, context)];
}

/**
 * What the way to a charger carries for hours, A: outside IEC practice 80 % of each rating, as `plug-continuous` asks, and all of that of a
 * device that is listed for it.
 */
function mostForHours(limits: readonly PathLimit[], context: DesignContext): number {
  const share = context.system.basis.practice === 'iec' ? 1 : numberIn(ruleValue('nec', 'plugContinuousShare'), '');
  return Math.min(...limits.map(({ current, isFullyRated }) => numberIn(current, 'A') * (isFullyRated ? 1 : share)));
}

/** Whether the same charger would fit across both legs of a split-phase supply. */
function bothLegsHint(charger: Instance, source: Instance, context: DesignContext): string {
  const system = systemOf(source);
  if (system?.phases !== 'split') return '';
  const connection = connect(charger, system, context);
  if (missingFrom(connection) || connection.legs.length > 1) return '';
  const window = context.maybe(charger, 'input')?.value;
  return typeof window === 'object' && window.high >= system.lineToLine
    ? `Across both legs (${system.lineToLine} V) it draws half the current.`
    : '';
}

/** The numbers behind the input current: `100 A at 28.4 V, efficiency 90 %, power factor 0.98, supply 114 V`. */
function workedOut(charger: Instance, current: Derivation, context: DesignContext): string {
  if (boundOf(current)) return `by ${governingText(current)}`;
  const output = context.quantity(charger, 'outputCurrent');
  const voltage = chargeVoltage(charger, context);
  const efficiency = chargeEfficiency(charger, context);
  const factor = inputPowerFactor(charger, context);
  const supply = current.inputs.find((each) => reasonOf(each, 'inputWindow') ?? reasonOf(each, 'supplyTolerance'));
  const terms = [
    output.kind === 'known' && voltage.kind === 'known'
      ? `${displayValue(output.derivation)} at ${displayValue(voltage.derivation)}`
      : undefined,
    efficiency.kind === 'known' ? `η ${displayValue(efficiency.derivation, 3)}` : undefined,
    factor.kind === 'known' ? `power factor ${displayValue(factor.derivation, 3)}` : undefined,
    supply && `supply down to ${displayValue(supply)}`,
  ].filter((term) => term !== undefined);
  return terms.join(', ');
}

function* judgeCharger(charger: Instance, context: DesignContext): Generator<Verdict> {
  const sources = sourcesOf(charger, context);
  if (sources.length === 0) return;
  for (const source of sources) {
    const { result } = chargerInputOn(charger, source, context);
    if (result.kind !== 'known') {
      yield notChecked(charger, result);
      continue;
    }
    const current = result.derivation;
    const limits = pathLimits(charger, source, inputTerminal(charger), context);
    const smallest = limits[0];
    const efficiency = chargeEfficiency(charger, context);
    const factor = inputPowerFactor(charger, context);
    const numbers = {
      current,
      ...(smallest ? { limit: smallest.current } : {}),
      ...(efficiency.kind === 'known' ? { efficiency: efficiency.derivation } : {}),
      ...(factor.kind === 'known' ? { powerFactor: factor.derivation } : {}),
    };
    if (!smallest) {
      yield notChecked(charger, {
        kind: 'missing',
        missing: [`a breaker, plug or rating between ${source.name} and ${charger.name}`],
      });
      continue;
    }
    if (numberIn(current, 'A') <= numberIn(smallest.current, 'A') * (1 + 1e-9)) {
      yield passed(charger, atMost(current, smallest.current), numbers);
      continue;
    }
    const [drawn, allowed] = pairText(current, smallest.current);
    const fixes = limitFixes(charger, source, current, mostForHours(limits, context), context);
    yield {
      verdict: 'failed',
      subject: charger.path,
      place: placeOf(charger, 'currentLimit'),
      headline: `${charger.name} draws ${drawn} from ${source.name}; ${smallest.title} carries ${allowed}`,
      ...whyOf(workedOut(charger, current, context)),
      advice: `${bothLegsHint(charger, source, context)} Lower its limit, or use a circuit of a higher rating.`.trim(),
      use: atMost(current, smallest.current),
      numbers,
      fixes,
    };
    // The other supplies would repeat the same cause, unless each has a limit of its own.
    if (!hasSupplies(charger, context)) return;
  }
}

export const chargerInput = defineCheck({
  id: 'charger-input',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A charger draws more input current than the circuit, plug or source that feeds it can carry.',
    guards: 'The breaker trips as soon as the bank is low, or the plug overheats.',
    how: 'Input current is worked out from output current at its limit, the highest charge voltage, efficiency and power factor, at the lowest voltage of the supply; it is held against the smallest rating in the path: breakers, fuses, receptacles, plugs, and the breaker or outlet of the source. What may be drawn continuously (3 h or more) is judged by `plug-continuous`.',
    fix: 'Lower the input limit or the charge current, or feed the charger from a larger circuit.',
    sources: [PRACTICE],
    failing: `design Van {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  breaker Main { rating: 20 A }
  charger Rect { input: 90..132 V   currentLimit: 100 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  run Cord: Shore -> Main -> Rect.ac { size: 10 AWG   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
    passing: `design Van {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  breaker Main { rating: 20 A }
  charger Rect { input: 90..132 V   currentLimit: 60 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  run Cord: Shore -> Main -> Rect.ac { size: 10 AWG   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) {
      if (isAcCharger(instance)) yield* judgeCharger(instance, context);
    }
  },
});
