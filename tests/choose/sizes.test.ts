import { describe, expect, it } from 'vitest';
import { bestOf, chooseText } from '../helpers/choose.js';

const line = (rating: string, size: string, more = ''): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: ${rating} }
  load Heater { power: 1 kW   supply: dc   minimumVoltage: 40 V }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: ${size}   type: THHN   length: 1 m   conductors: 2   terminals: 75 degC }
${more}}
`;

describe('the size of conductors behind a fuse', () => {
  // NEC 2023 Table 310.16, copper, 75 °C: 6 AWG 65 A, 4 AWG 85 A, 3 AWG 100 A, 2 AWG 115 A, 1 AWG 130 A, 1/0 150 A, 2/0 175 A,
  // 3/0 200 A, 4/0 230 A. A device may be the next standard rating (240.6(A)) above an ampacity that is none (240.4(B)).
  it.each([
    ['70 A', '6 AWG', 'the next rating above 65 A'],
    ['90 A', '4 AWG', 'the next rating above 85 A'],
    ['100 A', '3 AWG', '100 A is its ampacity'],
    ['110 A', '2 AWG', '100 A is a standard rating, so that 3 AWG may have no more'],
    ['125 A', '2 AWG', 'the next rating above 115 A'],
    ['150 A', '1 AWG', 'the next rating above 130 A'],
    ['175 A', '2/0 AWG', '150 A is a standard rating, so that 1/0 AWG may have no more'],
    ['200 A', '3/0 AWG', '175 A is a standard rating'],
    ['225 A', '4/0 AWG', '200 A is a standard rating'],
  ])('of %s is %s: %s', async (rating, size) => {
    expect(await bestOf(line(rating, '?'))).toEqual({ 'Line.size': size });
  });
});

describe('an answer', () => {
  it('fills several holes at once, and says what holds each', async () => {
    const [design] = await chooseText(line('?', '?').replace('1 kW', '2 kW'));
    const [answer] = design!.answers;
    // 2 kW at the 40 V to which the bank may fall are 50 A, continuous: 62.5 A (NEC 210.20(A)), and 70 A by 240.6(A).
    expect([...answer!.values]).toEqual([
      ['Hut.F1.rating', '70 A'],
      ['Hut.Line.size', '6 AWG'],
    ]);
    expect(answer!.heldBy.map(({ path, next, check }) => [path, next, check])).toEqual([
      ['Hut.F1.rating', '60 A', 'protection-continuous'],
      ['Hut.Line.size', '8 AWG', 'run-protection'],
    ]);
    expect(answer!.heldBy[0]!.share).toBeCloseTo(62.5 / 70, 3);
  });

  it('keeps a requirement that asks for more than the checks do', async () => {
    const best = await bestOf(line('70 A', '?', '  require Line.voltageDrop < 0.03 V\n'));
    const smaller = await bestOf(line('70 A', '?'));
    expect(smaller).toEqual({ 'Line.size': '6 AWG' });
    expect(best['Line.size']).not.toBe('6 AWG');
  });

  it('stays within a range, in the series in which that is written', async () => {
    expect(await bestOf(line('70 A', '? in 2 AWG..4/0 AWG'))).toEqual({ 'Line.size': '2 AWG' });
    expect(await bestOf(line('70 A', '? in 25 mm2..70 mm2'))).toEqual({ 'Line.size': '25 mm2' });
    expect(await bestOf(line('? in 100 A..200 A', '1/0 AWG'))).toEqual({ 'F1.rating': '100 A' });
  });

  it('comes in order, each further one the best of what is left', async () => {
    const [design] = await chooseText(line('?', '?'), { top: 3 });
    const steps = design!.answers.map(({ values }) => [...values.values()].join(' '));
    expect(steps).toHaveLength(3);
    expect(new Set(steps).size).toBe(3);
  });
});

describe('no answer', () => {
  it('names what cannot hold together, with numbers and facts, and nothing that could be left out', async () => {
    const [design] = await chooseText(line('400 A', '? in 14 AWG..6 AWG'));
    expect(design!.answers).toEqual([]);
    const conflict = design!.conflict!;
    expect(conflict.filter(({ kind }) => kind === 'check').map(({ check }) => check)).toEqual(['run-protection']);
    expect(conflict[0]!.text).toContain('400 A');
    expect(conflict[0]!.place!.line).toBe(6);
    expect(conflict.filter(({ kind }) => kind === 'fact').map(({ text }) => text)).toContain('rating of F1: 400 A');
    expect(conflict.map(({ text }) => text).join()).not.toContain('size of Line');
  });

  it('shows what would hold without each of two that contradict one another', async () => {
    const [design] = await chooseText(
      line('70 A', '?', '  require Line.voltageDrop < 0.03 V\n  require Line.size < 20 mm2\n'),
    );
    expect(design!.answers).toEqual([]);
    const parts = design!.conflict!.filter(({ kind }) => kind !== 'fact');
    expect(parts.map(({ kind, text, place }) => [kind, /Line\.\w+/.exec(text)?.[0], place!.line])).toEqual([
      ['requirement', 'Line.voltageDrop', 7],
      ['requirement', 'Line.size', 8],
    ]);
    // Without the drop the fuse asks for 6 AWG; without the other the drop for more.
    expect(parts[0]!.without!.get('Hut.Line.size')).toBe('6 AWG');
    expect(parts[1]!.without!.get('Hut.Line.size')).not.toBe('6 AWG');
  });
});

describe('facts that lack', () => {
  it('are asked for, and the hole stays open', async () => {
    const [design] = await chooseText(line('?', '?').replace('length: 1 m', ''));
    expect(design!.answers).toEqual([]);
    expect(design!.conflict).toBeUndefined();
    expect(design!.questions.find(({ path }) => path === 'Hut.Line.size')?.missing).toEqual(['length of Line']);
  });

  it('hold up no hole that they have no bearing on', async () => {
    const text = line('70 A', '?', '  load Lamp { power: ?   supply: dc }\n');
    const [design] = await chooseText(text);
    expect(design!.questions.map(({ path }) => path)).toEqual(['Hut.Lamp.power']);
    expect([...design!.answers[0]!.values]).toEqual([['Hut.Line.size', '6 AWG']]);
  });
});
