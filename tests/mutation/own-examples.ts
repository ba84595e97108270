import { describe, expect, it } from 'vitest';
import { CHECKS } from '../../language/src/index.js';
import { analyseText, findingsOf } from '../helpers/analyse.js';

/** The checks whose documented examples are tried, as the catalogue tries those of all. */
const ids = (process.env['MUTATION_CHECKS'] ?? '').split(',');

describe.each(CHECKS.filter(({ id }) => ids.includes(id)).map((check) => [check.id, check] as const))(
  '%s, in its documentation',
  (id, { docs }) => {
    it('finds one fault in its failing example', async () => {
      expect(findingsOf(await analyseText(docs.failing), id)).toHaveLength(1);
    });

    it('is silent on its passing example', async () => {
      expect(findingsOf(await analyseText(docs.passing), id)).toEqual([]);
    });
  },
);
