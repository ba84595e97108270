import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'string-current';

const hut = (limit: string, arrays: string): string => `design D {
  chargeController Tracker { tracking: mppt   maximumVoltage: 150 V   window: 60..145 V   maximumCurrent: 100 A   absorb: 56 V   ${limit} }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  bus Combiner {}
  run Line: Combiner -> Tracker.solar { size: 10 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 35 mm2   length: 2 m }
  ${arrays}
}
`;
const array = (
  name: string,
  parallel: number,
): string => `solar ${name} { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 10 A   series: 3   parallel: ${parallel} }
  run ${name}Line: ${name} -> Combiner { size: 6 mm2   length: 3 m }`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('is silent up to 125 % of the short-circuit current (NEC 690.8(A)(1)), warns above, and fails above the current itself', async () => {
    // Three strings of 10 A: 30 A, 37.5 A in strong sun.
    expect(await findings(hut('maximumInputCurrent: 37.5 A', array('A', 3)))).toEqual([]);
    const text = hut('maximumInputCurrent: 37 A', array('A', 3));
    const [warned] = await findings(text);
    expect(warned?.severity).toBe('warning');
    expect(lacking(warned?.told, '37.5 A')).toEqual([]);
    expect(warned?.fixes.map(({ title }) => title)).toEqual([
      'Put 2 strings in parallel in A (needs the marking of its terminals)',
    ]);
    expect(await afterFix(text, ID, warned!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect((await findings(hut('maximumInputCurrent: 30 A', array('A', 3))))[0]?.severity).toBe('warning');
    expect((await findings(hut('maximumInputCurrent: 29.9 A', array('A', 3))))[0]?.severity).toBe('error');
  });

  it('adds all arrays on one controller, and then names none to change', async () => {
    const two = `${array('A', 1)}\n  ${array('B', 2)}`;
    expect(await findings(hut('maximumInputCurrent: 37.5 A', two))).toEqual([]);
    const [finding] = await findings(hut('maximumInputCurrent: 25 A', two));
    expect(lacking(finding?.told, 'A and B can drive 37.5 A')).toEqual([]);
    expect(finding?.fixes).toEqual([]);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(hut('', array('A', 3))), ID)).toEqual(['maximumInputCurrent of Tracker']);
    expect(
      askedBy(
        await analyseText(hut('maximumInputCurrent: 30 A', array('A', 3).replace('shortCircuitCurrent: 10 A', ''))),
        ID,
      ),
    ).toEqual(['shortCircuitCurrent of A']);
  });
});
