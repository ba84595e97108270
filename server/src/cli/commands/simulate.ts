import {
  type Analysis,
  type AnalysedDesign,
  type Played,
  type ScenarioResult,
  csvRows,
  logAgainst,
  plotThresholds,
  scenarioPlot,
  textFault,
} from '@wattwright/language';
import path from 'node:path';
import { CallError, EXIT } from '../call-error.js';
import { textBeside } from '../../files/text-beside.js';
import { sourceFiles } from '../files.js';
import { shownPath } from '../shown-path.js';
import { jsonText, playsJson } from '../output/json.js';
import { type Play, prettyPlay } from '../output/play.js';
import { prettyCaution } from '../output/pretty.js';
import { Progress } from '../output/progress.js';
import { safeText } from '../output/safe-text.js';
import { type Terminal, terminalOf } from '../output/terminal.js';
import { played } from '../played.js';
import { type Team, runsBeside } from '../runs/team.js';
import { requireDesign, requireName } from '../selection.js';
import { Session, hasSyntaxErrors, placeText } from '../session.js';
import { today } from '../today.js';
import { writeAllWhole } from '../write-whole.js';

export interface SimulateOptions {
  readonly format: 'pretty' | 'json';
  readonly scenario?: string;
  readonly design?: string;
  readonly variant?: string;
  readonly csv?: string;
  readonly plot?: string;
  /** A log of the site, to be held against one scenario. */
  readonly against?: string;
  /** How far the clock of the logger runs ahead, in s. */
  readonly logAhead: number;
  /** Interval of the rows of the CSV file, in s. */
  readonly every: number;
  readonly quiet?: boolean;
  readonly stdinName: string;
  readonly today?: string;
  readonly color?: boolean;
}

/** `wattwright simulate`: exit code 1 when a requirement of a scenario fails or a scenario cannot be played. */
export async function simulate(file: string, options: SimulateOptions, runsThread?: URL): Promise<number> {
  const files = await sourceFiles([file], { standardInputName: options.stdinName });
  const session = await Session.open(files);
  const day = options.today ?? today();
  const progress = new Progress(process.stderr);
  const team: Team = { script: runsThread, folders: files.map(({ within }) => within), today: day };
  const before = session.documents.map((document, index) =>
    session.analyse(document, day, 'leave', runsBeside(team, files[index]!)),
  );
  const isAsked = asked(
    before.flatMap(({ designs }) => designs),
    options,
  );
  const simulated = before.flatMap((analysis) => playsOf(analysis, isAsked, progress));
  progress.end();
  if (simulated.length === 0) throw new CallError(nothingToPlay(session, file));
  const log = options.against === undefined ? undefined : readAgainst(simulated, options.against, options.logAhead);
  const plays = log ? [log.play] : simulated;
  await writeFiles(plays, options, log);
  const terminal = terminalOf(options.color);
  process.stdout.write(
    options.format === 'json' ? jsonText(playsJson(plays)) : pretty(plays, options.quiet ?? false, terminal),
  );
  const isAllWell = plays.every(
    ({ played, requirements }) => played.kind === 'played' && requirements.every(({ holds }) => holds !== false),
  );
  return isAllWell ? EXIT.clean : EXIT.findings;
}

type Asked = (design: string, scenario: string) => boolean;

/** Which scenarios the call asks for: those of designs, unless a variant is named. Refuses names that are not there. */
function asked(designs: readonly AnalysedDesign[], options: SimulateOptions): Asked {
  requireDesign(designs, options);
  const { scenario, design, variant } = options;
  const named = variant ?? design;
  const systems = designs
    .map(({ system }) => system)
    .filter(({ name, variant: of }) => (named === undefined ? of === undefined : name === named));
  const names = new Set(systems.map(({ name }) => name));
  if (scenario !== undefined)
    requireName('scenario', scenario, [
      ...new Set(systems.flatMap(({ scenarios }) => scenarios.map(({ name }) => name))),
    ]);
  return (of, name) => names.has(of) && (scenario === undefined || name === scenario);
}

/** The scenarios that are asked for, played; but none of a design whose text has errors, since it is not the design that is meant. */
function playsOf(before: Analysis, isAsked: Asked, progress: Progress): Play[] {
  const faults = new Map(before.designs.map(({ system }) => [system.name, textFault(before, system)]));
  const analysis = played(before, progress, (design, name) => isAsked(design, name) && !faults.get(design));
  return analysis.designs.flatMap(({ system, context }) =>
    system.scenarios
      .filter((scenario) => isAsked(system.name, scenario.name))
      .map((scenario): Play => {
        const fault = faults.get(system.name);
        const refused: Played = {
          kind: 'refused',
          reason: fault
            ? `its text has errors, the first at ${placeText(fault.place)}: ${[fault.message, fault.advice].filter(Boolean).join(' ')}`
            : 'it was left off',
        };
        const found = analysis.scenarios.find((play) => play.design === system.name && play.scenario === scenario);
        return {
          design: system.name,
          scenario,
          context,
          played: fault || !found ? refused : found.played,
          requirements: analysis.requirements.filter(
            (requirement) => requirement.design === system.name && requirement.scenario === scenario.name,
          ),
          outcomes: analysis.outcomes.filter(
            ({ design, outcome }) => design === system.name && outcome.scenario === scenario.name,
          ),
        };
      }),
  );
}

function nothingToPlay(session: Session, file: string): string {
  if (session.documents.some(hasSyntaxErrors))
    return `no scenario of ${file} can be read; \`wattwright check ${file}\` says what is wrong`;
  return `there is no scenario in ${file}; write one in a design: scenario Name { from: 2027-01-10   duration: 5 d   … }`;
}

interface LogRead {
  readonly play: Play;
  readonly time: Float64Array;
}

/** The one scenario with the log of a file held against it. */
function readAgainst(plays: readonly Play[], file: string, ahead: number): LogRead {
  const play = onlyOne(plays, '--against');
  const result = resultOf(play);
  const absolute = path.resolve(file);
  const text = textBeside(absolute);
  if (text === undefined) throw new CallError(`there is no file ${shownPath(absolute)}`);
  if (typeof text === 'object') throw new CallError(`${shownPath(absolute)} ${text.unread}`);
  const over = logAgainst(text, result, play.context, ahead);
  if ('reason' in over) throw new CallError(`${shownPath(absolute)}${over.isLog ? ':' : ' is no log:'} ${over.reason}`);
  return { play: { ...play, against: over.against }, time: over.time };
}

function onlyOne(plays: readonly Play[], options: string): Play {
  const [play, another] = plays;
  if (another)
    throw new CallError(
      `${options} needs one scenario, and there are ${plays.map(({ design, scenario }) => `${design}.${scenario.name}`).join(', ')}; choose with --scenario and --design`,
    );
  return play!;
}

async function writeFiles(
  plays: readonly Play[],
  { csv, plot, every }: SimulateOptions,
  log: LogRead | undefined,
): Promise<void> {
  if (csv === undefined && plot === undefined) return;
  const play = onlyOne(plays, plot === undefined ? '--csv' : '--plot');
  const result = resultOf(play);
  const files = new Map<string, string>();
  if (csv !== undefined) files.set(path.resolve(csv), [...csvRows(result, every)].join(''));
  if (plot !== undefined)
    files.set(
      path.resolve(plot),
      scenarioPlot(result, {
        thresholds: plotThresholds(play.context),
        ...(play.against && log ? { measured: { against: play.against, time: log.time } } : {}),
      }),
    );
  await writeAllWhole(files);
  for (const file of [csv, plot])
    if (file !== undefined) process.stderr.write(`wrote ${safeText(shownPath(path.resolve(file)))}\n`);
}

function resultOf({ scenario, played }: Play): ScenarioResult {
  switch (played.kind) {
    case 'played':
      return played.result;
    case 'missing':
      throw new CallError(`${scenario.name} cannot be simulated: missing ${played.missing.join(', ')}`);
    case 'refused':
      throw new CallError(`${scenario.name} cannot be simulated: ${played.reason}`);
    case 'cancelled':
      throw new CallError(`${scenario.name} was left off`);
  }
}

function pretty(plays: readonly Play[], isQuiet: boolean, terminal: Terminal): string {
  const blocks = plays.map((play) => prettyPlay(play, isQuiet, terminal));
  return [...(isQuiet ? [] : [prettyCaution(terminal)]), ...blocks].join('\n');
}
