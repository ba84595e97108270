import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'lugs-stacked';
/** A thing with so many runs, each to a load of its own. */
const van = (count: number, thing: string, bar = '', settings = '', run = ''): string => {
  const at = thing === 'bus' ? 'Bar' : 'Bank';
  const circuits = Array.from(
    { length: count },
    (_, index) => `  load Load${index} { power: 20 W   supply: dc }
  run To${index}: ${at} -> Load${index} { size: 12 AWG   length: 1 m   ${run} }`,
  );
  const bus = thing === 'bus' ? `  bus Bar { ${bar} }` : '';
  return `design Van {\n  ${settings}\n  battery Bank : Lfp12V100Ah { ${thing === 'bus' ? '' : bar} }\n${bus}\n${circuits.join('\n')}\n}\n`;
};
const findings = async (...texts: Parameters<typeof van>) => findingsOf(await analyseText(van(...texts)), ID);

describe(ID, () => {
  // ABYC E-11: four conductors on a stud (from memory).
  it('passes four lugs on the post of a bank and finds the fifth', async () => {
    expect(await findings(4, 'battery')).toEqual([]);
    const text = van(5, 'battery');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '5 lugs meet on one stud')).toEqual([]);
    expect(lacking(finding?.told, '2 studs')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('counts conductors in parallel', async () => {
    expect(await findings(2, 'battery', '', '', 'parallel: 2')).toEqual([]);
    expect(lacking((await findings(3, 'battery', '', '', 'parallel: 2'))[0]?.told, '6 lugs')).toEqual([]);
  });

  it('holds a busbar against its studs, and asks for them where they decide', async () => {
    expect(await findings(8, 'bus', 'studs: 2')).toEqual([]);
    expect(await findings(9, 'bus', 'studs: 2')).toHaveLength(1);
    expect(askedBy(await analyseText(van(5, 'bus')), ID)).toEqual(['studs of Bar']);
    expect(askedBy(await analyseText(van(4, 'bus')), ID)).toEqual([]);
  });

  it('leaves bars with screws or clamps alone', async () => {
    expect(await findings(9, 'bus', 'studs: 1   terminalKind: clamp')).toEqual([]);
    expect(await findings(9, 'bus', 'studs: 1   terminalKind: set-screw')).toEqual([]);
    expect(await findings(9, 'bus', 'studs: 1')).toHaveLength(1);
  });

  it('counts what is bolted to a charger with studs', async () => {
    const shed = (count: number, kind: string): string => `design Shed {
  grid Mains { voltage: 230 V   rating: 32 A   neutralBond: bonded }
  charger Rect { currentLimit: 30 A   absorb: 14.2 V   float: 13.5 V   terminalKind: ${kind} }
  run Ac: Mains -> Rect.ac { size: 2.5 mm2   length: 2 m }
${Array.from(
  { length: count },
  (_, index) => `  battery Bank${index} : Lfp12V100Ah
  run To${index}: Rect.dc -> Bank${index} { size: 6 AWG   length: 1 m }`,
).join('\n')}
}
`;
    const stacked = async (count: number, kind: string) =>
      findingsOf(await analyseText(shed(count, kind)), ID).map(({ subject }) => subject);
    expect(await stacked(5, 'stud')).toEqual(['Shed.Rect']);
    expect(await stacked(4, 'stud')).toEqual([]);
    expect(await stacked(5, 'clamp')).toEqual([]);
  });

  it('follows the limit of the design', async () => {
    expect(await findings(3, 'battery', '', 'lugsPerStud: 2')).toHaveLength(1);
    expect(await findings(2, 'battery', '', 'lugsPerStud: 2')).toEqual([]);
  });
});
