import { type TestedFinding, analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

/** A hut with a generator, a charger with sense leads, and a 48 V bank of 16 lithium iron phosphate cells; the rules are the case. */
export const hut = (rules: string, more = '', bank = 'resistance: 16..32 mohm'): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   protectionLow: 44.8 V   ${bank} }
  load Fan { power: 512 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  ${more}
  control Autostart of Genset { ${rules} }
}
`;

export const found = async (text: string, check: string): Promise<TestedFinding[]> =>
  findingsOf(await analyseText(text), check);

/** The texts each fix leads to, with what the group of control checks still finds there. */
export async function mended(text: string, check: string): Promise<{ text: string; left: string[] }[]> {
  const findings = await found(text, check);
  return Promise.all(
    findings
      .flatMap(({ fixes }) => fixes)
      .map(async (fix) => {
        const after = applyFix(text, fix);
        const { findings: still } = await analyseText(after);
        const group = ['threshold-order', 'threshold-gap', 'stop-unreachable', 'no-fallback', 'syntax-error'];
        return { text: after, left: still.filter((each) => group.includes(each.check)).map(({ message }) => message) };
      }),
  );
}
