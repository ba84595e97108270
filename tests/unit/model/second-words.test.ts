import { EmptyFileSystem } from 'langium';
import { describe, expect, test } from 'vitest';
import { ALL_KINDS, aliasesOfProperty, aliasesOfWord, propertyOf } from '../../../language/src/equipment/index.js';
import { formatText } from '../../../language/src/syntax/format.js';
import { createLanguageServices } from '../../../language/src/syntax/module.js';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

/** An invented feeder whose earth conductor is too small, and a generator that burns what its author calls it. */
const feeder = (earth: string, fuel: string, basis = 'nec 2023', more = ''): string => `design Shed {
  basis: ${basis}
  grid Mains { voltage: 240 V   rating: 100 A   faultCurrent: 5 kA }
  breaker B1 { rating: 60 A }
  load Heater { power: 9 kW   voltage: 240 V }
  run Line: Mains -> B1 -> Heater { size: 6 AWG   type: THHN   length: 20 m   ${earth}: 14 AWG }
  generator Genset { rated: 5 kW   voltage: 240 V   fuel: ${fuel} }
  ${more}
}
`;

const told = async (text: string): Promise<string[]> =>
  (await analyseText(text)).findings.map(({ check, headline, why }) => `${check}: ${headline} (${why ?? ''})`);

describe('a second word for a property or a value', () => {
  test('means the same as the first, in every finding', async () => {
    const first = await told(feeder('earth', 'petrol'));
    expect(first.some((each) => each.startsWith('earth-conductor'))).toBe(true);
    expect(await told(feeder('ground', 'gasoline'))).toEqual(first);
  });

  test('is read in paths, comparisons, arguments and variants', async () => {
    const more = `require Line.ground >= 6 AWG
  require Genset.fuel == gasoline
  require fuelFor(rated: 2 kW, load: 50 %, time: 10 h, fuel: gasoline, waveform: inverter) < 40 L`;
    const text = `${feeder('earth', 'petrol', 'nec 2023', more)}variant Thicker of Shed { Line.ground = 4 AWG }\n`;
    const analysis = await analyseText(text);
    const unknown = analysis.findings.filter(({ check }) => ['unknown-name', 'wrong-type'].includes(check));
    expect(unknown.map(({ headline }) => headline)).toEqual([]);
    expect(findingsOf(analysis, 'requirement-failed').map(({ subject }) => subject)).toEqual(['Shed']);
    expect(findingsOf(analysis, 'earth-conductor').map(({ subject }) => subject)).toEqual(['Shed.Line']);
  });

  test('cannot be stated beside the first', async () => {
    const text = feeder('earth: 6 AWG   ground', 'petrol');
    expect(findingsOf(await analyseText(text), 'duplicate-name')).toHaveLength(1);
  });

  test('is kept by the formatter and by a fix of its value, whose title says it under nec', async () => {
    const { wattwright } = createLanguageServices(EmptyFileSystem);
    const text = feeder('ground', 'gasoline');
    expect(formatText(text, wattwright).text).toContain('ground: 14 AWG');
    expect(formatText(text, wattwright).text).toContain('fuel: gasoline');
    const [finding] = findingsOf(await analyseText(text), 'earth-conductor');
    expect(finding?.fixes[0]?.title).toBe('Change ground of Line to 10 AWG');
    expect(applyFix(text, finding!.fixes[0]!)).toContain('ground: 10 AWG }');
  });

  test('is the name of nothing else at any kind', () => {
    for (const { kind, properties } of ALL_KINDS)
      for (const { name, type } of properties) {
        for (const alias of aliasesOfProperty(name)) {
          expect(properties.map((property) => property.name)).not.toContain(alias);
          expect(propertyOf(kind, alias)?.name).toBe(name);
        }
        if (type.type === 'word' || type.type === 'words')
          for (const { word } of type.words)
            for (const alias of aliasesOfWord(word)) expect(type.words.map((each) => each.word)).not.toContain(alias);
      }
    expect(propertyOf('run', 'ground')?.name).toBe('earth');
    expect(propertyOf('generator', 'ground')).toBeUndefined();
  });
});
