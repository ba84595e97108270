import { type Analysis, type Place, readingOutcome, requirementOutcome } from '@wattwright/language';
import { DocumentState, URI } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import { type CancellationToken, type Connection, type Range, RequestType } from 'vscode-languageserver';
import { rangeOf } from '../convert/to-lsp.js';
import type { WattwrightServices } from '../workspace/analyses.js';
import { inStretches } from '../workspace/long-work.js';
import { type OpenQuestionAt, questionsOf } from './questions.js';
import { playText } from './simulate.js';

/** Something that a design asks of itself or predicts, and that can be run and pass or fail. */
export interface Provable {
  /** The same as long as its design and its text stay. */
  readonly id: string;
  readonly design: string;
  readonly sort: 'requirement' | 'scenario' | 'reading';
  readonly label: string;
  readonly range: Range;
  /** The scenario that it belongs to, by its id. */
  readonly within?: string;
}

/** What came of something that was run. */
export interface ProvenOutcome {
  readonly id: string;
  /** `open`: facts lack that decide it; `waiting`: its scenario has not been played. */
  readonly state: 'passed' | 'failed' | 'open' | 'waiting';
  /** What was asked, with its value and its limit, or why it cannot be told. */
  readonly message: string;
  /** What a played scenario came to, line by line. */
  readonly output?: string;
}

/** How a file stands. */
export interface FileState {
  readonly errors: number;
  readonly warnings: number;
  /** Whether scenarios or rules are still being played. */
  readonly isPlaying: boolean;
  readonly questions: readonly OpenQuestionAt[];
}

/** What can be run in a file: `{ uri }`. */
export const ProvablesRequest = new RequestType<{ uri: string }, Provable[], void>('wattwright/provables');
/** Runs some of it, or all: `{ uri, ids? }`; scenarios that were not played are played, and the request can be cancelled. */
export const ProveRequest = new RequestType<{ uri: string; ids?: readonly string[] }, ProvenOutcome[], void>(
  'wattwright/prove',
);
/** How a file stands, with what it asks: `{ uri }`; null for what is no open design. */
export const StateRequest = new RequestType<{ uri: string }, FileState | null, void>('wattwright/state');

export function addProving(connection: Connection, shared: LangiumSharedServices, services: WattwrightServices): void {
  const judged = async (given: unknown, token: CancellationToken): Promise<Analysis | undefined> => {
    const { uri } = (given ?? {}) as { readonly uri?: unknown };
    if (typeof uri !== 'string') return undefined;
    const { DocumentBuilder, LangiumDocuments, TextDocuments, WorkspaceManager } = shared.workspace;
    const address = URI.parse(uri);
    await WorkspaceManager.ready;
    if (!LangiumDocuments.hasDocument(address) && !TextDocuments.get(address)) return undefined;
    await DocumentBuilder.waitUntil(DocumentState.Validated, address, token);
    const document = LangiumDocuments.getDocument(address);
    return document && services.analysis.Analyses.of(document);
  };
  connection.onRequest(ProvablesRequest, async (given, token) => {
    const analysis = await judged(given, token);
    return analysis ? provables(analysis) : [];
  });
  connection.onRequest(ProveRequest, async (given, token) => {
    const analysis = await judged(given, token);
    return analysis ? outcomes(await played(analysis, given.ids, token, connection), given.ids) : [];
  });
  connection.onRequest(StateRequest, async (given, token) => {
    const analysis = await judged(given, token);
    return analysis ? stateOf(analysis) : null;
  });
}

const scenarioId = (design: string, scenario: string): string => `${design}/${scenario}`;

/** What of an analysis can be run, in the order of the text; what a variant repeats of its base stands under the variant. */
export function provables({ designs, uri }: Analysis): Provable[] {
  return designs.flatMap(({ system }) => {
    const design = system.variant ?? system.name;
    const isHere = ({ place }: { readonly place: Place }): boolean => place.uri === uri;
    const scenarios = system.scenarios.filter(isHere).map((each): Provable => ({
      id: scenarioId(design, each.name),
      design,
      sort: 'scenario',
      label: each.label ? `${each.name}: ${each.label}` : each.name,
      range: rangeOf(each.place),
    }));
    const requirements = numbered(
      system.requirements.filter(isHere),
      ({ scenario = '', text }) => `${scenario}/${text}`,
    );
    const readings = numbered(system.readings.filter(isHere), ({ subject, date = '' }) => `${subject}/${date}`);
    return [
      ...scenarios,
      ...requirements.map(([each, key]): Provable => ({
        id: `${design}/require/${key}`,
        design,
        sort: 'requirement',
        label: each.text,
        range: rangeOf(each.whole),
        ...(each.scenario === undefined ? {} : { within: scenarioId(design, each.scenario) }),
      })),
      ...readings.map(([each, key]): Provable => ({
        id: `${design}/reading/${key}`,
        design,
        sort: 'reading',
        label: each.date ? `${each.subject} on ${each.date}` : each.subject,
        range: rangeOf(each.place),
      })),
    ];
  });
}

/** Things with a key each; equal keys are counted. */
function numbered<T>(things: readonly T[], keyOf: (thing: T) => string): (readonly [T, string])[] {
  const seen = new Map<string, number>();
  return things.map((thing) => {
    const key = keyOf(thing);
    const count = (seen.get(key) ?? 0) + 1;
    seen.set(key, count);
    return [thing, count > 1 ? `${key}#${count}` : key] as const;
  });
}

/** The analysis with the scenarios played that what is asked for needs. */
async function played(
  analysis: Analysis,
  ids: readonly string[] | undefined,
  token: CancellationToken,
  connection: Connection,
): Promise<Analysis> {
  if (!analysis.unplayed) return analysis;
  const kept = analysis.unplayed.kept();
  if (kept) return kept;
  const asked = new Set(
    provables(analysis)
      .filter(({ id }) => !ids || ids.includes(id))
      .flatMap(({ id, sort, within }) => (sort === 'scenario' ? [id] : (within ?? []))),
  );
  if (asked.size === 0) return analysis;
  const nameOf = (design: string): string => {
    const system = analysis.designs.find((each) => each.system.name === design)?.system;
    return system?.variant ?? design;
  };
  const plays = analysis.unplayed.play((design, scenario) => asked.has(scenarioId(nameOf(design), scenario)));
  return inStretches(plays, token, connection, 'Simulating what is to be proven');
}

/** What came of what was run. */
export function outcomes(analysis: Analysis, ids?: readonly string[]): ProvenOutcome[] {
  const wanted = provables(analysis).filter(({ id }) => !ids || ids.includes(id));
  return wanted.map((provable) => {
    const { id, sort, design } = provable;
    const system = analysis.designs.find((each) => (each.system.variant ?? each.system.name) === design)!.system;
    switch (sort) {
      case 'requirement':
        return { id, ...requirementState(analysis, system.name, provable) };
      case 'reading':
        return { id, ...readingState(analysis, system.name, provable) };
      case 'scenario':
        return { id, ...scenarioState(analysis, system.name, provable) };
    }
  });
}

type StateAndWords = Omit<ProvenOutcome, 'id'>;

const isAt = ({ start, end }: Range, place: Place): boolean => {
  const other = rangeOf(place);
  const from =
    other.start.line > start.line || (other.start.line === start.line && other.start.character >= start.character);
  const to = other.end.line < end.line || (other.end.line === end.line && other.end.character <= end.character);
  return from && to;
};

function requirementState({ requirements, uri }: Analysis, design: string, { range }: Provable): StateAndWords {
  const result = requirements.find(
    (each) => each.design === design && each.place.uri === uri && isAt(range, each.place),
  );
  if (!result) return { state: 'open', message: 'it has an error in its text' };
  const { holds, text, why } = requirementOutcome(result);
  const message = why ? `${text}: ${why}` : text;
  if (result.isWaiting) return { state: 'waiting', message };
  return { state: holds === undefined ? 'open' : holds ? 'passed' : 'failed', message };
}

function readingState({ readings, uri }: Analysis, design: string, { range }: Provable): StateAndWords {
  const result = readings.find(
    (each) => each.design === design && each.reading.place.uri === uri && isAt(range, each.reading.place),
  );
  if (!result) return { state: 'open', message: 'it has an error in its text' };
  const { holds, text, why } = readingOutcome(result);
  return { state: holds === undefined ? 'open' : holds ? 'passed' : 'failed', message: why ? `${text}: ${why}` : text };
}

/** A scenario passes when it was played and none of its requirements fails. */
function scenarioState(analysis: Analysis, design: string, { id }: Provable): StateAndWords {
  const name = id.slice(id.lastIndexOf('/') + 1);
  const play = analysis.scenarios.find((each) => each.design === design && each.scenario.name === name);
  if (!play) return { state: 'waiting', message: 'not simulated: nothing needs it, or its text has an error' };
  const output = playText(play, analysis);
  if (play.played.kind !== 'played') return { state: 'open', message: output };
  const own = analysis.requirements.filter((each) => each.design === design && each.scenario === name);
  const failed = own.filter(({ holds }) => holds === false);
  const open = own.filter(({ holds }) => holds === undefined);
  const words = (list: typeof own): string => list.map((each) => requirementOutcome(each).text).join('; ');
  if (failed.length > 0) return { state: 'failed', message: words(failed), output };
  if (open.length > 0) return { state: 'open', message: words(open), output };
  return { state: 'passed', message: 'every requirement holds', output };
}

function stateOf(analysis: Analysis): FileState {
  const { findings, unplayed, uri } = analysis;
  const own = findings.filter(({ accepted, place }) => !accepted && place.uri === uri);
  return {
    errors: own.filter(({ severity }) => severity === 'error').length,
    warnings: own.filter(({ severity }) => severity === 'warning').length,
    isPlaying: unplayed !== undefined,
    questions: questionsOf(analysis),
  };
}
