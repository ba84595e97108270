import { describe, expect, it } from 'vitest';
import { ALL_KINDS } from '../../language/src/equipment/index.js';
import { setProperty } from '../../language/src/checks/fixes.js';
import { CHECKS, type Analysis, type TextEdit } from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';

/** A scene with one of most things and a scenario that is played. */
const SCENE = `design Scene {
  basis: nec 2023
  site { altitude: 300 m   ambient: 5..25 degC   latitude: 47 deg }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 20 L   waveform: inverter }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { parallel: 2   takeOff: busbar   stringFuse: 150 A   cellTemperature: 15..25 degC   reserve: 20 % }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44 V   reconnect: 50 V }
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 10 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.9 A   series: 3   parallel: 2   tilt: 40 deg   azimuth: 180 deg }
  chargeController Tracker { maximumVoltage: 150 V   maximumCurrent: 60 A   absorb: 56 V   efficiency: 97 %   tracking: mppt }
  load Lamps { power: 300 W   profile: always }
  load Radio { power: 60 W   supply: dc   profile: always }
  fuse Main { rating: 200 A }
  run In: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Charge: Rect.dc -> Bank { size: 35 mm2   length: 2 m }
  run Sun: Array -> Tracker.solar { size: 6 mm2   length: 8 m }
  run Day: Tracker.dc -> Bank { size: 16 mm2   length: 2 m }
  run Feed: Bank -> Main @ 150 mm -> Inv.dc { size: 70 mm2   length: 2 m }
  run Line: Inv.ac -> Lamps { size: 2.5 mm2   length: 5 m }
  run Wire: Bank -> Radio { size: 4 mm2   length: 3 m }
  control Autostart of Genset { start when soc(Bank) < 40 %   stop when soc(Bank) > 80 % }
  scenario Night { from: 2027-01-10   duration: 12 h   sun: none   soc(Bank): 41 % }
}
`;

const apply = (text: string, edits: readonly TextEdit[]): string =>
  [...edits]
    .sort((a, b) => b.place.offset - a.place.offset)
    .reduce((so, { place, text: written }) => so.slice(0, place.offset) + written + so.slice(place.end), text);

/** The things of a kind with the edits that put a hole into one of their properties; undefined where the design has none. */
function hole(analysis: Analysis, kind: string, property: string): TextEdit[] | undefined {
  const edits = analysis.designs.flatMap(({ system }) => {
    if (kind === 'design')
      return [{ place: system.insert.place, text: `${system.insert.before}${property}: ?${system.insert.after}` }];
    return [...system.instances, ...system.runs, ...system.links, ...system.controls]
      .filter((thing) => thing.kind === kind)
      .map((thing) => setProperty(thing, property, '?'));
  });
  return edits.length > 0 ? edits : undefined;
}

/** Everything that can be asked about a design. */
function askAll({ designs }: Analysis): number {
  let count = 0;
  for (const { context } of designs)
    for (const thing of [...context.system.instances, ...context.system.runs])
      for (const name of context.quantityNames(thing)) {
        expect(['known', 'missing', 'refused']).toContain(context.quantity(thing, name).kind);
        count += 1;
      }
  return count;
}

describe('a hole', () => {
  // Every scene of the catalogue of checks is a design that one check looks at closely.
  const texts = [SCENE, ...CHECKS.flatMap(({ docs }) => [docs.failing, docs.passing])];
  const SCENES_EACH = 3;
  const read = new Map<string, Promise<Analysis>>();
  const analysed = (text: string): Promise<Analysis> => {
    let kept = read.get(text);
    if (!kept) read.set(text, (kept = analyseText(text)));
    return kept;
  };

  it.each(ALL_KINDS.map((definition) => [definition.kind, definition] as const))(
    'in any property of a %s stops nothing',
    { timeout: 600_000 },
    async (kind, { properties }) => {
      for (const { name } of properties) {
        let tried = 0;
        for (const text of texts) {
          if (tried === SCENES_EACH) break;
          if (!text.includes(`${kind} `)) continue;
          const edits = hole(await analysed(text), kind, name);
          if (!edits) continue;
          tried += 1;
          askAll(await analyseText(apply(text, edits)));
        }
        const words = `part ${kind} Sheet { ${name}: ? }\ndesign D {\n  site { ${name}: ? }\n  ${kind} One : Sheet { }\n}\n`;
        askAll(await analyseText(words));
        if (kind === 'site' || kind === 'scenario')
          askAll(
            await analyseText(
              kind === 'site'
                ? SCENE.replace(/site \{[^}]*\}/, `site { altitude: 300 m   ${name}: ? }`)
                : SCENE.replace('sun: none', `sun: none   ${name}: ?`),
            ),
          );
      }
    },
  );
});
