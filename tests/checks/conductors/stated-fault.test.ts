import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';

const wagon = (bank: string, breaker = '10 kA'): string => `design Wagon {
  basis: iec
  battery Bank : Agm12V200Ah { series: 4   parallel: 2   ${bank} }
  breaker B1 { rating: 100 A   dcVoltage: 80 V   interruptRating: ${breaker} }
  load Heater { power: 2 kW   supply: dc }
  run Line: Bank -> B1 @ 0 m -> Heater { size: 35 mm2   type: H07V-K   length: 2 m   method: C }
}
`;
const OLD = `part battery OldAgm extends Agm12V200Ah { shortCircuitCurrent: 4 kA }\n`;

describe('a resistance that is stated against a short-circuit current that is inherited', () => {
  // Closed form: 4 · 14.7 V over 4 · 1.5 mohm / 2 are 19.6 kA; the part says 2 · 4 kA.
  const text = (breaker: string): string =>
    OLD + wagon('resistance: 1.5..2.5 mohm', breaker).replace('Agm12V200Ah', 'OldAgm');

  it('counts where it tells of more, and a breaker of 10 kA does not pass', async () => {
    expect(await valueOf(text('10 kA'), 'Bank', 'faultCurrent', 'A')).toBeCloseTo(19600, 6);
    expect(findingsOf(await analyseText(text('10 kA')), 'interrupt-rating')).toHaveLength(1);
    expect(findingsOf(await analyseText(text('19.6 kA')), 'interrupt-rating')).toEqual([]);
  });

  it('counts whatever the part says', async () => {
    expect(await valueOf(wagon('resistance: 1.5..2.5 mohm'), 'Bank', 'faultCurrent', 'A')).toBeCloseTo(19600, 6);
  });

  it('is told', async () => {
    const [told, ...others] = findingsOf(await analyseText(text('10 kA')), 'contradicting-facts');
    expect(others).toEqual([]);
    expect(told?.severity).toBe('warning');
    expect(lacking(told?.told, '14.7 V behind 1.5 mohm drive 9.8 kA')).toEqual([]);
    expect(findingsOf(await analyseText(text('10 kA').replace('1.5..2.5', '3.1..5')), 'contradicting-facts')).toEqual(
      [],
    );
  });

  it('does not lower the current that is inherited', async () => {
    const soft = OLD + wagon('resistance: 10..20 mohm').replace('Agm12V200Ah', 'OldAgm');
    expect(await valueOf(soft, 'Bank', 'faultCurrent', 'A')).toBeCloseTo(8000, 6);
  });
});

describe('a short-circuit current that is stated', () => {
  it('goes before what the resistance of the part tells of', async () => {
    const text = wagon('shortCircuitCurrent: 3 kA', '6 kA');
    expect(await valueOf(text, 'Bank', 'faultCurrent', 'A')).toBeCloseTo(6000, 6);
    const analysis = await analyseText(text);
    expect(findingsOf(analysis, 'contradicting-facts')).toEqual([]);
    expect(findingsOf(analysis, 'interrupt-rating')).toEqual([]);
    expect(
      findingsOf(
        await analyseText(text.replace('interruptRating: 6 kA', 'interruptRating: 5.9 kA')),
        'interrupt-rating',
      ),
    ).toHaveLength(1);
  });

  it('tells of the resistance behind the smallest fault too, which is never above the largest', async () => {
    // 58.8 V over 6 kA are 9.8 mohm, more than 4 · 2.5 mohm / 2.
    const text = wagon('shortCircuitCurrent: 3 kA');
    const least = await valueOf(text, 'B1', 'smallestFault', 'A');
    expect(least).toBeLessThan(6000);
  });

  it('counts with the worse one where both are stated of the battery itself', async () => {
    const both = wagon('shortCircuitCurrent: 3 kA   resistance: 1.5..2.5 mohm');
    expect(await valueOf(both, 'Bank', 'faultCurrent', 'A')).toBeCloseTo(19600, 6);
    expect(findingsOf(await analyseText(both), 'contradicting-facts')).toHaveLength(1);
  });
});

describe('the batteries of the library', () => {
  it('do not contradict themselves', async () => {
    const library = path.resolve(import.meta.dirname, '../../../language/library');
    const text = readdirSync(library)
      .filter((file) => file === 'batteries.watt')
      .map((file) => readFileSync(path.join(library, file), 'utf8'))
      .join();
    const units = [...text.matchAll(/^part battery (\S+) extends/gm)].map((match) => match[1]!);
    expect(units.length).toBeGreaterThan(20);
    const design = `design Store {\n${units.map((unit, index) => `  battery B${index} : ${unit} {}`).join('\n')}\n}\n`;
    expect(findingsOf(await analyseText(design), 'contradicting-facts').map(({ told }) => told)).toEqual([]);
  });
});
