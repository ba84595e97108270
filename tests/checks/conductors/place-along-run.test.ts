import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const ID = 'place-along-run';
const van = (stops: string, length = 'length: 2 m'): string => `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  shunt Meter {}
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> ${stops} -> Heater { size: 8 AWG   type: THHN   ${length} }
}
`;
const told = async (stops: string) => findingsOf(await analyseText(van(stops)), ID).map(({ told }) => told);

describe(ID, () => {
  it('takes the end of the run, and no more', async () => {
    expect(await told('F1 @ 2 m')).toEqual([]);
    const [beyond] = await told('F1 @ 2001 mm');
    expect(beyond).toMatch(/F1 is 2\.?001 m along Line, which is 2 m long/);
  });

  it('points at the distance, and passes where all are within the run', async () => {
    const text = van('F1 @ 2001 mm');
    const analysis = await analyseText(text);
    const [finding] = findingsOf(analysis, ID);
    expect(text.slice(finding!.place.offset, finding!.place.end)).toBe('2001 mm');
    const passes = ({ passed }: typeof analysis) => passed.filter(({ check }) => check === ID).length;
    expect(passes(analysis)).toBe(0);
    expect(passes(await analyseText(van('F1 @ 2 m')))).toBe(1);
  });

  it('asks for places in the order of the run', async () => {
    expect(await told('F1 @ 100 mm -> Meter @ 200 mm')).toEqual([]);
    expect(await told('F1 @ 200 mm -> Meter @ 200 mm')).toEqual([]);
    const [order] = await told('F1 @ 300 mm -> Meter @ 200 mm');
    expect(order).toMatch(/Meter is 200 mm along Line, after F1 at 300 mm/);
    expect(await told('F1 @ -100 mm')).toHaveLength(1);
  });

  it('asks for the length where a place is stated, and for nothing where none is', async () => {
    expect(askedBy(await analyseText(van('F1 @ 100 mm', '')), ID)).toEqual(['length of Line']);
    expect(askedBy(await analyseText(van('F1', '')), ID)).toEqual([]);
  });
});
