import {
  type CalculationFunction,
  DESIGN_FUNCTIONS,
  type DesignFunction,
  findFunction,
  functionSignature,
  parameterDefault,
  parameterTakes,
} from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { LangiumServices, SignatureHelpProvider } from 'langium/lsp';
import type { SignatureHelp, SignatureHelpOptions, SignatureHelpParams } from 'vscode-languageserver';
import { openCall } from './calls.js';
import { tokensBefore } from './tokens-before.js';

/** Shows the arguments of the function whose call is being written. */
export class FunctionSignatures implements SignatureHelpProvider {
  readonly signatureHelpOptions: SignatureHelpOptions = { triggerCharacters: ['(', ','], retriggerCharacters: [':'] };

  constructor(private readonly services: LangiumServices) {}

  provideSignatureHelp(
    { textDocument }: LangiumDocument,
    { position }: SignatureHelpParams,
  ): SignatureHelp | undefined {
    const call = openCall(tokensBefore(this.services, textDocument.getText(), textDocument.offsetAt(position)));
    if (!call) return undefined;
    const ofThings = DESIGN_FUNCTIONS.get(call.name);
    if (ofThings) return designSignature(ofThings, call.index);
    const definition = findFunction(call.name);
    if (!definition) return undefined;
    const names = Object.keys(definition.parameters);
    const active = call.named === undefined ? call.index : names.indexOf(call.named);
    return {
      signatures: [signatureOf(definition)],
      activeSignature: 0,
      ...(active >= 0 && active < names.length ? { activeParameter: active } : {}),
    };
  }
}

/** A function whose first argument is a thing of the design has its arguments in its signature. */
function designSignature({ signature, doc }: DesignFunction, index: number): SignatureHelp {
  const names = signature.replace(/^.*\(|\)$/g, '').split(', ');
  return {
    signatures: [{ label: signature, documentation: doc, parameters: names.map((label) => ({ label })) }],
    activeSignature: 0,
    ...(index < names.length ? { activeParameter: index } : {}),
  };
}

function signatureOf(definition: CalculationFunction): SignatureHelp['signatures'][number] {
  const label = functionSignature(definition);
  let searched = label.indexOf('(');
  const parameters = Object.entries(definition.parameters).map(([name, parameter]) => {
    const start = label.indexOf(name, searched);
    searched = start + name.length;
    const standard = parameterDefault(parameter);
    const facts = [parameterTakes(parameter), standard === undefined ? '' : `default ${standard}`];
    return {
      label: [start, searched] as [number, number],
      documentation: `${parameter.doc} (${facts.filter(Boolean).join('; ')})`,
    };
  });
  return { label, documentation: `${definition.summary} Gives ${definition.result}.`, parameters };
}
