import { EmptyFileSystem, URI } from 'langium';
import {
  type Analysis,
  type LanguageServices,
  type Result,
  type ScenarioEvent,
  type Series,
  addLibrary,
  analyse,
  ast,
  createLanguageServices,
  numberIn,
  playScenario,
} from '@wattwright/language';
import type { Question } from './draft.js';

/** What a design says of itself by closed forms: a number, or why there is none. */
export type Answer = { readonly value: number } | { readonly none: string };

/** A design that was read, worked out and played. */
export interface Played {
  readonly answers: ReadonlyMap<string, Answer>;
  readonly series: Series;
  readonly events: readonly ScenarioEvent[];
  readonly duration: number;
  readonly runTime: ReadonlyMap<string, number>;
  /** m³. */
  readonly fuel: ReadonlyMap<string, number>;
}

/** Checks of the text itself; a generated design must pass them all. */
const TEXT_ERRORS: readonly string[] = [
  'syntax-error',
  'unknown-name',
  'wrong-type',
  'wrong-dimension',
  'duplicate-name',
  'unlike-terminals',
  'value-out-of-range',
  'not-evaluated',
  'not-connected',
];

let shared: Promise<LanguageServices> | undefined;
let count = 0;

async function services(): Promise<LanguageServices> {
  const made = createLanguageServices(EmptyFileSystem);
  await made.shared.workspace.DocumentBuilder.build(addLibrary(made.shared), { validation: false });
  return made;
}

/** Reads a text, works out the `let` values asked for, and plays its scenario with the engine. */
export async function play(text: string, questions: readonly Question[], resolution = 60): Promise<Played> {
  const { analysis, lets } = await read(text);
  const { context, system, evaluate } = analysis.designs[0]!;
  const answers = new Map(
    questions.map(({ name, unit }) => [name, answerOf(evaluate(lets.get(name)!), unit)] as const),
  );
  const played = playScenario(context, system.scenarios[0]!, { resolution });
  if (played.kind !== 'played') throw new Error(`${JSON.stringify(played)}\n${text}`);
  const { series, events, duration, totals } = played.result;
  return { answers, series, events, duration, runTime: totals[0]!.runTime, fuel: totals[0]!.fuel };
}

export async function read(
  text: string,
): Promise<{ readonly analysis: Analysis; readonly lets: ReadonlyMap<string, ast.Expression> }> {
  const language = await (shared ??= services());
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = language.shared.workspace;
  const document = LangiumDocumentFactory.fromString<ast.File>(
    text,
    URI.parse(`file:///agreement/${(count += 1)}.watt`),
  );
  LangiumDocuments.addDocument(document);
  await DocumentBuilder.build([document], { validation: false });
  try {
    const analysis = analyse(document, language, { today: '2027-01-01', scenarios: 'leave' });
    const errors = analysis.findings.filter(
      ({ check, severity }) => severity === 'error' && TEXT_ERRORS.includes(check),
    );
    if (errors.length > 0 || analysis.designs.length !== 1)
      throw new Error(`${errors.map(({ message }) => message).join('\n')}\n${text}`);
    const design = document.parseResult.value.declarations.find(ast.isDesign)!;
    const lets = design.members.filter(ast.isLet).map(({ name, value }) => [name, value as ast.Expression] as const);
    return { analysis, lets: new Map(lets) };
  } finally {
    LangiumDocuments.deleteDocument(document.uri);
  }
}

function answerOf(result: Result, unit: string): Answer {
  switch (result.kind) {
    case 'known':
      return { value: numberIn(result.derivation, unit) };
    case 'missing':
      return { none: `missing ${result.missing.join(', ')}` };
    case 'refused':
      return { none: result.reason };
  }
}

/** A recorded signal by its name, as `soc(A)`. */
export function columnOf({ series }: Played, name: string): Float64Array {
  const column = series.columns.find((each) => each.name === name);
  if (!column) throw new Error(`${name} is not recorded`);
  return column.values;
}

/** The first time (s) at which a value of every instant reaches a limit from below (`up`) or from above; infinite when it never does. */
export function timeOf(
  { series: { time } }: Played,
  value: (at: number) => number,
  limit: number,
  up: boolean,
): number {
  const side = up ? 1 : -1;
  for (let at = 0; at < time.length; at += 1) {
    const now = side * (value(at) - limit);
    if (now < 0) continue;
    if (at === 0) return 0;
    const before = side * (value(at - 1) - limit);
    return time[at - 1]! + ((time[at]! - time[at - 1]!) * before) / (before - now);
  }
  return Infinity;
}
