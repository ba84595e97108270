import { type AstNode, AstUtils, type LangiumDocument } from 'langium';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import type { Problem, ProblemFacts } from '../problems.js';
import type { LoweringServices } from './lowered.js';
import { placeOfItem, placeOfNode, placeOfProperty } from './place.js';

/** One file while it is read: its places, what is wrong with it, and the names it sees. */
export class FileScope {
  readonly problems: Problem[] = [];
  readonly uri: string;

  /** Reported nodes by problem code: a part used twice reports its fault once. */
  private readonly reported = new Set<string>();

  constructor(
    readonly document: LangiumDocument,
    readonly services: LoweringServices,
  ) {
    this.uri = document.uri.toString();
  }

  /** Reports a problem at a node of this file; faults of other files are reported when those are read. */
  readonly report = (node: AstNode, facts: ProblemFacts, subject = '', at?: Place): void => {
    if (AstUtils.getDocument(node) !== this.document) return;
    const place = at ?? placeOfNode(node, this.uri);
    // Several variants may leave the same run without its end.
    const key = `${facts.code} ${place.uri} ${place.offset} ${place.end}${facts.code === 'lost-end' ? ` ${subject}` : ''}`;
    if (this.reported.has(key)) return;
    this.reported.add(key);
    this.problems.push({ ...facts, place, subject });
  };

  readonly place = (node: AstNode): Place => placeOfNode(node, AstUtils.getDocument(node).uri.toString());
  readonly placeOf = (node: AstNode, property: string): Place =>
    placeOfProperty(node, property, AstUtils.getDocument(node).uri.toString());
  readonly comment = (node: AstNode): string | undefined => this.services.comment(node);
  readonly quantityNames = (kind: string): readonly string[] => this.services.quantityNames(kind);
  get designFunctions(): readonly string[] {
    return this.services.designFunctions;
  }
  /** The place of one step of a path: `capacity` of `Bank.capacity`. */
  readonly placeOfStep = (path: ast.Path, index: number): Place =>
    placeOfItem(path, 'steps', index, AstUtils.getDocument(path).uri.toString());

  duplicates(nodes: readonly AstNode[], what: string, subject: string): void {
    const first = new Map<string, AstNode>();
    for (const node of nodes) {
      const { name } = node as { name?: unknown };
      if (typeof name !== 'string' || node.$type === 'Property') continue;
      const before = first.get(name);
      if (before)
        this.report(
          node,
          { code: 'duplicate-name', name, what, first: this.placeOf(before, 'name') },
          subject,
          this.placeOf(node, 'name'),
        );
      else first.set(name, node);
    }
  }

  readonly partNames = (node: AstNode, kinds: readonly string[]): string[] =>
    this.services.visible.tables(node).flatMap((table) =>
      [...table.values()]
        .flat()
        .filter((each) => each.$type === 'Part' && kinds.includes((each as unknown as ast.Part).kind))
        .map((each) => each.name),
    );

  readonly findProfile = (node: AstNode, name: string): ast.ProfileDeclaration | undefined => {
    for (const table of this.services.visible.tables(node)) {
      const found = table.get(name)?.find((each) => each.$type === 'ProfileDeclaration');
      if (found) return found as unknown as ast.ProfileDeclaration;
    }
    return undefined;
  };

  namesOf(node: AstNode, type: string): string[] {
    return this.services.visible.tables(node).flatMap((table) =>
      [...table.values()]
        .flat()
        .filter((each) => each.$type === type)
        .map((each) => each.name),
    );
  }

  get hasSyntaxErrors(): boolean {
    const { lexerErrors, parserErrors } = this.document.parseResult;
    return lexerErrors.length + parserErrors.length > 0;
  }

  /**
   * Takes back the syntax errors that follow from one fault: those behind it on its line, else the next one if nothing stands between. Says
   * `message` instead, if there is one. Returns whether there were any.
   */
  replaceSyntaxErrors(node: AstNode, at: Place, message?: string): boolean {
    if (AstUtils.getDocument(node) !== this.document) return false;
    const text = this.document.textDocument.getText();
    const isNext = ({ place }: Problem): boolean =>
      place.offset >= at.end && (place.line === at.endLine || text.slice(at.end, place.offset).trim() === '');
    const follow = this.problems.filter((problem) => problem.code === 'syntax-error' && isNext(problem));
    if (follow.length === 0) return false;
    for (const problem of follow) this.problems.splice(this.problems.indexOf(problem), 1);
    if (message) this.problems.push({ code: 'syntax-error', message, place: at, subject: '' });
    return true;
  }
}
