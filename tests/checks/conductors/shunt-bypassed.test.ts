import { describe, expect, it } from 'vitest';
import { type TestedFinding, afterFix, analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'shunt-bypassed';

const findings = async (text: string): Promise<TestedFinding[]> => findingsOf(await analyseText(text), ID);

const hut = (charge: string, more = ''): string => `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 200..250 V   currentLimit: 60 A   absorb: 28 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 100 A }
  fuse F2 { class: T   rating: 80 A }
  shunt Meter { rating: 300 A   drop: 50 mV }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc }
  ${more}
  run Ac: Genset -> Rect.ac { size: 10 AWG   length: 5 m }
  run Main: Bank -> F1 @ 150 mm -> Meter @ 300 mm -> Bar { size: 2 AWG   type: WeldingCable   length: 1 m }
  run ToLamps: Bar -> Lamps { size: 10 AWG   length: 5 m }
  run Charge: ${charge} { size: 4 AWG   length: 2 m }
}
`;

describe('what passes the shunt of a bank', () => {
  it('is silent when everything hangs on its far side', async () => {
    expect(await findings(hut('Rect.dc -> F2 -> Bar'))).toEqual([]);
    expect(await findings(hut('Rect.dc -> F2 -> Meter'))).toEqual([]);
  });

  it('tells a charger on the bank itself, and leads it to the shunt', async () => {
    const text = hut('Rect.dc -> F2 -> Bank');
    const [finding, ...rest] = await findings(text);
    expect(rest).toEqual([]);
    expect(lacking(finding!.told, 'Rect charges Bank over Charge, which does not pass Meter')).toEqual([]);
    expect(lacking(finding!.told, 'drifts low')).toEqual([]);
    expect((await afterFix(text, ID, finding!.fixes![0]!)).left).toEqual([]);
  });

  it('tells what branches off at a fuse before the shunt, without a fix that would lose the fuse', async () => {
    const [finding, ...rest] = await findings(hut('Rect.dc -> F2 -> F1'));
    expect(rest).toEqual([]);
    expect(finding!.subject).toBe('Hut.Main');
  });

  it('takes a shunt of its own in each branch for an answer', async () => {
    expect(
      await findings(hut('Rect.dc -> F2 -> Second -> Bank', 'shunt Second { rating: 100 A   drop: 50 mV }')),
    ).toEqual([]);
  });

  it('is silent where no shunt stands at the bank', async () => {
    const text = hut('Rect.dc -> F2 -> Bank').replace(' -> Meter @ 300 mm', '');
    expect(await findings(text)).toEqual([]);
  });
});

describe('a change that leads a run to the shunt', () => {
  it('moves the end at the bank, whichever that is', async () => {
    for (const [run, changed] of [
      ['Rect.dc -> F2 -> Bank', 'Rect.dc -> F2 -> Meter'],
      ['Bank -> F2 -> Rect.dc', 'Meter -> F2 -> Rect.dc'],
    ] as const) {
      const text = hut(run);
      const [finding] = await findings(text);
      expect(finding?.fixes[0]?.title).toBe('Lead Charge to Meter instead of Bank');
      expect(applyFix(text, finding!.fixes[0]!)).toContain(changed);
    }
  });
});
