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
export type Answer = { readonly value: number } | { readonly none: string; readonly isRefused?: boolean };

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

/** Weather in which arrays that lie flat are under the sun at which they are rated, day and night: 1000 W/m² at 25 °C. */
const FULL_SUN = ['time,irradiance,temperature', '2027-06-10,1000,25', '2027-08-01,1000,25'].join('\n');

/** A play that the engine gave up, with the text. */
export class NotPlayed extends Error {
  constructor(
    readonly reason: string,
    readonly text: string,
  ) {
    super(`${reason}\n${text}`);
  }
}

/** Reads a text, works out the `let` values asked for, and plays its scenario with the engine. */
export async function play(text: string, questions: readonly Question[], resolution = 60): Promise<Played> {
  const design = await read(text);
  const { context, system } = design.analysis.designs[0]!;
  const played = playScenario(context, system.scenarios[0]!, { resolution, weatherText: () => FULL_SUN });
  if (played.kind === 'refused') throw new NotPlayed(played.reason, text);
  if (played.kind !== 'played') throw new Error(`${JSON.stringify(played)}\n${text}`);
  const { series, events, duration, totals } = played.result;
  const { runTime, fuel } = totals[0]!;
  return { answers: worked(design, questions), series, events, duration, runTime, fuel };
}

/** Reads a text and works out the `let` values asked for. */
export const answersOf = async (text: string, questions: readonly Question[]): Promise<ReadonlyMap<string, Answer>> =>
  worked(await read(text), questions);

interface Read {
  readonly analysis: Analysis;
  readonly lets: ReadonlyMap<string, ast.Expression>;
}

function worked({ analysis, lets }: Read, questions: readonly Question[]): ReadonlyMap<string, Answer> {
  const { evaluate } = analysis.designs[0]!;
  return new Map(questions.map(({ name, unit }) => [name, answerOf(evaluate(lets.get(name)!), unit)] as const));
}

export async function read(text: string): Promise<Read> {
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
      return { none: result.reason, isRefused: true };
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
