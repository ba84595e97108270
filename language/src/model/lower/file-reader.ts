import type * as ast from '../../grammar/generated/ast.js';
import { isFile } from '../../grammar/generated/ast.js';
import { contradictionsIn, lackingIn } from '../data-sheets.js';
import type { Part } from '../types.js';
import { DesignReader } from './design-reader.js';
import { FileNames } from './file-names.js';
import { FileScope } from './file-scope.js';
import type { LoweredDesign, LoweredFile } from './lowered.js';
import { PartReader } from './parts.js';
import { PropertyReader } from './properties.js';
import { oneForEachSlip, syntaxProblems } from './syntax-errors.js';
import { checkUses } from './uses.js';

/** Reads one file: its parts, values, designs and variants. */
export class FileReader extends FileScope {
  readonly parts = new PartReader(this);
  readonly names = new FileNames(this);
  readonly statements = new PropertyReader(this);

  lower(): LoweredFile {
    const file = this.document.parseResult.value;
    if (!isFile(file)) return { uri: this.uri, problems: [], designs: [], parts: [], partsOf: () => [] };
    this.problems.push(...syntaxProblems(this.document));
    checkUses(this, file);
    this.duplicates(file.declarations ?? [], 'declaration', '');
    const designs: LoweredDesign[] = [];
    const parts: Part[] = [];
    for (const declaration of file.declarations ?? []) {
      switch (declaration.$type) {
        case 'Part': {
          const part = this.parts.part(declaration);
          if (part) parts.push(part);
          if (part) this.judgeSheet(declaration, part);
          break;
        }
        case 'Let':
          this.names.letValue(declaration, this.names.fileSurroundings());
          break;
        case 'ProfileDeclaration':
          this.names.profile(declaration);
          break;
        case 'Design':
          designs.push(new DesignReader(this, declaration).lower());
          break;
        case 'Variant': {
          const variant = this.variant(declaration);
          if (variant) designs.push(variant);
          break;
        }
      }
    }
    if (designs.length > 0 && !this.services.isUsed(this.document.uri)) this.parts.unusedParts(file);
    return {
      uri: this.uri,
      problems: oneForEachSlip(this.problems),
      designs,
      parts,
      partsOf: (kind) => this.parts.partsOf(file, kind),
    };
  }

  /** What the data sheet of a part says wrongly or not at all; what it only inherits is told where that is stated. */
  private judgeSheet(node: ast.Part, { name, kind, properties, wrong }: Part): void {
    for (const { lower, higher, isBelow } of contradictionsIn(kind, properties)) {
      const own = [higher, lower].find(({ inheritedFrom }) => inheritedFrom === undefined);
      if (own?.place)
        this.report(node, { code: 'contradictory-ratings', part: name, lower, higher, isBelow }, '', own.place);
    }
    const missing = lackingIn(kind, properties, wrong);
    if (missing.length > 0 && !this.isExtended(node))
      this.report(node, { code: 'missing-rating', part: name, missing }, '', this.placeOf(node, 'name'));
  }

  /** Whether another part of the file extends one, which then may complete it. */
  private isExtended({ name, $container: { declarations } }: ast.Part): boolean {
    return declarations.some((each) => each.$type === 'Part' && each.base?.$refText === name);
  }

  private variant(node: ast.Variant): LoweredDesign | undefined {
    const base = node.base?.ref;
    if (!base) {
      if (node.base)
        this.report(
          node,
          {
            code: 'unknown-name',
            name: node.base.$refText,
            wanted: 'design',
            candidates: this.namesOf(node, 'Design'),
          },
          '',
          this.placeOf(node, 'base'),
        );
      return undefined;
    }
    return new DesignReader(this, base, node).lower();
  }
}
