import {
  type AnalysedDesign,
  type Analysis,
  DESIGN_FUNCTIONS,
  type Result,
  ast,
  derive,
  isBank,
  isOfDesign,
  openFacts,
  requirementOutcome,
  shownValue,
} from '@wattwright/language';
import { GrammarUtils, type LangiumDocument } from 'langium';
import type { CodeLensProvider } from 'langium/lsp';
import type { CodeLens, Command } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { fillLens, hasHoles } from './holes.js';
import { documentNamed } from './locate.js';
import { SIMULATE_COMMAND } from './simulate.js';

/** What a lens is about; its title is worked out when the editor shows it. */
type LensData = { readonly uri: string; readonly design: string } & (
  | { readonly shows: 'findings' | 'charge' | 'fuel' | 'holes' }
  | { readonly shows: 'scenario'; readonly scenario: string }
);

/** Above each design what is found and how long its banks take to charge; above each scenario what came of it, and playing it. */
export class DesignLenses implements CodeLensProvider {
  constructor(private readonly services: WattwrightServices) {}

  provideCodeLens(document: LangiumDocument): CodeLens[] {
    const file = document.parseResult.value;
    if (!ast.isFile(file)) return [];
    const uri = document.uri.toString();
    return file.declarations.flatMap((node): CodeLens[] => {
      const name = GrammarUtils.findNodeForProperty(node.$cstNode, 'name');
      if (!name || !(ast.isDesign(node) || ast.isVariant(node))) return [];
      const design = node.name;
      const analysed = this.designIn(this.services.analysis.Analyses.of(document), design);
      const says = {
        findings: true,
        charge: analysed && chargeText(analysed),
        fuel: analysed && fuelText(analysed),
        holes: hasHoles(document, design, this.services),
      };
      const above = (['findings', 'charge', 'fuel', 'holes'] as const).flatMap((shows) =>
        says[shows] ? [lens(name.range, { uri, design, shows })] : [],
      );
      const things = ast.isDesign(node)
        ? node.members
        : node.changes.flatMap((change) => ('thing' in change && change.thing ? [change.thing] : []));
      const scenarios = things.filter(ast.isScenario).flatMap((scenario) => {
        const at = GrammarUtils.findNodeForProperty(scenario.$cstNode, 'name');
        return at ? [lens(at.range, { uri, design, shows: 'scenario', scenario: scenario.name })] : [];
      });
      return [...above, ...scenarios];
    });
  }

  private designIn(analysis: Analysis | undefined, name: string | undefined): AnalysedDesign | undefined {
    return analysis?.designs.find(({ system }) => (system.variant ?? system.name) === name);
  }

  async resolve(given: CodeLens): Promise<CodeLens> {
    const data = given.data as LensData | undefined;
    const document = documentNamed(this.services.shared, data?.uri);
    if (document && data?.shows === 'holes') return fillLens(given, document, data.design, this.services);
    const analysis = document && this.services.analysis.Analyses.of(document);
    const design = this.designIn(analysis, data?.design);
    return { ...given, command: (data && analysis && design && commandOf(data, design, analysis)) ?? plain('') };
  }
}

const lens = (range: CodeLens['range'], data: LensData): CodeLens => ({ range, data });

/** A lens that says something and does nothing. */
const plain = (title: string): Command => ({ title, command: '' });

function commandOf(data: LensData, design: AnalysedDesign, analysis: Analysis): Command | undefined {
  switch (data.shows) {
    case 'findings':
      return plain(findingsText(design, analysis));
    case 'charge':
      return plain(chargeText(design));
    case 'fuel':
      return plain(fuelText(design));
    case 'holes':
      return undefined;
    case 'scenario':
      return {
        title: scenarioTitle(data.scenario, design, analysis),
        command: SIMULATE_COMMAND,
        arguments: [data.uri, data.design, data.scenario],
      };
  }
}

const plural = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;

function findingsText({ system }: AnalysedDesign, { findings, questions }: Analysis): string {
  const own = findings.filter(
    (each) => !each.accepted && isOfDesign(each.subject, system.name) && each.variant === system.variant,
  );
  const count = (severity: string): number => own.filter((each) => each.severity === severity).length;
  const open = openFacts(questions.filter(({ subject }) => isOfDesign(subject, system.name))).length;
  const found = [
    count('error') > 0 ? plural(count('error'), 'error') : '',
    count('warning') > 0 ? plural(count('warning'), 'warning') : '',
    open > 0 ? plural(open, 'open question') : '',
  ].filter(Boolean);
  return found.length > 0 ? found.join(', ') : 'nothing found';
}

const [LOW, HIGH] = [20, 90];

/** How long each bank takes from low to high, as far as that is known. */
function chargeText({ system, context }: AnalysedDesign): string {
  const chargeTime = DESIGN_FUNCTIONS.get('chargeTime');
  const given = [LOW, HIGH].map((percent) => ({ derivation: derive('state of charge', percent / 100, '') }));
  const times = system.instances.filter(isBank).flatMap((bank) => {
    const time = chargeTime?.compute(bank, given, context);
    return time?.kind === 'known' ? [`${bank.name} ${shown(time)}`] : [];
  });
  return times.length > 0 ? `charges from ${LOW} % to ${HIGH} %: ${times.join(', ')}` : '';
}

const shown = (result: Result & { kind: 'known' }): string => shownValue(result.derivation, 3).display;

/** How long each set runs on a day and what it burns, as far as that is known; nothing of one that has nothing to run for. */
function fuelText({ system, context }: AnalysedDesign): string {
  return system.instances
    .flatMap((each) => {
      const names = context.quantityNames(each);
      const parts = (['dailyRunTime', 'dailyFuel'] as const)
        .flatMap((name) => {
          const result = names.includes(name) ? context.quantity(each, name) : undefined;
          return result?.kind === 'known' ? [result] : [];
        })
        .filter(({ derivation: { value } }) => typeof value === 'object' && value.high > 0)
        .map(shown);
      return parts.length > 0 ? [`${each.name} a day: ${parts.join(', ')}`] : [];
    })
    .join('; ');
}

function scenarioTitle(scenario: string, { system }: AnalysedDesign, { requirements, scenarios }: Analysis): string {
  const played = scenarios.find((each) => each.design === system.name && each.scenario.name === scenario);
  const own = requirements.filter((each) => each.design === system.name && each.scenario === scenario);
  const outcomes = own.map((each) => requirementOutcome(each).holds);
  if (!played || (played.played.kind === 'played' && own.length === 0)) return 'simulate';
  if (played.played.kind !== 'played') return 'simulate: cannot be simulated';
  const failed = outcomes.filter((holds) => holds === false).length;
  const held = outcomes.filter((holds) => holds === true).length;
  return failed > 0 ? `simulate: ${failed} of ${own.length} fail` : `simulate: ${held} of ${own.length} hold`;
}
