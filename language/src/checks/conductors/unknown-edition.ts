import { editionsOf } from '../../reference/index.js';
import { defineCheck, NO_LIMIT, points } from '../define.js';
import { propose, replace } from '../fixes.js';
import { passed } from '../verdicts.js';
import { PUBLISHED } from './shared.js';

const listed = (editions: readonly string[]): string =>
  editions.length < 2 ? editions.join('') : `${editions.slice(0, -1).join(', ')} and ${editions.at(-1)}`;

/** The stored edition next to the stated one in time. */
const nearestTo = (edition: string, editions: readonly string[]): string =>
  [...editions].sort(
    (a, b) => Math.abs(Number(a) - Number(edition)) - Math.abs(Number(b) - Number(edition)) || Number(b) - Number(a),
  )[0]!;

export const unknownEdition = defineCheck({
  id: 'unknown-edition',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A design names an edition of its wiring rules whose tables are not stored.',
    guards:
      'Findings that speak for an edition nobody compared: ampacities, ratings and section numbers change between editions.',
    how: points(
      'The edition behind `basis` is looked up among those whose tables are stored. Where it is none of them, the stored tables are read all the same, and this finding says so.',
      'Stored: NEC 2017, 2020 and 2023; IEC 60364 by the years of its parts 4-43 (2008), 5-52 (2009) and 5-54 (2011); small-craft practice 2008 to 2025. A design that names no edition follows the newest stored one.',
      'NEC editions differ here in the 10 A rating for breakers (from 2023) and in the names of sections, which findings print.',
    ),
    fix: 'State one of the stored editions, or the tables that the work follows in the project file.',
    sources: [PUBLISHED('NEC', '90.1', '2017-2023'), PUBLISHED('IEC 60364', 'dates of its parts')],
    failing: `design Hut {
  basis: nec 2014
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
}
`,
    passing: `design Hut {
  basis: nec 2017
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
}
`,
  },
  judge: function* ({ system }) {
    const { practice, edition, place, editionPlace } = system.basis;
    if (edition === undefined) return;
    const { name, editions } = editionsOf(practice);
    if (editions.includes(edition)) return yield passed({ path: system.name }, NO_LIMIT);
    const nearest = nearestTo(edition, editions);
    yield {
      verdict: 'failed',
      subject: system.name,
      place: editionPlace ?? place ?? system.place,
      // What was built under older rules is told by them, which nobody can change afterwards.
      ...(editions.every((each) => Number(each) > Number(edition)) ? { severity: 'warning' as const } : {}),
      headline: `No tables of ${name} ${edition} are stored here, only of ${listed(editions)}`,
      consequence: `findings rest on those and may differ from ${edition}`,
      advice: `Use ${nearest} if it is adopted where this is built, or compare the findings with your copy.`,
      use: NO_LIMIT,
      fixes: editionPlace ? [propose(`Change the edition to ${nearest}`, [replace(editionPlace, nearest)], true)] : [],
    };
  },
});
