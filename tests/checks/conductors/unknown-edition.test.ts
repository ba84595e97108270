import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

const ID = 'unknown-edition';
const found = async (edition: string) =>
  findingsOf(
    await analyseText(`design Hut {
  basis: nec ${edition}
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
}
`),
    ID,
  ).map(({ severity, fixes }) => [severity, ...fixes.map(({ title }) => title)]);

// NEC 2017, 2020 and 2023 are stored.
describe(ID, () => {
  it.each(['2017', '2020', '2023'])('knows %s', async (edition) => {
    expect(await found(edition)).toEqual([]);
  });

  it.each([
    // What is older than all that is stored cannot be changed afterwards: a warning.
    ['2014', 'warning', '2017'],
    ['2018', 'error', '2017'],
    ['2019', 'error', '2020'],
    ['2022', 'error', '2023'],
    ['2026', 'error', '2023'],
  ])('%s is none of them: %s, the nearest is %s', async (edition, severity, nearest) => {
    expect(await found(edition)).toEqual([[severity, `Change the edition to ${nearest}`]]);
  });
});
