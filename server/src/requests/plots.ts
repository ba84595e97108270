import {
  type PlayedScenario,
  type PlotData,
  type ScenarioResult,
  csvRows,
  plotData,
  plotThresholds,
} from '@wattwright/language';
import { trustedPlays } from './trusted-plays.js';
import { DocumentState, OperationCancelled, URI, delayNextTick } from 'langium';
import { type CancellationToken, type Connection, type Range, RequestType } from 'vscode-languageserver';
import { rangeOf } from '../convert/to-lsp.js';
import type { Server } from '../create-server.js';

/** Most rows of a table, which programs that show tables can open. */
const MOST_ROWS = 100_000;
/** Time at a stretch for which a play holds up everything else, in ms. */
const STRETCH = 10;
/** Most columns of pixels that are answered for. */
const MOST_COLUMNS = 4000;

export interface PlotParameters {
  readonly textDocument: { readonly uri: string };
  /** Which simulated scenarios, by the names in the answer; the first of the file unless said. */
  readonly names?: readonly string[];
  /** What is looked at, s from the start; the whole unless said. */
  readonly from?: number;
  readonly to?: number;
  /** Columns of pixels; 800 unless said. */
  readonly columns?: number;
  /** Whether the first of the scenarios is wanted as a table too. */
  readonly isForFile?: boolean;
}

/** A scenario of a design or variant, and whether there is something to plot. */
export interface KnownScenario {
  readonly name: string;
  readonly uri: string;
  readonly range: Range;
  /** Why it has not been simulated, in words. */
  readonly unplayed?: string;
}

export interface PlotAnswer {
  readonly scenarios: readonly KnownScenario[];
  /** Whether some are still being simulated. */
  readonly isWaiting: boolean;
  readonly plots: readonly ({ readonly name: string } & PlotData)[];
  /** Comma-separated values of the first, at steady intervals. */
  readonly table?: string;
}

/** Simulated scenarios as numbers to be drawn; null where there is no such file. */
export const PlotRequest = new RequestType<PlotParameters, PlotAnswer | null, void>('wattwright/plots');

export function addPlotRequest(connection: Connection, { shared, wattwright }: Server): void {
  connection.onRequest(PlotRequest, async (parameters, token) => {
    const uri = URI.parse(parameters.textDocument.uri);
    const { DocumentBuilder, LangiumDocuments, WorkspaceManager } = shared.workspace;
    await WorkspaceManager.ready;
    await DocumentBuilder.waitUntil(DocumentState.Validated, uri, token);
    const document = LangiumDocuments.getDocument(uri);
    const analysis = document && wattwright.analysis.Analyses.of(document);
    if (!analysis) return null;
    const plays = trustedPlays(analysis);
    const scenarios = plays.map(knownScenario);
    const names =
      parameters.names ??
      scenarios
        .filter(({ unplayed }) => unplayed === undefined)
        .map(({ name }) => name)
        .slice(0, 1);
    for (const play of plays)
      if (names.includes(nameOf(play)) && play.played.kind === 'played') await completed(play.played.result, token);
    const plots = plays.flatMap((play): ({ readonly name: string } & PlotData)[] => {
      const name = nameOf(play);
      if (!names.includes(name) || play.played.kind !== 'played') return [];
      const { result } = play.played;
      const design = analysis.designs.find(({ system }) => system.name === play.design);
      const thresholds = design ? plotThresholds(design.context) : [];
      return [{ name, ...plotData(result, { thresholds }, windowOf(parameters, result.duration)) }];
    });
    const first = plays.find((play) => nameOf(play) === names[0])?.played;
    return {
      scenarios,
      isWaiting: analysis.unplayed !== undefined,
      plots,
      ...(parameters.isForFile && first?.kind === 'played' ? { table: tableOf(first.result) } : {}),
    };
  });
}

/** Has all columns of a play at hand, in short stretches, so that other requests are answered in between. */
async function completed({ series }: ScenarioResult, token: CancellationToken): Promise<void> {
  const pieces = series.completing();
  for (let began = performance.now(), piece = pieces.next(); !piece.done; piece = pieces.next()) {
    if (performance.now() - began < STRETCH) continue;
    await delayNextTick();
    if (token.isCancellationRequested) throw OperationCancelled;
    began = performance.now();
  }
}

/** A row a minute, or as many as make no table too long to be opened. */
const tableOf = (result: ScenarioResult): string =>
  [...csvRows(result, Math.max(60, 60 * Math.ceil(result.duration / MOST_ROWS / 60)))].join('');

const nameOf = ({ design, scenario }: PlayedScenario): string => `${design}.${scenario.name}`;

function knownScenario(play: PlayedScenario): KnownScenario {
  const { scenario, played } = play;
  const place = { name: nameOf(play), uri: scenario.place.uri, range: rangeOf(scenario.place) };
  switch (played.kind) {
    case 'played':
      return place;
    case 'missing':
      return { ...place, unplayed: `missing: ${played.missing.join(', ')}` };
    case 'refused':
      return { ...place, unplayed: played.reason };
    case 'cancelled':
      return { ...place, unplayed: 'left off' };
  }
}

/** What is looked at, kept within the scenario and within reason. */
function windowOf({ from, to, columns }: PlotParameters, duration: number) {
  const within = (value: unknown, otherwise: number): number =>
    typeof value === 'number' && Number.isFinite(value) ? Math.min(duration, Math.max(0, value)) : otherwise;
  const [start, end] = [within(from, 0), within(to, duration)];
  const count = typeof columns === 'number' && columns >= 1 ? Math.min(MOST_COLUMNS, Math.floor(columns)) : 800;
  return end > start ? { from: start, to: end, columns: count } : { from: 0, to: duration, columns: count };
}
