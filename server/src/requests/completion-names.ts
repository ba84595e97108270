import {
  type AnalysedDesign,
  type Analysis,
  type DesignContext,
  FORMER_PARTS,
  type Thing,
  VisibleDocuments,
  ast,
  isOfDesign,
  withoutDesign,
} from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { CompletionItemKind } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import type { Item } from './completion-items.js';
import { kindOfNode } from './locate.js';

/** Something that has a name where the cursor is. */
export interface KnownName {
  readonly name: string;
  /** `battery`, `run`, `let`; undefined where the text does not say. */
  readonly kind: string | undefined;
  readonly label?: string;
}

/**
 * The names that count at a place: those of the tree as it was last read, and of the last analysis, since a text that is being typed may
 * have lost half of its tree.
 */
export class NamesAround {
  /** The design around the cursor, as it was last analysed. */
  readonly analysed: AnalysedDesign | undefined;

  constructor(
    private readonly services: WattwrightServices,
    private readonly document: LangiumDocument,
    private readonly design: string | undefined,
  ) {
    this.analysed = this.designIn(this.analysis);
  }

  private designIn(analysis: Analysis | undefined): AnalysedDesign | undefined {
    const { designs = [] } = analysis ?? {};
    return (
      designs.find(({ system }) => (system.variant ?? system.name) === this.design) ??
      designs.find(({ system }) => system.name === this.design)
    );
  }

  get uri(): string {
    return this.document.uri.toString();
  }

  get designName(): string {
    return this.design ?? '';
  }

  get analysis(): Analysis | undefined {
    return this.services.analysis.Analyses.soundOf(this.document);
  }

  /** A thing of the design by its name, with the calculations around it; where it is new, those of the text that is broken. */
  placed(name: string): { readonly thing: Thing; readonly context: DesignContext } | undefined {
    for (const design of [this.analysed, this.designIn(this.services.analysis.Analyses.of(this.document))]) {
      if (!design) continue;
      const { instances, runs, links, controls } = design.system;
      const thing = [...instances, ...runs, ...links, ...controls].find((each) => each.name === name);
      if (thing) return { thing, context: design.context };
    }
    return undefined;
  }

  /** Things of the design of some kinds. */
  of(kinds: readonly string[]): KnownName[] {
    return this.members().filter(({ kind }) => kind !== undefined && kinds.includes(kind));
  }

  /** The members of the design, in the order of the text. */
  members(): KnownName[] {
    const found = new Map<string, KnownName>();
    for (const node of this.memberNodes()) {
      const { name, label } = node as { name?: string; label?: string };
      if (!name || ast.isProperty(node)) continue;
      const kind = ast.isLet(node) ? 'let' : kindOfNode(node);
      found.set(name, { name, kind, ...(label ? { label } : {}) });
    }
    if (this.analysed) {
      const { instances, runs, links } = this.analysed.system;
      for (const { name, kind, label } of [...instances, ...runs, ...links])
        if (!found.has(name)) found.set(name, { name, kind, ...(label ? { label } : {}) });
    }
    return [...found.values()];
  }

  /** The nodes of the design in the tree; in a variant what it adds goes before those of its base. */
  private memberNodes(): readonly ast.DesignMember[] {
    const file = this.document.parseResult.value;
    if (!ast.isFile(file)) return [];
    const systems = file.declarations.filter((each) => ast.isDesign(each) || ast.isVariant(each));
    const found = systems.find(({ name }) => name === this.design);
    if (!found) return [];
    if (ast.isDesign(found)) return found.members;
    const added = found.changes.flatMap((change) => ('thing' in change && change.thing ? [change.thing] : []));
    return [...added, ...(found.base?.ref?.members ?? [])];
  }

  /** Declarations of this file and of those it uses. */
  declarations(): readonly ast.Declaration[] {
    return this.files().flatMap(({ parseResult: { value } }) => (ast.isFile(value) ? value.declarations : []));
  }

  private files(): LangiumDocument[] {
    return [this.document, ...new VisibleDocuments(this.services.shared).used(this.document)];
  }

  /** Parts of some kinds that can be used here: those of the project first, then the library's. */
  parts(kinds: readonly string[]): ast.Part[] {
    const { LangiumDocuments } = this.services.shared.workspace;
    const library = LangiumDocuments.all.filter(({ uri }) => isLibrary(uri) && uri.toString() !== FORMER_PARTS);
    return [...this.files(), ...library]
      .flatMap(({ parseResult: { value } }) => (ast.isFile(value) ? value.declarations.filter(ast.isPart) : []))
      .filter((part) => part.name && kinds.includes(part.kind));
  }

  /** What a check has found something on, without the name of the design; undefined where nothing was analysed. */
  foundBy(check: string): readonly string[] | undefined {
    const { analysis, analysed } = this;
    if (!analysis || !analysed) return undefined;
    const own = analysis.findings.filter(
      (each) => each.check === check && isOfDesign(each.subject, analysed.system.name),
    );
    const open = own.filter(({ accepted }) => !accepted);
    return [...new Set([...open, ...own].map(({ subject }) => withoutDesign(subject)).filter(Boolean))];
  }

  /** The checks that have found something in the design, worst first. */
  checksThatFound(): ReadonlySet<string> {
    const { analysis, analysed } = this;
    const own = analysis?.findings.filter(({ subject }) => analysed && isOfDesign(subject, analysed.system.name));
    return new Set(own?.map(({ check }) => check));
  }
}

export const nameItem = ({ name, kind, label }: KnownName): Item => {
  const detail = [kind === 'let' ? '' : kind, label].filter(Boolean).join(' · ');
  return { label: name, kind: CompletionItemKind.Variable, ...(detail ? { detail } : {}) };
};
