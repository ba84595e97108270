import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const ID = 'unit-out';
const cabin = (fuse: string, facts = '', design = ''): string => `design Cabin {
  ${design}
  battery A { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10 mohm   ${facts} }
  battery B { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10 mohm   ${facts} }
  bus Bar {}
  load Heater { power: 1.6 kW   supply: dc }
  fuse Fa { ${fuse} }
  run FromA: A -> Fa @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run FromB: B -> Bar { size: 2 AWG   length: 1 m }
  run Line: Bar -> Heater { size: 2 AWG   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  // Eight cells of 2.5 V: 1600 W are 80 A at 20 V, 40 A each, 50 A with 125 %, and 80 A with one bank out.
  it('warns of a fuse that carries its share and not the whole, and names one that does', async () => {
    expect(await findings(cabin('rating: 80 A'))).toEqual([]);
    const text = cabin('rating: 60 A');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(finding?.message).toContain('B out');
    expect(numberIn(finding!.numbers.current!, 'A')).toBeCloseTo(80, 9);
    expect(finding?.fixes[0]?.title).toBe('Change rating of Fa to 80 A');
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  it('leaves a fuse that is too small for its share to the checks of its rating', async () => {
    expect(await findings(cabin('rating: 30 A'))).toEqual([]);
  });

  it('counts no more than what a bank with electronics gives', async () => {
    expect(await findings(cabin('rating: 60 A', 'maximumDischarge: 60 A   maximumCharge: 50 A'))).toEqual([]);
    expect(await findings(cabin('rating: 60 A', 'maximumDischarge: 70 A   maximumCharge: 50 A'))).toHaveLength(1);
  });

  it('asks for the facts that lack', async () => {
    const text = cabin('rating: 80 A').replace('power: 1.6 kW   ', '');
    expect(await findings(text)).toEqual([]);
    expect(askedBy(await analyseText(text), 'protection-continuous')).toContain('power of Heater');
  });
});

describe('current between banks', () => {
  it('mixes the ends of their resistances: a new bank beside an aged one', async () => {
    const { designs } = await analyseText(
      cabin('rating: 80 A')
        .replaceAll('resistance: 10 mohm', 'resistance: 10..30 mohm')
        .replaceAll('length: 1 m', 'length: 1 mm'),
    );
    const { context } = designs[0]!;
    const current = context.quantity(
      context.system.runs.find(({ name }) => name === 'FromA')!,
      'current',
    );
    // By the current divider 80 A · 30/(10 + 30) = 60 A, the cables next to nothing.
    expect(current.kind === 'known' && numberIn(current.derivation, 'A')).toBeCloseTo(60, 1);
    expect(current.kind === 'known' && current.derivation.governing).toContain('B at the high end');
  });
});
