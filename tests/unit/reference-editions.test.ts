import { describe, expect, it } from 'vitest';
import {
  editionsOf,
  inEdition,
  newestEdition,
  ratingsUnder,
  sectionIn,
  sourcesUnder,
} from '../../language/src/reference/index.js';
import { sourceText } from '../../language/src/index.js';
import type { Source } from '../../language/src/derivation/index.js';
import { analyseText, applyFix, findingsOf } from '../helpers/analyse.js';

const TABLE: Source = { standard: 'NEC', edition: '2011-2023', table: 'Table 310.16', provenance: 'published' };

describe('editions of the wiring rules', () => {
  it('names a source as the edition of the design does', () => {
    expect(sourceText(inEdition(TABLE, { practice: 'nec', edition: '2023' }))).toBe('NEC (2023) Table 310.16');
    // NEC 2017, as quoted by a trade magazine: Table 310.15(B)(16), renamed Table 310.16 in 2020.
    expect(sourceText(inEdition(TABLE, { practice: 'nec', edition: '2017' }))).toBe('NEC (2017) Table 310.15(B)(16)');
    expect(sourceText(inEdition(TABLE, { practice: 'nec' }))).toBe('NEC (2011-2023) Table 310.16');
    expect(inEdition(TABLE, { practice: 'nec', edition: '2005' })).toEqual(TABLE);
    expect(inEdition(TABLE, { practice: 'iec', edition: '2009' })).toEqual(TABLE);
  });

  it('names a section as the edition of the design does', () => {
    expect(sectionIn('310.10(G)', { practice: 'nec', edition: '2017' })).toBe('310.10(H)');
    expect(sectionIn('310.10(G)', { practice: 'nec', edition: '2023' })).toBe('310.10(G)');
    expect(sectionIn('310.10(G)', { practice: 'nec' })).toBe('310.10(G)');
  });

  it('adds the rules to a finding whose sources do not name them', () => {
    const craft: Source = { standard: 'ABYC E-11', table: 'E-11.10', provenance: 'published' };
    expect(sourcesUnder({ practice: 'nec', edition: '2020' }, [craft]).map(sourceText)).toEqual([
      'ABYC E-11 E-11.10',
      'NEC (2020): basis of the design',
    ]);
    expect(sourcesUnder({ practice: 'craft' }, [craft])).toEqual([craft]);
    const iec: Source = { standard: 'IEC 60364-4-43', table: '433.1', provenance: 'from memory' };
    const nec: Source = { standard: 'NEC', edition: '2011-2023', table: '240.4', provenance: 'published' };
    const product: Source = { standard: 'IEC 60898-1', provenance: 'published' };
    // Each practice by itself: its own rules stand alone, beside standards of products.
    expect(sourcesUnder({ practice: 'nec', edition: '2020' }, [nec, iec, product, craft]).map(sourceText)).toEqual([
      'NEC (2020) 240.4',
      'IEC 60898-1',
    ]);
    expect(sourcesUnder({ practice: 'iec' }, [nec, iec, product, craft])).toEqual([iec, product]);
    expect(sourceText(sourcesUnder({ practice: 'nec' }, [])[0]!)).toContain(newestEdition('nec'));
  });

  // NEC 240.6(A): 1, 3, 6, 10 A are standard for fuses; 10 A for breakers from 2023 (building-code forum thread).
  it('gives breakers 10 A from 2023 only, and fuses always', () => {
    const breakers = (edition?: string) =>
      ratingsUnder({ practice: 'nec', ...(edition ? { edition } : {}) }, 'breaker');
    expect(breakers('2023').slice(0, 2)).toEqual([10, 15]);
    expect(breakers()[0]).toBe(10);
    expect(breakers('2020')[0]).toBe(15);
    expect(ratingsUnder({ practice: 'nec', edition: '2017' }, 'fuse').slice(0, 5)).toEqual([1, 3, 6, 10, 15]);
  });

  it('stores the editions that its oldest and newest tables share', () => {
    expect(editionsOf('nec').editions).toEqual(['2017', '2020', '2023']);
  });
});

const hut = (basis: string): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
  load Heater { power: 6 kW }
  run Line: Mains -> Heater { size: 14 AWG   type: THHN   length: 2 m   earth: 14 AWG }
}
`;

describe('unknown-edition', () => {
  it.each(['nec 2017', 'nec 2020', 'nec 2023', 'nec', 'iec', 'iec 2009', 'craft', 'craft 2020'])(
    'is silent on %s',
    async (basis) => expect(findingsOf(await analyseText(hut(basis)), 'unknown-edition')).toEqual([]),
  );

  it.each([
    ['nec 2014', '2017', 'warning'],
    ['nec 2018', '2017', 'error'],
    ['nec 2026', '2023', 'error'],
    ['iec 1999', '2008', 'warning'],
    ['craft 1990', '2008', 'warning'],
  ])('names the stored editions for %s and offers %s', async (basis, nearest, severity) => {
    const [finding] = findingsOf(await analyseText(hut(basis)), 'unknown-edition');
    // What was built before the oldest of them cannot follow any.
    expect(finding?.severity).toBe(severity);
    expect(finding?.told).toMatch(/No tables of .* are stored here, only of/);
    const mended = applyFix(hut(basis), finding!.fixes[0]!);
    expect(mended).toContain(`basis: ${basis.split(' ')[0]} ${nearest}`);
    expect(findingsOf(await analyseText(mended), 'unknown-edition')).toEqual([]);
  });

  it('lets every finding on conductors say which edition it was judged by', async () => {
    for (const edition of ['2017', '2020', '2023']) {
      const analysis = await analyseText(hut(`nec ${edition}`));
      const found = analysis.findings.filter(({ check }) => ['run-ampacity', 'run-unprotected'].includes(check));
      expect(found.length).toBeGreaterThan(1);
      for (const { sources } of found) expect(sources.map(sourceText).join('; ')).toContain(`NEC (${edition})`);
      expect(found.map(({ told }) => told).join()).toContain(`NEC ${edition}`);
    }
  });
});
