/** Runs rows of published answers: each names a function, its arguments and what must come out, as text. */
import { expect } from 'vitest';
import { findFunction } from '../../../language/src/calculate/index.js';
import {
  type GivenArgument,
  type PartArgument,
  amount,
  callFunction,
  fact,
} from '../../../language/src/calculate/registry.js';
import type { Derivation, Result } from '../../../language/src/derivation/index.js';
import { type Quantity, sameSize } from '../../../language/src/quantity/index.js';
import { areaOfName, plugConfigurations } from '../../../language/src/reference/index.js';

export interface Row {
  /** Of the published example or computed vector it holds; several rows may hold parts of one. */
  readonly id: string;
  /** Title of the source in our words. */
  readonly source: string;
  readonly statement: string;
  readonly call: string;
  readonly with: Readonly<Record<string, string>>;
  /** A named part of the result instead of the result itself. */
  readonly part?: string;
  readonly gives: string;
  /** Relative; 1e-3 unless said. */
  readonly tolerance?: number;
  /** The published answer where it is not what we test, and why. */
  readonly published?: string;
  readonly why?: string;
}

/** A plug as the language would hand it over, from the table of configurations. */
export function plugPart(name: string): PartArgument {
  const row = plugConfigurations.rows.find((candidate) => candidate.name === name);
  if (!row) throw new Error(`no plug ${name}`);
  const facts: Record<string, Derivation> = {
    rating: amount('rating', row.rating, 'A'),
    phases: fact('phases', row.phases === 3 ? 'three' : 'single'),
  };
  return { kind: 'part', partKind: 'plug', name, fact: (property) => facts[property] };
}

/** An argument from its text: a size, a quantity, yes or no, a plug or a word. */
export function argument(name: string, text: string): GivenArgument {
  if (name === 'plug') return plugPart(text);
  if (/^\S+ (AWG|kcmil)$/.test(text)) return amount(name, areaOfName(text), 'mm2');
  if (text === 'yes' || text === 'no') return fact(name, text === 'yes');
  const number = /^(-?[\d.]+)(?: (\S+))?$/.exec(text);
  return number ? amount(name, Number(number[1]), number[2] ?? '') : fact(name, text);
}

export function call(name: string, texts: Readonly<Record<string, string>>): Result {
  const definition = findFunction(name);
  if (!definition) throw new Error(`no function ${name}`);
  const given = Object.fromEntries(Object.entries(texts).map(([key, text]) => [key, argument(key, text)]));
  return callFunction(definition, given);
}

/** The derivation of a call that must be known. */
export function answer(name: string, texts: Readonly<Record<string, string>>): Derivation {
  const result = call(name, texts);
  if (result.kind !== 'known') throw new Error(`${name}: ${JSON.stringify(result)}`);
  return result.derivation;
}

export const valueOf = (derivation: Derivation | undefined): Quantity => {
  if (typeof derivation?.value !== 'object') throw new Error('no quantity');
  return derivation.value;
};

export function expectRow(row: Row): void {
  const whole = answer(row.call, row.with);
  const got = valueOf(row.part ? whole.parts[row.part] : whole);
  const want = valueOf(argument('answer', row.gives) as Derivation);
  expect(got.dimension).toBe(want.dimension);
  if (/(AWG|kcmil)$/.test(row.gives) && row.tolerance === undefined) expect(sameSize(got.value, want.value)).toBe(true);
  else expect(Math.abs(got.value - want.value)).toBeLessThanOrEqual((row.tolerance ?? 1e-3) * Math.abs(want.value));
}
