import {
  type AnalysedDesign,
  type Analysis,
  type Derivation,
  type Margin,
  type Run,
  assumptionsOf,
  ast,
  numberIn,
  shownValue,
  isReading,
  shareOf,
} from '@wattwright/language';
import { AstUtils, GrammarUtils, type LangiumDocument } from 'langium';
import type { InlayHintProvider } from 'langium/lsp';
import { type InlayHint, InlayHintKind, type InlayHintParams, MarkupKind } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { designOf, documentNamed, thingOf } from './locate.js';
import { workedMarkdown } from './worked.js';

/** The hints that an editor may show behind the name of a run. */
export const HINTS = ['current', 'drop', 'margin', 'assumed'] as const;
export type HintName = (typeof HINTS)[number];

/** Shown where the settings of the editor do not say: one number for each run is read, four are not. */
const USUAL: Readonly<Record<HintName, boolean>> = { current: true, drop: false, margin: false, assumed: false };

/** What a hint carries, so that its calculation can be shown when somebody points at it. */
interface HintData {
  readonly uri: string;
  readonly design: string;
  readonly run: string;
  readonly hint: HintName;
}

/** Shows behind the name of every run its design current, its voltage drop, what it leaves of its tightest limit, and what is assumed. */
export class RunHints implements InlayHintProvider {
  /** What the settings of the editor say; an editor that never answers for them gets the usual hints. */
  private chosen: Partial<Record<HintName, unknown>> = {};

  constructor(private readonly services: WattwrightServices) {
    const { ConfigurationProvider } = services.shared.workspace;
    const read = async (): Promise<void> => {
      const settings: unknown = await ConfigurationProvider.getConfiguration('wattwright', 'inlayHints');
      this.chosen = typeof settings === 'object' && settings !== null ? settings : {};
      await services.shared.lsp.Connection?.languages.inlayHint.refresh();
    };
    // An editor that knows no refreshing refuses it; it asks again at the next edit.
    const follow = (): void => void read().catch(() => undefined);
    ConfigurationProvider.onConfigurationSectionUpdate(follow);
    follow();
  }

  getInlayHints(document: LangiumDocument, { range }: InlayHintParams): InlayHint[] {
    const { wanted } = this;
    const analysis = this.services.analysis.Analyses.of(document);
    const uri = document.uri.toString();
    return AstUtils.streamContents(document.parseResult.value)
      .filter(ast.isDesign)
      .flatMap((design) => design.members.filter(ast.isRun))
      .flatMap((node) => {
        const name = GrammarUtils.findNodeForProperty(node.$cstNode, 'name');
        if (!name || name.range.start.line < range.start.line || name.range.end.line > range.end.line) return [];
        const design = designOf(analysis, node);
        const run = design && thingOf(design, node);
        if (run?.kind !== 'run' || !analysis) return [];
        return wanted.flatMap((hint): InlayHint[] => {
          const label = labelOf(hint, run, design!, analysis);
          if (label === undefined) return [];
          const data: HintData = { uri, design: design!.system.name, run: run.name, hint };
          return [
            {
              position: name.range.end,
              label,
              kind: InlayHintKind.Type,
              paddingLeft: true,
              tooltip: TOOLTIPS[hint],
              data,
            },
          ];
        });
      })
      .toArray();
  }

  /** A hint with the calculation behind it. */
  resolve(given: InlayHint): InlayHint {
    const data = given.data as HintData | undefined;
    const document = documentNamed(this.services.shared, data?.uri);
    const analysis = document && this.services.analysis.Analyses.of(document);
    const design = analysis?.designs.find(({ system }) => system.name === data?.design);
    const run = design?.system.runs.find(({ name }) => name === data?.run);
    if (!data || !analysis || !design || !run) return given;
    const derivation = derivationOf(data.hint, run, design, analysis);
    if (!derivation) return given;
    const value = `${TOOLTIPS[data.hint]}\n\n${workedMarkdown(derivation, data.uri)}`;
    return { ...given, tooltip: { kind: MarkupKind.Markdown, value } };
  }

  private get wanted(): readonly HintName[] {
    return HINTS.filter((hint) => (typeof this.chosen[hint] === 'boolean' ? this.chosen[hint] : USUAL[hint]));
  }
}

const TOOLTIPS: Readonly<Record<HintName, string>> = {
  current: 'Design current at the worst corner',
  drop: 'Voltage drop, of nominal',
  margin: 'What it uses of its tightest limit',
  assumed: 'Values that count and that nobody stated',
};

function known(run: Run, name: 'current' | 'voltageDrop', { context }: AnalysedDesign): Derivation | undefined {
  if (!context.quantityNames(run).includes(name)) return undefined;
  const result = context.quantity(run, name);
  return result.kind === 'known' ? result.derivation : undefined;
}

function labelOf(hint: HintName, run: Run, design: AnalysedDesign, analysis: Analysis): string | undefined {
  switch (hint) {
    case 'current': {
      const current = known(run, 'current', design);
      return current && shownValue(current, 3).display;
    }
    case 'drop': {
      const share = known(run, 'voltageDrop', design)?.parts['ratio'];
      return share && `${percent(numberIn(share, ''))} drop`;
    }
    case 'margin': {
      const tightest = tightestOf(run, analysis);
      return tightest && `uses ${percent(tightest.share)} of ${tightest.margin.check}`;
    }
    case 'assumed': {
      const [first, ...others] = assumed(run, design);
      if (first === undefined) return undefined;
      return `assumes ${first}${others.length > 0 ? ` and ${others.length} more` : ''}`;
    }
  }
}

const percent = (share: number): string => `${Number((share * 100).toPrecision(2))} %`;

function assumed(run: Run, design: AnalysedDesign): readonly string[] {
  const numbers = (['current', 'voltageDrop'] as const).flatMap((name) => known(run, name, design) ?? []);
  const ampacity = design.context.quantityNames(run).includes('ampacity')
    ? design.context.quantity(run, 'ampacity')
    : undefined;
  return assumptionsOf([...numbers, ...(ampacity?.kind === 'known' ? [ampacity.derivation] : [])]);
}

/** The limit of which a run that keeps all of them uses most. */
function tightestOf(run: Run, { margins }: Analysis): { readonly margin: Margin; readonly share: number } | undefined {
  let tightest: { readonly margin: Margin; readonly share: number } | undefined;
  for (const margin of margins) {
    if (margin.subject !== run.path) continue;
    if (isReading(margin.use.value)) continue;
    const share = shareOf(margin.use);
    if (Number.isFinite(share) && (!tightest || share > tightest.share)) tightest = { margin, share };
  }
  return tightest;
}

function derivationOf(hint: HintName, run: Run, design: AnalysedDesign, analysis: Analysis): Derivation | undefined {
  switch (hint) {
    case 'current':
      return known(run, 'current', design);
    case 'drop':
      return known(run, 'voltageDrop', design);
    case 'margin':
      return tightestOf(run, analysis)?.margin.use.value;
    case 'assumed':
      return undefined;
  }
}
