import { type Derivation, type EvaluatedText, evaluateText } from '../../language/src/index.js';
import { TODAY, createTestServices } from './analyse.js';

export interface Expressions {
  /** What comes of an expression, worked out as it would be in a design. */
  readonly evaluate: (text: string) => EvaluatedText;
  /** Its value; an expression that has none ends the test and says why. */
  readonly valueOf: (text: string) => Derivation;
}

export async function expressions(): Promise<Expressions> {
  const services = await createTestServices();
  const evaluate = (text: string): EvaluatedText => evaluateText(text, services, { today: TODAY });
  const valueOf = (text: string): Derivation => {
    const { result, findings } = evaluate(text);
    if (result.kind === 'known') return result.derivation;
    throw new Error(`${text}: ${JSON.stringify(result)} ${JSON.stringify(findings.map(({ message }) => message))}`);
  };
  return { evaluate, valueOf };
}
