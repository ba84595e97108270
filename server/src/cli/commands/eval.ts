import { inPeopleUnits } from '@wattwright/language';
import { CallError, EXIT } from '../call-error.js';
import { evaluateExpression } from '../evaluation.js';
import { sourceFiles } from '../files.js';
import { evaluationJson, jsonText } from '../output/json.js';
import { evaluationMarkdown } from '../output/markdown.js';
import { prettyDerivation } from '../output/pretty.js';
import { terminalOf } from '../output/terminal.js';
import { today } from '../today.js';

export interface EvalOptions {
  readonly format: 'pretty' | 'json' | 'md';
  readonly in?: string;
  readonly design?: string;
  readonly variant?: string;
  readonly stdinName: string;
  readonly color?: boolean;
}

/** `wattwright eval`. */
export async function evaluate(expression: string, options: EvalOptions): Promise<number> {
  if (options.design !== undefined && options.in === undefined)
    throw new CallError('--design needs --in FILE, the file the design is in');
  if (options.variant !== undefined && options.in === undefined)
    throw new CallError('--variant needs --in FILE, the file the variant is in');
  const files =
    options.in === undefined ? [] : await sourceFiles([options.in], { standardInputName: options.stdinName });
  if (files.length > 1) throw new CallError('--in needs one design file; name the file, not its folder');
  const result = await evaluateExpression(expression, {
    today: today(),
    ...(files[0] ? { file: files[0] } : {}),
    ...(options.design === undefined ? {} : { design: options.design }),
    ...(options.variant === undefined ? {} : { variant: options.variant }),
  });
  if (result.kind === 'missing') throw new CallError(`not computed: missing ${result.missing.join(', ')}`);
  if (result.kind === 'refused') throw new CallError(inPeopleUnits(result.reason));
  const { derivation } = result;
  process.stdout.write(
    options.format === 'json'
      ? jsonText(evaluationJson(expression, derivation))
      : options.format === 'md'
        ? evaluationMarkdown(expression, derivation)
        : prettyDerivation(derivation, terminalOf(options.color)),
  );
  return EXIT.clean;
}
