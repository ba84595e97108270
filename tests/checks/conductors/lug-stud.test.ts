import { describe, expect, it } from 'vitest';
import { lugFits, studOf } from '../../../language/src/reference/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'lug-stud';
const shed = (bank: string, fuse: string, run: string, power = '500 W'): string => `design Shed {
  battery Bank : Lfp12V100Ah { ${bank} }
  fuse F1 { class: T   rating: 60 A   ${fuse} }
  load Winch { power: ${power}   supply: dc }
  run Feed: Bank -> F1 @ 100 mm -> Winch { length: 2 m   ${run} }
}
`;
const findings = async (...texts: Parameters<typeof shed>) => findingsOf(await analyseText(shed(...texts)), ID);

describe('threads', () => {
  // 5/16 in is 7.94 mm and 3/8 in 9.53 mm (exact by definition of the inch); that neighbours take each other's lugs is from memory.
  it('take lugs of their own thread and of their metric or inch neighbour, no other', () => {
    expect(lugFits(8, 8)).toBe(true);
    expect(lugFits(7.94, 8)).toBe(true);
    expect(lugFits(8, 7.9375)).toBe(true);
    expect(lugFits(10, 9.525)).toBe(true);
    expect(lugFits(8, 10)).toBe(false);
    expect(lugFits(6.35, 8)).toBe(false);
  });

  it('that the table does not list fit themselves alone', () => {
    expect(studOf(5)).toBeUndefined();
    expect(lugFits(5, 5)).toBe(true);
    expect(lugFits(5, 6)).toBe(false);
  });
});

describe(ID, () => {
  it('says which way lugs and studs differ', async () => {
    const [wide] = await findings('stud: 8 mm', '', 'size: 6 AWG   lugHole: 10 mm');
    expect(wide?.severity).toBe('warning');
    expect(lacking(wide?.told, 'a washer bridges the hole')).toEqual([]);
    const [narrow] = await findings('stud: 10 mm', '', 'size: 6 AWG   lugHole: 8 mm');
    expect(lacking(narrow?.told, 'do not go on')).toEqual([]);
    expect(lacking(narrow?.told, 'M10 or 3/8 in')).toEqual([]);
    expect(await findings('stud: 0.3125 in', '', 'size: 6 AWG   lugHole: 8 mm')).toEqual([]);
  });

  it('takes the stud of a converter for its bank cables, not for its lines', async () => {
    const text = `design Shed {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   stud: 8 mm }
  load Saw { power: 2 kW }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m   lugHole: 10 mm }
  run Line: Inv.ac -> Saw { size: 2.5 mm2   length: 5 m   lugHole: 5 mm }
}
`;
    expect(findingsOf(await analyseText(text), ID).map(({ subject }) => subject)).toEqual(['Shed.Feed']);
  });

  it('changes the lugs of the run where they fit nothing else, else those on the thing', async () => {
    const alone = shed('stud: 8 mm', '', 'size: 6 AWG   lugHole: 10 mm');
    const [first] = findingsOf(await analyseText(alone), ID);
    expect(first!.fixes[0]!.edits[0]!.text).toBe('8 mm');
    expect(await afterFix(alone, ID, first!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    const mixed = shed('stud: 8 mm', 'stud: 6 mm', 'size: 6 AWG   lugHole: 8 mm');
    const [second, ...others] = findingsOf(await analyseText(mixed), ID);
    expect(others).toEqual([]);
    expect(lacking(second?.told, 'F1 has 6 mm')).toEqual([]);
    expect(second!.fixes[0]!.edits[0]!.text).toContain('lugHole: 6 mm');
    expect(await afterFix(mixed, ID, second!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('writes the thread as the design does, and leaves what fits somewhere as it is', async () => {
    const inches = shed('stud: 0.3125 in', '', 'size: 6 AWG   lugHole: 6 mm');
    const [odd] = findingsOf(await analyseText(inches), ID);
    expect(odd!.fixes[0]!.edits[0]!.text).toBe('0.3125 in');
    // A third thing without a stud of its own changes nothing: the lugs of the run fit the bank.
    const three = shed('stud: 8 mm', 'stud: 6 mm', 'size: 6 AWG   lugHole: 8 mm')
      .replace('load Winch', 'shunt S1 { rating: 100 A }\n  load Winch')
      .replace('-> Winch', '-> S1 -> Winch');
    const [mixed] = findingsOf(await analyseText(three), ID);
    expect(mixed!.fixes[0]!.edits[0]!.text).toContain('lugHole: 6 mm');
  });

  it('takes the lugs a thing states before those of the run', async () => {
    expect(await findings('stud: 8 mm', 'stud: 6 mm   lugHole: 6 mm', 'size: 6 AWG   lugHole: 8 mm')).toEqual([]);
  });

  // Typical figures, from memory: M6 takes lugs to 35 mm² and 150 A.
  it('warns of cables and currents that studs of a thread are not made for, on both sides of the figure', async () => {
    expect(lacking((await findings('stud: 6 mm', '', 'size: 50 mm2   lugHole: 6 mm'))[0]?.told, 'larger stud')).toEqual(
      [],
    );
    expect(await findings('stud: 6 mm', '', 'size: 35 mm2   lugHole: 6 mm')).toEqual([]);
    expect(
      lacking((await findings('stud: 12 mm', '', 'size: 10 mm2   lugHole: 12 mm'))[0]?.told, 'smaller stud'),
    ).toEqual([]);
    // 12.8 V 100 Ah of LFP: lowest voltage 10 V, so 1.4 kW draws 140 A and 1.6 kW 160 A.
    expect(await findings('stud: 6 mm', '', 'size: 35 mm2   lugHole: 6 mm', '1.4 kW')).toEqual([]);
    expect(
      lacking((await findings('stud: 6 mm', '', 'size: 35 mm2   lugHole: 6 mm', '1.6 kW'))[0]?.told, '150 A'),
    ).toEqual([]);
  });

  it('asks for the lugs of a known stud, for the stud of known lugs, and for nothing where neither is said', async () => {
    const asked = async (...texts: Parameters<typeof shed>) => askedBy(await analyseText(shed(...texts)), ID);
    expect(await asked('stud: 8 mm', '', 'size: 6 AWG')).toEqual(['lugHole of Feed']);
    expect(await asked('terminalKind: stud', 'terminalKind: clamp', 'size: 6 AWG   lugHole: 8 mm')).toEqual([
      'stud of Bank',
    ]);
    expect(await asked('', '', 'size: 6 AWG')).toEqual([]);
    // One end says a stud: that of the other may be anything.
    const plain = shed('stud: 8 mm', '', 'size: 6 AWG   lugHole: 8 mm').replace('class: T', 'class: BladeFuse32V');
    expect(askedBy(await analyseText(plain), ID)).toEqual([]);
  });
});
