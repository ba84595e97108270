import { type Analysis, type AnalysedDesign, type ScenarioResult, csvRows, scenarioPlot } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import path from 'node:path';
import { CallError, EXIT } from '../call-error.js';
import { shownPath, sourceFiles, writeWhole } from '../files.js';
import { jsonText, playsJson } from '../output/json.js';
import { type Play, prettyPlay } from '../output/play.js';
import { prettyCaution } from '../output/pretty.js';
import { safeText } from '../output/safe-text.js';
import { type Terminal, terminalOf } from '../output/terminal.js';
import { requireDesign, requireName } from '../selection.js';
import { Session, hasSyntaxErrors } from '../session.js';
import { today } from '../today.js';

export interface SimulateOptions {
  readonly format: 'pretty' | 'json';
  readonly scenario?: string;
  readonly design?: string;
  readonly variant?: string;
  readonly csv?: string;
  readonly svg?: string;
  /** Interval of the rows of the CSV file, in s. */
  readonly every: number;
  readonly quiet?: boolean;
  readonly stdinName: string;
  readonly today?: string;
  readonly color?: boolean;
}

/** `wattwright simulate`: exit code 1 when a requirement of a scenario fails or a scenario cannot be played. */
export async function simulate(file: string, options: SimulateOptions): Promise<number> {
  const session = await Session.open(await sourceFiles([file], options.stdinName));
  const day = options.today ?? today();
  const progress = new Progress(process.stderr);
  const analyses = session.documents.map((document) => playAll(session, document, day, progress));
  progress.end();
  const designs = analyses.flatMap((analysis) => analysis.designs);
  requireDesign(designs, options);
  const plays = chosen(analyses, designs, options);
  if (plays.length === 0) throw new CallError(nothingToPlay(session, file));
  await writeFiles(plays, options);
  const terminal = terminalOf(options.color);
  process.stdout.write(
    options.format === 'json' ? jsonText(playsJson(plays)) : pretty(plays, options.quiet ?? false, terminal),
  );
  const isAllWell = plays.every(
    ({ played, requirements }) => played.kind === 'played' && requirements.every(({ holds }) => holds !== false),
  );
  return isAllWell ? EXIT.clean : EXIT.findings;
}

function playAll(session: Session, document: LangiumDocument, day: string, progress: Progress): Analysis {
  const analysis = session.analyse(document, day, 'leave');
  if (!analysis.unplayed) return analysis;
  const plays = analysis.unplayed.play();
  for (;;) {
    const step = plays.next();
    if (step.done) return step.value;
    progress.show(step.value);
  }
}

function chosen(
  analyses: readonly Analysis[],
  designs: readonly AnalysedDesign[],
  { scenario, design, variant }: SimulateOptions,
): Play[] {
  const named = variant ?? design;
  const own = new Set(designs.filter(({ system }) => system.variant === undefined).map(({ system }) => system.name));
  const plays = analyses.flatMap((analysis) =>
    analysis.scenarios
      .filter((play) => (named === undefined ? own.has(play.design) : play.design === named))
      .map((play) => ({
        ...play,
        requirements: analysis.requirements.filter(
          (requirement) => requirement.design === play.design && requirement.scenario === play.scenario.name,
        ),
      })),
  );
  if (scenario === undefined) return plays;
  requireName('scenario', scenario, [...new Set(plays.map((play) => play.scenario.name))]);
  return plays.filter((play) => play.scenario.name === scenario);
}

function nothingToPlay(session: Session, file: string): string {
  if (session.documents.some(hasSyntaxErrors))
    return `no scenario of ${file} can be read; \`wattwright check ${file}\` says what is wrong`;
  return `there is no scenario in ${file}; write one in a design: scenario Name { from: 2027-01-10   duration: 5 d   … }`;
}

async function writeFiles(plays: readonly Play[], { csv, svg, every }: SimulateOptions): Promise<void> {
  if (csv === undefined && svg === undefined) return;
  const [play, another] = plays;
  if (another)
    throw new CallError(
      `--csv and --svg take one scenario, and there are ${plays.map(({ design, scenario }) => `${design}.${scenario.name}`).join(', ')}; choose with --scenario and --design`,
    );
  const result = resultOf(play!);
  if (csv !== undefined) await writeWhole(path.resolve(csv), [...csvRows(result, every)].join(''));
  if (svg !== undefined) await writeWhole(path.resolve(svg), scenarioPlot(result));
  for (const file of [csv, svg])
    if (file !== undefined) process.stderr.write(`wrote ${safeText(shownPath(path.resolve(file)))}\n`);
}

function resultOf({ scenario, played }: Play): ScenarioResult {
  switch (played.kind) {
    case 'played':
      return played.result;
    case 'missing':
      throw new CallError(`${scenario.name} cannot be played: missing ${played.missing.join(', ')}`);
    case 'refused':
      throw new CallError(`${scenario.name} cannot be played: ${played.reason}`);
    case 'cancelled':
      throw new CallError(`${scenario.name} was left off`);
  }
}

function pretty(plays: readonly Play[], isQuiet: boolean, terminal: Terminal): string {
  const blocks = plays.map((play) => prettyPlay(play, isQuiet, terminal));
  return [...(isQuiet ? [] : [prettyCaution(terminal)]), ...blocks].join('\n');
}

/** How far the play is, on a terminal only, and only when it takes long enough to be read. */
class Progress {
  private readonly began = Date.now();
  private shown = -1;

  constructor(private readonly stream: NodeJS.WriteStream) {}

  show(share: number): void {
    const percent = Math.floor(share * 100);
    if (!this.stream.isTTY || percent === this.shown || Date.now() - this.began < 300) return;
    this.shown = percent;
    this.stream.write(`\rplaying ${percent} %`);
  }

  end(): void {
    if (this.shown >= 0) this.stream.write('\r\u001b[K');
  }
}
