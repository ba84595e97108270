import {
  type AnalyseOptions,
  type DesignContext,
  type PlayedScenario,
  type PlotData,
  type PlotWindow,
  type ScenarioResult,
  analyseAs,
  csvRows,
  logAgainst,
  plotData,
  plotThresholds,
} from '@wattwright/language';
import { trustedPlays } from './trusted-plays.js';
import { DocumentState, type LangiumDocument, URI } from 'langium';
import { type CancellationToken, type Connection, type Range, RequestType } from 'vscode-languageserver';
import { rangeOf } from '../convert/to-lsp.js';
import type { Server } from '../create-server.js';
import { type WattwrightServices, languageServices } from '../workspace/analyses.js';
import { inStretches } from '../workspace/long-work.js';

/** Most rows of a table, which programs that show tables can open. */
const MOST_ROWS = 100_000;
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
  /** A log of the site that lies over the first, as comma-separated text. */
  readonly log?: string;
  /** Another state of this file, whose scenario of the same name lies over the first; what it draws in is taken as it is now. */
  readonly earlier?: { readonly title: string; readonly text: string };
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
  /** Why a log or another state of the file is not shown, in words. */
  readonly remarks: readonly string[];
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
      if (names.includes(nameOf(play)) && play.played.kind === 'played')
        await inStretches(play.played.result.series.completing(), token, connection, `Plots of ${nameOf(play)}`);
    const remarks: string[] = [];
    const shown: Shown = { remarks, window: windowOf(parameters), token, connection };
    const designOf = ({ design }: PlayedScenario) => analysis.designs.find(({ system }) => system.name === design);
    const plots: NamedPlot[] = [];
    for (const play of plays.filter((each) => names.includes(nameOf(each)))) {
      if (play.played.kind !== 'played') continue;
      const isFirst = nameOf(play) === names[0];
      const log = isFirst ? parameters.log : undefined;
      plots.push({
        name: nameOf(play),
        ...(await plotOf(play.played.result, designOf(play)?.context, { ...shown, log })),
      });
    }
    plots.sort((left, right) => names.indexOf(left.name) - names.indexOf(right.name));
    const first = plays.find((play) => nameOf(play) === names[0]);
    const { earlier } = parameters;
    if (earlier && first) {
      const ground = { document, options: wattwright.analysis.Analyses.optionsOf(document) };
      const before = await earlierPlay(earlier.text, first, ground, wattwright, shown);
      if (typeof before === 'string') remarks.push(`${earlier.title}: ${before}`);
      else
        plots.splice(1, 0, {
          name: `${nameOf(first)}, ${earlier.title}`,
          ...(await plotOf(before.result, before.context, shown)),
        });
    }
    return {
      scenarios,
      isWaiting: analysis.unplayed !== undefined,
      plots,
      remarks,
      ...(parameters.isForFile && first?.played.kind === 'played' ? { table: tableOf(first.played.result) } : {}),
    };
  });
}

type NamedPlot = { readonly name: string } & PlotData;

interface Shown {
  readonly log?: string | undefined;
  /** Takes what cannot be shown. */
  readonly remarks: string[];
  readonly window: (duration: number) => PlotWindow;
  readonly token: CancellationToken;
  readonly connection: Connection;
}

/** One scenario as numbers to be drawn: with its set points, the band of its runs, and a log over it. */
async function plotOf(
  result: ScenarioResult,
  context: DesignContext | undefined,
  { log, remarks, window, token, connection }: Shown,
): Promise<PlotData> {
  const thresholds = context ? plotThresholds(context) : [];
  const spread = result.spread && (await inStretches(result.spread(), token, connection, 'Runs of a scenario'));
  const over = log !== undefined && context ? logAgainst(log, result, context) : undefined;
  if (over && 'reason' in over) remarks.push(`The log is not shown: ${over.reason}.`);
  const measured = over && !('reason' in over) ? { measured: over } : {};
  return plotData(result, { thresholds, ...(spread ? { spread } : {}), ...measured }, window(result.duration));
}

/** The play of the scenario of the same name in another state of a file; why there is none, in words. */
async function earlierPlay(
  text: string,
  { design, scenario }: PlayedScenario,
  { document, options }: { readonly document: LangiumDocument; readonly options: AnalyseOptions | undefined },
  services: WattwrightServices,
  { token, connection }: Shown,
): Promise<{ readonly result: ScenarioResult; readonly context: DesignContext } | string> {
  if (!options) return 'this file has not been judged yet';
  const ground = { document, services: languageServices(services), options };
  const before = analyseAs(text, ground, () => true, 'leave');
  const isAsked = (own: string, name: string): boolean => own === design && name === scenario.name;
  const title = `Simulating ${design}.${scenario.name} as it was`;
  const analysis = before.unplayed
    ? await inStretches(before.unplayed.play(isAsked), token, connection, title)
    : before;
  const play = analysis.scenarios.find((each) => isAsked(each.design, each.scenario.name));
  const context = analysis.designs.find(({ system }) => system.name === design)?.context;
  if (!play || !context) return `there is no scenario ${scenario.name} of ${design} in it`;
  if (play.played.kind !== 'played') return knownScenario(play).unplayed ?? '';
  await inStretches(play.played.result.series.completing(), token);
  return { result: play.played.result, context };
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
const windowOf =
  ({ from, to, columns }: PlotParameters) =>
  (duration: number): PlotWindow => {
    const within = (value: unknown, otherwise: number): number =>
      typeof value === 'number' && Number.isFinite(value) ? Math.min(duration, Math.max(0, value)) : otherwise;
    const [start, end] = [within(from, 0), within(to, duration)];
    const count = typeof columns === 'number' && columns >= 1 ? Math.min(MOST_COLUMNS, Math.floor(columns)) : 800;
    return end > start ? { from: start, to: end, columns: count } : { from: 0, to: duration, columns: count };
  };
