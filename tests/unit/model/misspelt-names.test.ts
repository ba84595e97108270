import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

// A design in which every sort of name occurs; each case misspells one of them.
const DESIGN = `let margin = 25 %
profile Evenings { 18:00..22:00: 100 % }
part battery Cell { chemistry: lfp   voltage: 3.2 V   capacity: 280 Ah }
part battery Pack extends Cell { note: "x" }

design Hut {
  basis: iec
  site { altitude: 300 m   ambient: -10..30 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: petrol   outlet: L14-30 }
  charger Rect { currentLimit: 60 A   absorb: 56 V }
  battery Bank : Pack { series: 16 }
  bus DcBus
  load Lamp { power: 40 W   profile: Evenings   supply: dc }
  run In: Genset -> Rect.ac { size: 2.5 mm2   type: SOOW   length: 12 m }
  run Out: Rect.dc -> DcBus { size: 25 mm2   length: 2 m }
  run Light: DcBus -> Lamp { size: 2.5 mm2   length: Out.length * 4 }
  run BankFeed: Bank -> DcBus { size: 35 mm2   length: 1 m }
  link BmsLink: Bank -> Rect { medium: can }
  control Autostart of Genset {
    start when soc(Bank) < 30 %
    stop when soc(Bank) > 80 %
    without BmsLink {
      start when voltage(Bank) < 50 V
      stop when voltage(Bank) > 55 V
    }
    minimumRun: 30 min
  }
  let wanted = Bank.bankCapacity * 0.5
  let input = ceil(inputPower(output: 1 kW, efficiency: 90 %))
  require chargeTime(Bank, 20 %, 90 %) <= 10 h
  require Rect.dc.current <= 60 A
  require wanted > 100 Ah
  reading Bank.voltage = 52 V
  accept missing-fact on Lamp because "not known yet"
}

variant Big of Hut { Bank.parallel = 2   Lamp.power = 60 W }
`;

describe('a name that stands for nothing is reported once, at the name, and the fix writes the right one', () => {
  it('while the design itself has no such fault', async () => {
    const analysis = await analyseText(DESIGN);
    expect(findingsOf(analysis, 'unknown-name').map(({ told }) => told)).toEqual([]);
    expect(findingsOf(analysis, 'syntax-error')).toEqual([]);
  });

  it.each([
    ['part extends Cell', 'extends Cell', 'extends Celll'],
    ['kind of part', 'part battery Pack', 'part batery Pack'],
    ['kind of thing', 'charger Rect', 'chargr Rect'],
    ['part of an instance', ': Pack', ': Pakc'],
    ['library part as a value', 'outlet: L14-30', 'outlet: L14-3O'],
    ['conductor type', 'type: SOOW', 'type: SOOWW'],
    ['property of an instance', 'absorb: 56 V', 'absorbb: 56 V'],
    ['property of the site', 'altitude: 300 m', 'altitud: 300 m'],
    ['property of a run', 'size: 2.5 mm2   type', 'siz: 2.5 mm2   type'],
    ['property of a control', 'minimumRun: 30 min', 'minimumrum: 30 min'],
    ['word of a property', 'fuel: petrol', 'fuel: petrl'],
    ['word of the basis', 'basis: iec\n', 'basis: ice\n'],
    ['profile', 'profile: Evenings', 'profile: Evening'],
    ['thing at the end of a run', '-> DcBus { size: 35', '-> DcBuss { size: 35'],
    ['terminal', 'Rect.ac {', 'Rect.acc {'],
    ['thing of a link', 'link BmsLink: Bank', 'link BmsLink: Bnak'],
    ['target of a control', 'of Genset', 'of Gensett'],
    ['link of a fallback', 'without BmsLink', 'without BmsLnk'],
    ['verb of a rule', 'stop when soc', 'stp when soc'],
    ['thing in a rule', 'soc(Bank) < 30', 'soc(Bnk) < 30'],
    ['property in an expression', 'Out.length * 4', 'Out.lenght * 4'],
    ['thing in an expression', 'Out.length * 4', 'Outt.length * 4'],
    ['computed quantity', 'Bank.bankCapacity', 'Bank.bankCapasity'],
    ['function', 'ceil(input', 'cel(input'],
    ['function of the registry', 'inputPower(', 'inputPowr('],
    ['argument of a function', 'output: 1 kW', 'outputt: 1 kW'],
    ['function of the design', 'chargeTime(Bank', 'chargTime(Bank'],
    ['quantity at a terminal', 'Rect.dc.current', 'Rect.dc.curent'],
    ['value of a let', 'require wanted', 'require wantd'],
    ['thing of a reading', 'reading Bank.voltage', 'reading Bnk.voltage'],
    ['thing of a waiver', 'on Lamp', 'on Lmap'],
    ['base of a variant', 'variant Big of Hut', 'variant Big of Hutt'],
    ['thing a variant changes', 'Bank.parallel = 2', 'Bnk.parallel = 2'],
    ['property a variant changes', 'Lamp.power = 60 W', 'Lamp.powr = 60 W'],
  ])('%s', async (_, right, wrong) => {
    expect(DESIGN.split(right)).toHaveLength(2);
    const text = DESIGN.replace(right, wrong);
    const found = findingsOf(await analyseText(text), 'unknown-name');
    expect(found.map(({ told }) => told)).toHaveLength(1);
    const [{ place, fixes }] = found as [(typeof found)[number]];
    // The place is the misspelt name alone.
    expect(text.slice(place.offset, place.end)).toMatch(/^"?[\w-]+"?$/);
    expect(wrong).toContain(text.slice(place.offset, place.end));
    const mended = fixes.map((fix) => applyFix(text, fix));
    expect(mended[0]).toBe(DESIGN);
  });

  it('lists every possible name when they are few', async () => {
    const [found] = findingsOf(await analyseText(DESIGN.replace('fuel: petrol', 'fuel: kerosene')), 'unknown-name');
    expect(found?.told).toContain('`petrol`, `diesel`, `propane` or `naturalGas`');
    expect(found?.fixes).toEqual([]);
  });

  it('reports a misspelt part once, though a variant repeats it', async () => {
    const analysis = await analyseText(DESIGN.replace(': Pack', ': Pakc'));
    expect(findingsOf(analysis, 'unknown-name')).toHaveLength(1);
  });
});
