import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const CHECKS = ['terminal-temperature', 'run-protection', 'run-ampacity', 'run-unprotected'];

/** A heater at 240 V behind a breaker. */
const shed = (amperes: number, breaker: number, facts: string, gear = ''): string => `design Shed {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: 200 A   ${gear} }
  breaker B1 { rating: ${breaker} A   ${gear} }
  load Heater { power: ${amperes * 240} W   continuous: no }
  run Line: Mains -> B1 -> Heater { type: THHN   length: 3 m   ${facts} }
}
`;
/** What is found and what is asked about terminals. */
async function outcome(text: string): Promise<{ found: string[]; asked: string[] }> {
  const analysis = await analyseText(text);
  return {
    found: CHECKS.filter((check) => findingsOf(analysis, check).length > 0),
    asked: CHECKS.filter((check) => askedBy(analysis, check).some((fact) => fact.startsWith('terminals of Line'))),
  };
}

// NEC 110.14(C)(1)(a) and Table 310.16: 6 AWG copper 55 A at 60 °C, 65 A at 75 °C; 1/0 AWG 125 A and 150 A.
describe('terminals that nobody has read the marking of', () => {
  it('count as 60 °C up to 100 A: what that allows is right without asking', async () => {
    expect(await outcome(shed(55, 60, 'size: 6 AWG'))).toEqual({ found: [], asked: [] });
  });

  it('are asked about where the marking decides', async () => {
    expect(await outcome(shed(56, 60, 'size: 6 AWG'))).toEqual({ found: [], asked: ['terminal-temperature'] });
    expect(await outcome(shed(55, 70, 'size: 6 AWG'))).toEqual({ found: [], asked: ['run-protection'] });
    expect(await outcome(shed(65, 70, 'size: 6 AWG   terminals: 75 degC'))).toEqual({ found: [], asked: [] });
    expect(await outcome(shed(56, 60, 'size: 6 AWG   terminals: 60 degC'))).toEqual({
      found: ['terminal-temperature'],
      asked: [],
    });
  });

  it('do not hide what no marking mends', async () => {
    expect((await outcome(shed(66, 70, 'size: 6 AWG'))).found).toEqual(['terminal-temperature']);
    expect((await outcome(shed(55, 80, 'size: 6 AWG'))).found).toEqual(['run-protection']);
  });

  it('do not hide 125 % of a continuous load above the ampacity before correction', async () => {
    const text = shed(58, 80, 'size: 4 AWG').replace('continuous: no', '').replace('type: THHN', 'insulation: 75 degC');
    // 72.5 A are asked: 70 A at 60 °C, 85 A at 75 °C.
    expect(await outcome(text)).toEqual({ found: [], asked: ['terminal-temperature', 'run-protection'] });
    // 90 A are asked.
    expect((await outcome(text.replace(`${58 * 240} W`, `${72 * 240} W`))).found).toEqual(['run-ampacity']);
  });

  it('count as 75 °C above 100 A', async () => {
    expect(await outcome(shed(150, 150, 'size: 1/0 AWG'))).toEqual({ found: [], asked: [] });
    expect((await outcome(shed(151, 175, 'size: 1/0 AWG'))).found).toContain('terminal-temperature');
  });

  it('have an answer only when all gear speaks', async () => {
    // The heater says nothing.
    expect((await outcome(shed(56, 60, 'size: 6 AWG', 'terminals: 75 degC'))).asked).toEqual(['terminal-temperature']);
  });

  it('a fix of the size is right whatever the marking', async () => {
    const text = shed(66, 70, 'size: 6 AWG');
    const [finding] = findingsOf(await analyseText(text), 'terminal-temperature');
    expect(lacking(finding?.told, 'terminals of Line 60 degC taken; not stated')).toEqual([]);
    expect(finding?.fixes[0]?.title).toMatch(/^Change size of Line to 4 AWG/);
    expect(await afterFix(text, 'terminal-temperature', finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('limit nothing under iec and craft, where only the design says so', async () => {
    for (const basis of ['iec', 'craft'])
      expect((await outcome(shed(30, 32, 'size: 10 mm2').replace('nec 2023', basis))).asked, basis).toEqual([]);
  });
});
