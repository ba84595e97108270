import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'bank-ventilation';

/** 24 cells of 500 Ah: by EN 50272-2, 0.05·24·500·20/1000 = 12 m³/h vented, 4.8 m³/h valve-regulated, on boost up to 2.40 V a cell. */
const room = (bank: string, absorb = '57.6 V', amperes = 100): string => `design D {
  solar Array { power: 400 W   shortCircuitCurrent: 14 A }
  charger Rect { input: 180..264 V   currentLimit: ${amperes} A   absorb: ${absorb}   efficiency: 93 %   powerFactor: 0.98 }
  grid Mains { voltage: 230 V   rating: 32 A   neutralBond: bonded }
  battery Bank ${bank}
  run In: Mains -> Rect.ac { size: 4 mm2   length: 3 m }
  run Feed: Bank -> Rect.dc { size: 35 mm2   length: 1 m }
}
`;
const vented = (facts: string): string => `: Flooded2V500Ah { series: 24   ${facts} }`;
const sealed = (facts: string): string => `: Agm2V500Ah { series: 24   ${facts} }`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('asks of vented cells what the standard asks, boundary included', async () => {
    expect(await findings(room(vented('airFlow: 12 m3/h')))).toEqual([]);
    const text = room(vented('airFlow: 11.9 m3/h'));
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(
      lacking(finding?.told, 'needs 12 m3/h of air (10 A of gassing current; two openings of 336 cm2 each'),
    ).toEqual([]);
    // 0.42 L of hydrogen for each ampere-hour and cell: 24 · 10 · 0.42.
    expect(lacking(finding?.told, 'gives off 101 L/h of hydrogen')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Give Bank two openings of 340 cm2 each',
      'Lead 12 m3/h of air past Bank',
    ]);
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('asks less of valve-regulated cells', async () => {
    expect(await findings(room(sealed('airFlow: 4.8 m3/h')))).toEqual([]);
    expect(await findings(room(sealed('airFlow: 4.7 m3/h')))).toHaveLength(1);
  });

  it('counts openings by natural draught: 28 cm² each for 1 m³/h; the better of both ways counts', async () => {
    expect(await findings(room(vented('opening: 336 cm2')))).toEqual([]);
    expect(await findings(room(vented('opening: 335 cm2')))).toHaveLength(1);
    expect(await findings(room(vented('opening: 100 cm2   airFlow: 12 m3/h')))).toEqual([]);
  });

  it('adds strings, and never counts more than the chargers give', async () => {
    expect(await findings(room(vented('airFlow: 23.9 m3/h   parallel: 2   takeOff: busbar')))).toHaveLength(1);
    expect(await findings(room(vented('airFlow: 24 m3/h   parallel: 2   takeOff: busbar')))).toEqual([]);
    // 4 A make gas at most: 4.8 m³/h.
    expect(await findings(room(vented('airFlow: 4.8 m3/h'), '57.6 V', 4))).toEqual([]);
    expect(await findings(room(vented('airFlow: 4.7 m3/h'), '57.6 V', 4))).toHaveLength(1);
  });

  it('leaves open what the table does not cover: set points above 2.40 V a cell', async () => {
    const analysis = async (facts: string) => analyseText(room(vented(facts), '58.8 V'));
    const open = await analysis('airFlow: 12 m3/h');
    expect(findingsOf(open, ID)).toEqual([]);
    expect(askedBy(open, ID)).toEqual(['gassingCurrent of Bank at 2.45 V a cell (the table ends at 2.4 V)']);
    // All of the 100 A: 120 m³/h.
    expect(askedBy(await analysis('airFlow: 120 m3/h'), ID)).toEqual([]);
    const [finding] = findingsOf(await analysis('airFlow: 11 m3/h'), ID);
    expect(lacking(finding?.told, 'charged above 2.4 V a cell')).toEqual([]);
    expect(finding?.fixes[1]?.title).toBe('Lead 120 m3/h of air past Bank');
    // What the maker says of one unit ends the question.
    expect(askedBy(await analysis('airFlow: 18 m3/h   gassingCurrent: 15 A'), ID)).toEqual([]);
    expect(findingsOf(await analysis('airFlow: 17.9 m3/h   gassingCurrent: 15 A'), ID)).toHaveLength(1);
  });

  it('asks less where nothing charges above float', async () => {
    // 24 · 2.23 V and 24 · 2.27 V: 0.05·24·500·5/1000 = 3 m³/h vented, 0.6 m³/h valve-regulated.
    expect(await findings(room(vented('airFlow: 3 m3/h'), '53.52 V'))).toEqual([]);
    expect(await findings(room(vented('airFlow: 2.9 m3/h'), '53.52 V'))).toHaveLength(1);
    expect(await findings(room(vented('airFlow: 3 m3/h'), '53.6 V'))).toHaveLength(1);
    expect(await findings(room(sealed('airFlow: 0.6 m3/h'), '54.48 V'))).toEqual([]);
    expect(await findings(room(sealed('airFlow: 0.5 m3/h'), '54.48 V'))).toHaveLength(1);
  });

  it('asks for set points that are not stated, unless the air does for anything', async () => {
    const silent = async (facts: string) => analyseText(room(vented(facts)).replace('absorb: 57.6 V', ''));
    expect(askedBy(await silent('airFlow: 12 m3/h'), ID)).toEqual(['set points of Rect']);
    expect(askedBy(await silent('airFlow: 120 m3/h'), ID)).toEqual([]);
    const [finding] = findingsOf(await silent('airFlow: 11 m3/h'), ID);
    expect(lacking(finding?.told, 'How high Rect charges is not stated: it may need more.')).toEqual([]);
  });

  it('has no say on lithium, asks for air, and for the chemistry', async () => {
    const lithium = await analyseText(room(': Lfp48V280Ah', '56 V'));
    expect([...findingsOf(lithium, ID), ...askedBy(lithium, ID)]).toEqual([]);
    expect(askedBy(await analyseText(room(vented(''))), ID)).toEqual(['opening or airFlow of Bank']);
    expect(askedBy(await analyseText(room('{ voltage: 48 V   capacity: 500 Ah }')), ID)).toEqual(['chemistry of Bank']);
  });
});
