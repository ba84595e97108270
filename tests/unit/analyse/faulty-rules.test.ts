import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';

/* Rules are not proven on a text that has errors: what is left of it is another design than is meant. The design is an invention. */

const site = (stop: string, rest = ''): string => `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 50 V for 2 min
    ${stop}
  }
  ${rest}
}
`;
const FAULTY = 'stop when voltage(Bank) > 55.2 V for 12 h';

const told = async (text: string): Promise<{ proven: boolean; open: boolean }> => {
  const { findings, questions } = await analyseText(text);
  return {
    proven: findings.some(({ check, trace }) => check === 'stop-unreachable' && trace !== undefined),
    open: questions.some(({ missing }) => missing.includes('the text of the design has errors')),
  };
};

describe('rules of a design whose text has errors', () => {
  it('are proven where the text is whole', async () => {
    expect(await told(site(FAULTY))).toEqual({ proven: true, open: false });
  });

  it.each([
    ['a word that nobody knows', site(FAULTY, 'load Fan { power: 1 kW   suply: dc }')],
    ['a rule that cannot be read', site(`${FAULTY}\n    stop when voltage(Nobody) > 3 V`)],
    ['a part that it may use', `part battery Other { voltge: 12 V }\n${site(FAULTY)}`],
    ['a fault of the syntax', site(`${FAULTY}\n    stop when )`)],
  ])('are left open with %s', async (_, text) => {
    expect(await told(text)).toEqual({ proven: false, open: true });
  });

  it('are proven though a scenario or requirement is faulty: they do not rest on it', async () => {
    const rest = `scenario Week { from: 2027-03-01   duration: 7 d   soc(Nobody): 50 % }\n  require Nobody.energy > 3 kWh`;
    expect(await told(site(FAULTY, rest))).toEqual({ proven: true, open: false });
  });
});
