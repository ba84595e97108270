import type * as ast from '../../grammar/generated/ast.js';
import type { DesignReader } from './design-reader.js';
import { textOf } from './place.js';

/** What a variant changes: by name of the thing (`''` for the design itself), then by property. Reports what it cannot change. */
export function readOverrides(design: DesignReader, variant: ast.Variant): Map<string, Map<string, ast.Override>> {
  const overrides = new Map<string, Map<string, ast.Override>>();
  for (const override of variant.overrides ?? []) {
    const { subject } = override;
    if (!subject) continue;
    const root = subject.root?.$refText ?? '';
    const [property, ...rest] = subject.steps ?? [];
    if (rest.length > 0 || property === undefined) {
      design.report(
        override,
        {
          code: 'wrong-type',
          what: 'what a variant changes',
          expected: 'a property of a thing, such as Bank.parallel',
          text: textOf(subject),
          proposals: [],
        },
        design.name,
        design.file.place(subject),
      );
      continue;
    }
    if (root !== 'site' && root !== 'design' && !subject.root?.ref) {
      const candidates = design.members.flatMap((member) =>
        'name' in member && member.$type !== 'Property' ? [member.name] : [],
      );
      design.report(
        override,
        { code: 'unknown-name', name: root, wanted: `thing of ${design.node.name}`, candidates },
        design.name,
        design.file.placeOf(subject, 'root'),
      );
      continue;
    }
    if (subject.root?.ref && design.changes?.removed.has(subject.root.ref)) {
      design.report(
        override,
        {
          code: 'wrong-type',
          what: 'what a variant changes',
          expected: `a thing that it keeps; it removes ${root}`,
          text: textOf(subject),
          proposals: [],
        },
        design.name,
        design.file.place(subject),
      );
      continue;
    }
    const key = root === 'design' ? '' : root;
    const of = overrides.get(key) ?? new Map<string, ast.Override>();
    of.set(property, override);
    overrides.set(key, of);
  }
  return overrides;
}
