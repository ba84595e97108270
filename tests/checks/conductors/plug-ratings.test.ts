import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

const pier = (service: string): string => `design Boat {
  basis: craft
  grid Shore { voltage: 230 V   ${service}   faultCurrent: 3 kA   neutralBond: bonded }
  breaker Main { class: MiniatureBreaker6k   rating: 16 A   curve: C   poles: 2 }
  load Heater { power: 4 kW   continuous: no }
  run Cord: Shore -> Main -> Heater { size: 2.5 mm2   type: H07RN-F   length: 8 m }
}
`;

describe('breakers beside plugs', () => {
  const offered = async (service: string): Promise<string[]> =>
    (await analyseText(pier(service))).findings
      .filter(({ subject }) => subject.includes('Cord'))
      .flatMap(({ fixes }) => fixes.map(({ title }) => title));

  it('are not made larger than the outlet or the service behind them', async () => {
    // 4 kW / 230 V = 17.4 A: 20 A would do, and neither the outlet of 16 A nor a service of 16 A bears it.
    expect((await offered('rating: 32 A   outlet: IEC-60309-32')).join()).toContain('rating of Main to');
    expect((await offered('rating: 32 A   outlet: IEC-60309-16')).join()).not.toContain('rating of Main to');
    expect((await offered('rating: 16 A')).join()).not.toContain('rating of Main to');
  });

  it('that no rating suits are told so', async () => {
    const [finding] = findingsOf(
      await analyseText(pier('rating: 16 A   outlet: IEC-60309-16')),
      'protection-continuous',
    );
    expect(finding?.fixes).toEqual([]);
  });
});
