import { describe, expect, test } from 'vitest';
import { derive, numberIn } from '../../../language/src/derivation/index.js';
import { DESIGN_FUNCTIONS } from '../../../language/src/quantities/design-functions.js';
import { analyseText } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';
import { resultOf } from '../simulate/designs.js';

const design = (more: string): string => `design D {
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 100 Ah   resistance: 5 mohm   cellTemperature: 25 degC }
  wind Mill { rated: 400 W   voltage: 14 V   currentLimit: 25 A }
  load Lamp { power: 20 W   supply: dc   profile: always }
  bus Dc {}
  run Feed: Bank -> Dc
  run Line: Dc -> Lamp
  run Mast: Mill -> Dc
  ${more}
}
`;

const MAINS = `grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 14 V   efficiency: 90 %   powerFactor: 1 }
  run Cord: Mains -> Rect.ac
  run Out: Rect.dc -> Dc`;

async function said(text: string, name: string, unit: string): Promise<number | string> {
  const { context, system } = (await analyseText(text)).designs[0]!;
  const bank = system.instances.find((each) => each.name === 'Bank')!;
  const given = name === 'chargeTime' ? [20, 80].map((soc) => ({ derivation: derive('soc', soc, '%') })) : [];
  const found = DESIGN_FUNCTIONS.get(name)!.compute(bank, given, context);
  return found.kind === 'known' ? numberIn(found.derivation, unit) : found.kind === 'refused' ? found.reason : '';
}

describe('wind, of which nobody has stated how much there is', () => {
  test('is not counted on where a charge is followed, as a play has none of it', async () => {
    expect(await said(design(''), 'chargeTime', 'h')).toContain('is Mill alone, and nobody has stated how much wind');
    const with20 = design(MAINS);
    expect(await said(with20, 'netChargeCurrent', 'A')).toBeCloseTo(20 - 20 / 12.8, 1);
    expect(await said(with20, 'chargeTime', 'h')).toBe(
      await said(with20.replace(/.*Mill.*\n/g, ''), 'chargeTime', 'h'),
    );
  });

  test('counts in full where a run has to be large enough', async () => {
    expect(await valueOf(design(''), 'Mast', 'current', 'A')).toBe(25);
    expect(await valueOf(design(MAINS), 'Bank', 'chargeCurrent', 'A')).toBe(45);
  });

  test('is told by a play to be left out', async () => {
    const { assumptions } = await resultOf(
      design('scenario Play { from: 2027-01-10   duration: 1 h   soc(Bank): 50 % }'),
    );
    expect(assumptions.join()).toContain('not simulated: Mill');
  });
});
