import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'conductor-type';
const OWN = `part conductor Thin { insulation: 105 degC   material: pvc   strand: flexible   voltage: 60 V   basis: craft, nec   buildingWire: no }
part conductor House { insulation: 90 degC   material: xlpe   strand: stranded   voltage: 150 V   basis: nec   buildingWire: yes }
`;
const van = (bank: string, type: string, basis = 'nec'): string => `${OWN}design Van {
  basis: ${basis}
  battery Bank : ${bank}
  fuse F1 { class: T   rating: 60 A }
  load Heater { power: 500 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: ${type}   length: 2 m }
}
`;
const messages = async (text: string) => findingsOf(await analyseText(text), ID).map(({ told }) => told);

describe(ID, () => {
  it('finds insulation that is rated for less than the line voltage', async () => {
    const hut = (type: string): string => `${OWN}design Hut {
  grid Mains { voltage: 240 V   rating: 20 A   neutralBond: bonded }
  load Heater { power: 1 kW }
  run Line: Mains -> Heater { size: 12 AWG   type: ${type}   length: 2 m }
}
`;
    const [own, ...others] = findingsOf(await analyseText(hut('House')), ID);
    expect(others).toEqual([]);
    expect(own?.severity).toBe('error');
    expect(lacking(own?.told, 'is rated for 150 V, and Line stands on up to 240 V')).toEqual([]);
    expect(await messages(hut('THHN'))).toEqual([]);
    // Ratings of the library are from memory and say so.
    const [library] = findingsOf(await analyseText(hut('GPT')), ID);
    expect(library?.severity).toBe('warning');
    expect(lacking(library?.told, 'rated for 60 V (from memory: read its marking)')).toEqual([]);
  });

  it('counts the highest of the supplies that may feed it', async () => {
    // 120 V from the generator, 240 V from the service, on conductors for 150 V.
    const hut = (service: number): string => `${OWN}design Hut {
  grid Mains { voltage: ${service} V   rating: 20 A   neutralBond: bonded }
  generator Genset { rated: 2 kW   voltage: 120 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 30 A }
  load Heater { power: 1 kW }
  run FromMains: Mains -> Ats.normal { size: 12 AWG   type: THHN   length: 2 m }
  run FromSet: Genset -> Ats.standby { size: 12 AWG   type: THHN   length: 2 m }
  run Line: Ats.out -> Heater { size: 12 AWG   type: House   length: 2 m }
}
`;
    const [found] = findingsOf(await analyseText(hut(240)), ID);
    expect(numberIn(found!.numbers.voltage!, 'V')).toBe(240);
    expect(await messages(hut(120))).toEqual([]);
  });

  it('counts the open-circuit voltage of an array in the cold, and asks for the cold where that decides', async () => {
    const array = (site: string): string => `${OWN}design Roof {
  ${site}
  solar Array { power: 400 W   openCircuitVoltage: 46 V   shortCircuitCurrent: 11 A   series: 3   voltageCoefficient: -0.3 %/K }
  chargeController Tracker { maximumVoltage: 250 V   currentLimit: 30 A   absorb: 56 V   float: 54 V }
  run String: Array -> Tracker.solar { size: 10 AWG   type: House   length: 10 m }
}
`;
    // 3 · 46 V = 138 V at 25 °C; at −20 °C 138 V · (1 + 0.003 · 45) = 156.6 V; at 0 °C 148.4 V.
    expect(await messages(array('site { ambient: 0..30 degC }'))).toEqual([]);
    expect((await messages(array('site { ambient: -20..30 degC }')))[0]).toContain('157 V');
    expect(askedBy(await analyseText(array('')), ID)).toEqual(['ambient of the site']);
  });

  it('finds types that are no wiring type of the nec, above 30 V and on alternating current alone', async () => {
    expect((await messages(van('Lfp48V280Ah', 'WeldingCable')))[0]).toContain('no wiring type of the NEC');
    expect(await messages(van('Lfp12V100Ah', 'WeldingCable'))).toEqual([]);
    expect(await messages(van('Lfp48V280Ah', 'Thin', 'craft'))).toEqual([]);
    expect(await messages(van('Lfp48V280Ah', 'FineStranded90'))).toEqual([]);
  });
});
