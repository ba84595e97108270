import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import { isInverter, isService, isSet } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { systemOf } from './supply.js';

/** Rated output current of an inverter on each line. */
export function ratedOutput(inverter: Instance, context: QuantityContext): Result {
  const power = context.maybe(inverter, 'apparent') ?? context.maybe(inverter, 'rated');
  const system = systemOf(inverter);
  if (!power) return missing(`rated of ${inverter.name}`);
  if (!system) return missing(`voltage of ${inverter.name}`);
  const voltage = derive('voltage between lines', system.lineToLine, 'V', { symbol: 'U', notes: [system.text] });
  const factor = system.phases === 'three' ? Math.sqrt(3) : 1;
  return known(
    derive(`rated output current of ${inverter.name}`, numberIn(power, 'W') / (factor * system.lineToLine), 'A', {
      symbol: `I_${inverter.name}`,
      formula: factor === 1 ? 'S_r/U' : 'S_r/(√3·U)',
      inputs: [power, voltage],
    }),
  );
}

/** Most that a source of alternating current gives on each line for hours; undefined where that is not known. */
export function mostOf(source: Instance, context: QuantityContext): Derivation | undefined {
  const rated = isInverter(source)
    ? ratedOutput(source, context)
    : isSet(source)
      ? context.quantity(source, 'ratedCurrent')
      : isService(source)
        ? context.fact(source, 'rating')
        : undefined;
  return rated?.kind === 'known' ? rated.derivation : undefined;
}
