import { type AstNode, AstUtils } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import { kindOf, propertyOf } from '../../equipment/index.js';
import { Evaluator, type Surroundings } from './evaluate.js';
import { type Evaluated, knownValue, pending } from './evaluated.js';
import { derivationOfProperty, partArgument } from './property-facts.js';
import type { FileReader } from './file-reader.js';
import { textOf } from './place.js';
import { typeSignalCall } from './signals.js';
import { isExpressionNode, typeValue } from './values.js';
import { nameOf } from './wording.js';

/** Values that stand outside designs: `let`, profiles, and the properties of parts. */
export class FileNames {
  private readonly lets = new Map<ast.Let, Evaluated | 'busy'>();

  constructor(private readonly file: FileReader) {}

  profile(node: ast.ProfileDeclaration): void {
    if (!node.table) return;
    const definition = propertyOf('load', 'profile');
    if (definition)
      typeValue(
        node.table,
        [],
        definition,
        `profile ${nameOf(node)}`,
        this.file.statements.valueContext(this.fileSurroundings(node), undefined),
      );
  }

  /** What expressions outside designs see: `let` values, parts and functions. */
  fileSurroundings(owner?: AstNode): Surroundings {
    const around: Surroundings = {
      uri: owner ? AstUtils.getDocument(owner).uri.toString() : this.file.uri,
      report: (node, facts, at) => this.file.report(node, facts, '', at),
      lookUp: (path) => this.lookUpNamed(path, around),
      names: () => this.file.namesOf(owner ?? this.file.document.parseResult.value, 'Let'),
      callDesign: (call, given) => typeSignalCall(call, given),
      designFunctionNames: [],
    };
    return around;
  }

  /** A `let` or a part by name; undefined for everything else. */
  lookUpNamed(path: ast.Path, around: Surroundings): Evaluated | undefined {
    const target = path.root?.ref;
    if (!target) return undefined;
    if (target.$type === 'Let' && (path.steps ?? []).length === 0) return this.letValue(target, around);
    if (target.$type === 'Part') {
      const part = this.file.parts.part(target, true);
      if (!part) return { kind: 'bad', reason: `part ${target.name} is faulty` };
      const [step, ...rest] = path.steps ?? [];
      if (step === undefined) return { kind: 'part', part: partArgument(part) };
      const property = part.properties.get(propertyOf(part.kind, step)?.name ?? step);
      const derivation = property && derivationOfProperty(property, part.name);
      if (derivation && rest.length === 0) return knownValue(derivation);
      if (propertyOf(part.kind, step) && rest.length === 0) return pending(undefined, `${step} of ${part.name}`);
      around.report(
        path,
        {
          code: 'unknown-name',
          name: step,
          wanted: `property of ${part.name}`,
          candidates: kindOf(part.kind)?.properties.map(({ name }) => name) ?? [],
        },
        this.file.placeOfStep(path, 0),
      );
      return { kind: 'bad', reason: `unknown property ${step}` };
    }
    return undefined;
  }

  /** The value of a `let`. Those of a design are kept by the design, since a variant of it may give other values. */
  letValue(node: ast.Let, around: Surroundings, lets = this.lets): Evaluated {
    const kept = lets.get(node);
    if (kept === 'busy') {
      this.file.report(
        node,
        {
          code: 'wrong-type',
          what: `\`let ${nameOf(node)}\``,
          expected: 'a value that does not rest on itself',
          text: node.name,
          proposals: [],
        },
        '',
        this.file.placeOf(node, 'name'),
      );
      return { kind: 'bad', reason: `${node.name} rests on itself` };
    }
    if (kept) return kept;
    const value = node.value;
    if (value?.$type === 'Hole') return pending(undefined, node.name);
    const inner = value?.$type === 'Assumed' ? value.value : value;
    if (!inner || !isExpressionNode(inner)) {
      if (inner)
        this.file.report(inner, {
          code: 'wrong-type',
          what: `\`let ${nameOf(node)}\``,
          expected: 'an expression',
          text: textOf(inner),
          proposals: [],
        });
      return { kind: 'bad', reason: 'not an expression' };
    }
    lets.set(node, 'busy');
    const result = new Evaluator({ ...around, uri: AstUtils.getDocument(node).uri.toString() }).evaluate(inner);
    const word = result.kind === 'known' ? unresolvedWord(inner) : undefined;
    if (word !== undefined)
      around.report(inner, { code: 'unknown-name', name: word, wanted: 'value', candidates: [...around.names()] });
    const named: Evaluated =
      word !== undefined
        ? { kind: 'bad', reason: `unknown name ${word}` }
        : result.kind === 'known'
          ? knownValue({
              ...result.derivation,
              name: nameOf(node),
              ...(value?.$type === 'Assumed' ? { origin: 'assumed' } : {}),
            })
          : result;
    lets.set(node, named);
    return named;
  }
}

/** A bare word that stands for nothing, where it is the whole of an expression. */
export function unresolvedWord(node: ast.Expression): string | undefined {
  if (node.$type === 'Group') return node.inner && unresolvedWord(node.inner);
  if (node.$type !== 'Path' || (node.steps ?? []).length > 0 || node.root?.ref) return undefined;
  return node.root?.$refText;
}
