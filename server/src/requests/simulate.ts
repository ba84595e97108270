import { type Analysis, type PlayedScenario, formatSpan, requirementOutcome, summaryRows } from '@wattwright/language';
import { type CancellationToken, type Connection, MessageType, ShowMessageNotification } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { inStretches } from '../workspace/long-work.js';
import { documentNamed } from './locate.js';

/** The command that plays one scenario: `[uri, design or variant, scenario]` to what it came to, as text. */
export const SIMULATE_COMMAND = 'wattwright.server.simulate';

/** Plays a scenario of a design that is open, shows how far it is, can be left off, and tells what it came to. */
export async function simulate(
  given: readonly unknown[],
  services: WattwrightServices,
  connection: Connection | undefined,
  token: CancellationToken,
): Promise<string | null> {
  const [uri, design, scenario] = given;
  if (typeof uri !== 'string' || typeof design !== 'string' || typeof scenario !== 'string') return null;
  const document = documentNamed(services.shared, uri);
  const analysis = document && services.analysis.Analyses.of(document);
  const system = analysis?.designs.find((each) => (each.system.variant ?? each.system.name) === design)?.system;
  if (!analysis || !system?.scenarios.some(({ name }) => name === scenario)) return null;
  const whole = await playedWith(analysis, system.name, scenario, connection, token);
  const play = whole.scenarios.find((each) => each.design === system.name && each.scenario.name === scenario);
  const text = play
    ? playText(play, whole)
    : `${system.name}.${scenario} has an error in its text and is not simulated.`;
  // A note, no question: an editor that shows none lets it pass.
  await connection?.sendNotification(ShowMessageNotification.type, { type: MessageType.Info, message: text });
  return text;
}

/** The analysis with a scenario played, at once where it has been. */
async function playedWith(
  analysis: Analysis,
  design: string,
  scenario: string,
  connection: Connection | undefined,
  token: CancellationToken,
): Promise<Analysis> {
  const isAsked = (ofDesign: string, name: string): boolean => ofDesign === design && name === scenario;
  if (analysis.scenarios.some((each) => isAsked(each.design, each.scenario.name)) || !analysis.unplayed)
    return analysis;
  return inStretches(analysis.unplayed.play(isAsked), token, connection, `Simulating ${design}.${scenario}`);
}

/** What a play came to, line by line. */
export function playText({ design, scenario, played }: PlayedScenario, { requirements }: Analysis): string {
  const name = `${design}.${scenario.name}`;
  switch (played.kind) {
    case 'missing':
      return `${name} cannot be simulated: missing ${played.missing.join(', ')}`;
    case 'refused':
      return `${name} cannot be simulated: ${played.reason}`;
    case 'cancelled':
      return `${name} was left off.`;
    case 'played': {
      const own = requirements.filter((each) => each.design === design && each.scenario === scenario.name);
      const outcomes = own
        .map(requirementOutcome)
        .map(({ word, text, why }) => `${word} ${text}${why ? `: ${why}` : ''}`);
      const rows = summaryRows(played.result).map((row) => row.filter(Boolean).join(' '));
      return [`${name}, ${formatSpan(played.result.duration)}`, ...outcomes, ...rows].join('\n');
    }
  }
}
