import type { Log } from 'sarif';
import { describe, expect, it } from 'vitest';
import { againstSarif, againstSchema } from './helpers/schemas.js';
import { call, temporaryFolder } from './helpers/program.js';

const hut = (basis: string): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 50 A }
  load Heater { power: 6 kW   continuous: no }
  run Line: Mains -> B1 -> Heater { size: 8 AWG   type: THHN   length: 2 m   earth: 10 AWG   conductors: 9 }
}
`;

const checked = async (basis: string, format: string): Promise<string> => {
  const cwd = temporaryFolder({ 'hut.watt': hut(basis) });
  return (await call(['check', '--format', format], { cwd })).stdout;
};

// NEC 2017 calls Table 310.16 Table 310.15(B)(16) (trade magazines on that edition).
describe('the edition a design names', () => {
  it.each([
    ['nec 2023', 'NEC 2023 Table', '310.16'],
    ['nec 2017', 'NEC 2017 Table', '310.15(B)(16)'],
  ])('%s stands in the sources of every format', async (basis, named, table) => {
    const pretty = await checked(basis, 'pretty');
    expect(pretty.replace(/\s+/g, ' ')).toContain(table);

    const json = JSON.parse(await checked(basis, 'json')) as {
      findings: { check: string; message: string; rule?: string; sources: string[] }[];
    };
    expect(againstSchema('check', json)).toEqual([]);
    const found = json.findings.find(({ check }) => check === 'run-ampacity')!;
    expect(found.sources.join('; ')).toContain(table);
    expect(found.rule).toContain(`${named} ${table}`);

    const log = JSON.parse(await checked(basis, 'sarif')) as Log;
    expect(againstSarif(log)).toEqual([]);
    const result = log.runs[0]!.results!.find(({ ruleId }) => ruleId === 'run-ampacity')!;
    expect((result.properties?.['sources'] as string[]).join('; ')).toContain(table);
  });

  it('is a finding of its own where no tables of it are stored', async () => {
    const json = JSON.parse(await checked('nec 2011', 'json')) as { findings: { check: string; message: string }[] };
    const found = json.findings.filter(({ check }) => check === 'unknown-edition');
    expect(found.map(({ message }) => message)).toEqual([expect.stringContaining('No tables of NEC 2011 are stored')]);
  });
});
