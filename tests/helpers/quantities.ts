import { type Derivation, type QuantityName, type Result, numberIn } from '../../language/src/index.js';
import { analyseText } from './analyse.js';

/** A computed quantity of a run or thing of a design, by name. */
export async function resultOf(text: string, name: string, quantity: QuantityName): Promise<Result> {
  const { system, context } = (await analyseText(text)).designs[0]!;
  const thing = [...system.runs, ...system.instances].find((each) => each.name === name);
  if (!thing) throw new Error(`the design has no ${name}`);
  return context.quantity(thing, quantity);
}

/** Its number in a unit, or in words what kept it from being known. */
export async function valueOf(
  text: string,
  name: string,
  quantity: QuantityName,
  unit: string,
): Promise<number | string> {
  const result = await resultOf(text, name, quantity);
  if (result.kind === 'known') return numberIn(result.derivation, unit);
  return result.kind === 'missing' ? `missing ${result.missing.join(', ')}` : `refused ${result.reason}`;
}

/** The whole derivation; fails where the quantity is not known. */
export async function derivationOf(text: string, name: string, quantity: QuantityName): Promise<Derivation> {
  const result = await resultOf(text, name, quantity);
  if (result.kind !== 'known') throw new Error(`${quantity} of ${name} is not known: ${JSON.stringify(result)}`);
  return result.derivation;
}
