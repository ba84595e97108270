import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';
import { van } from '../../helpers/supplies.js';

const CORD = '{ size: 10 AWG   type: SOOW   length: 8 m   conductors: 2   earth: 10 AWG }';
/** A set with an outlet for 240 V and one for 120 V. */
const outlets = (cords: string): string => `
  generator Twist {
    rated: 5 kW   apparent: 5 kVA   voltage: 120/240 V   outlet: L14-30   breaker: 25 A   neutralBond: bonded   machine: "frame set"
  }
  generator Duplex {
    rated: 5 kW   apparent: 5 kVA   voltage: 120 V   outlet: NEMA-5-20   breaker: 20 A   neutralBond: bonded   machine: "frame set"
  }
  receptacle TwistAdapter { plug: L14-30   outlet: TT-30 }
  receptacle DuplexAdapter { plug: NEMA-5-20   outlet: TT-30 }
  ${cords}`;
const TO_INLET = `run TwistCord: Twist -> TwistAdapter -> Inlet ${CORD}
  run DuplexCord: Duplex -> DuplexAdapter -> Inlet ${CORD}`;

describe('machine-total', () => {
  it('says nothing of outlets that exclude each other: each is a state of its own with its own limit', async () => {
    const analysis = await analyseText(van({ supplies: outlets(TO_INLET) }));
    expect(findingsOf(analysis, 'machine-total')).toEqual([]);
    expect(analysis.designs[0]!.context.states.map(({ id }) => id)).toEqual(['battery', 'Twist', 'Duplex']);
    const { context } = analysis.designs[0]!;
    const limit = context.quantity(context.instance('Rect')!, 'inputLimitToSet');
    // 80 % of the breaker of each outlet, less the heater's 5 A: 25 A and 20 A (NEC 210.20(A), published).
    expect(
      Object.entries(limit.kind === 'known' ? limit.derivation.parts : {}).map(([name, { value }]) => [
        name,
        Math.round((value as { value: number }).value * 100) / 100,
      ]),
    ).toEqual([
      ['Twist', 15],
      ['Duplex', 11],
    ]);
  });

  it('adds what outlets feed at once, and counts their one bond once', async () => {
    const both = (watts: string): string => `design Camp {
  generator Big { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   outlet: L5-30   neutralBond: bonded   machine: "set" }
  generator Small { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   outlet: NEMA-5-20   neutralBond: bonded   machine: "set" }
  load Stove { power: ${watts}   voltage: 120 V   powerFactor: 1 }
  load Heater { power: 1 kW   voltage: 120 V   powerFactor: 1 }
  run A: Big -> Stove
  run B: Small -> Heater
}
`;
    expect(findingsOf(await analyseText(both('2 kW')), 'machine-total')).toEqual([]);
    const [finding, ...others] = findingsOf(await analyseText(both('2.1 kW')), 'machine-total');
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'The outlets of set give 3 kW together')).toEqual([]);
    expect(lacking(finding?.told, '3.1 kW are taken (Big 2.1 kW, Small 1 kW)')).toEqual([]);
    const unknown = both('2 kW').replace('power: 1 kW   voltage', 'voltage');
    expect(askedBy(await analyseText(unknown), 'machine-total')).toContain('power of Heater');
  });
});
