import { ast, shownValue } from '@wattwright/language';
import { AstUtils, GrammarUtils, type LangiumDocument } from 'langium';
import type { InlayHintProvider } from 'langium/lsp';
import { type InlayHint, InlayHintKind, type InlayHintParams } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { designOf, thingOf } from './locate.js';

/** Shows the design current of every run behind its name. */
export class CurrentHints implements InlayHintProvider {
  constructor(private readonly services: WattwrightServices) {}

  getInlayHints(document: LangiumDocument, { range }: InlayHintParams): InlayHint[] {
    const analysis = this.services.analysis.Analyses.of(document);
    const root = document.parseResult.value;
    return AstUtils.streamContents(root)
      .filter(ast.isDesign)
      .flatMap((design) => design.members.filter(ast.isRun))
      .flatMap((node) => {
        const name = GrammarUtils.findNodeForProperty(node.$cstNode, 'name');
        const design = designOf(analysis, node);
        const run = design && thingOf(design, node);
        if (!name || !run || name.range.start.line < range.start.line || name.range.end.line > range.end.line)
          return [];
        if (!design.context.quantityNames(run).includes('current')) return [];
        const current = design.context.quantity(run, 'current');
        if (current.kind !== 'known') return [];
        return [
          {
            position: name.range.end,
            label: shownValue(current.derivation, 3).display,
            kind: InlayHintKind.Type,
            paddingLeft: true,
            tooltip: 'Design current at the worst corner',
          } satisfies InlayHint,
        ];
      })
      .toArray();
  }
}
