import { describe, expect, it } from 'vitest';
import { CHECKS, findCheck } from '../../../language/src/index.js';
import { projectSchema } from '../../../language/src/project/index.js';
import { explain } from '../../../server/src/requests/explain.js';
import { analyseText } from '../../helpers/analyse.js';

const RENAMED = CHECKS.flatMap(({ id, formerly, docs }) =>
  formerly === undefined ? [] : [{ id, formerly, failing: docs.failing }],
);

/** Ids that were printed in an earlier state of the language: none of them is forgotten. */
const PRINTED = {
  'one-bond': 'neutral-bond',
  'conductor-fault-heat': 'short-circuit-withstand',
  'fault-too-small': 'fault-clearing',
  'generator-clean-share': 'generator-distortion',
  'generator-altitude': 'generator-derating',
  'reading-off': 'reading-mismatch',
};

describe('former ids of checks', () => {
  it('are all known', () => {
    expect(Object.fromEntries(RENAMED.map(({ formerly, id }) => [formerly, id]))).toEqual(PRINTED);
    const ids = new Set(CHECKS.map(({ id }) => id));
    expect(RENAMED.filter(({ formerly }) => ids.has(formerly))).toEqual([]);
  });

  it.each(RENAMED)('$formerly is explained as $id, and may stand in a project file', ({ id, formerly }) => {
    expect(findCheck(formerly)?.id).toBe(id);
    expect(explain(formerly)).toBe(explain(id));
    expect(explain(formerly)).toContain(`# ${id}`);
    expect(JSON.stringify(projectSchema())).toContain(`"${formerly}"`);
  });

  it.each(RENAMED)(
    '$formerly accepts what $id finds, and says once that it is renamed',
    async ({ id, formerly, failing }) => {
      const [found] = (await analyseText(failing)).findings.filter(({ check }) => check === id);
      const subject = found!.subject.split('.').slice(1).join('.');
      const waiver = `accept ${formerly}${subject ? ` on ${subject}` : ''} because "tried"`;
      const design = found!.subject.split('.')[0]!;
      const waived = failing.replace(new RegExp(`(design ${design} [^{]*\\{)`), `$1\n  ${waiver}`);
      expect(waived).not.toBe(failing);
      const { findings } = await analyseText(waived);
      const now = findings.filter(({ check, subject: on }) => check === id && on === found!.subject);
      expect(now.map(({ accepted, formerly: old }) => [accepted?.reason, old])).toEqual([['tried', formerly]]);
      expect(findings.filter(({ check }) => check === 'renamed-check').map(({ headline }) => headline)).toEqual([
        `\`${formerly}\` is now called \`${id}\``,
      ]);
      expect(findings.filter(({ check }) => check === 'unused-accept')).toEqual([]);
    },
  );
});
