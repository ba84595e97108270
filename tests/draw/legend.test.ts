import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type AnalysedDesign, type Analysis, drawDesign, writeDrawing } from '@wattwright/language';
import { layoutEngine } from '../../server/src/drawing/layout-engine.js';
import { designFiles } from '../document/helpers/design-files.js';
import { type Plant, plant, plantText } from '../document/helpers/random-plant.js';
import { analyseText } from '../helpers/analyse.js';

const STAMP = { tool: 'wattwright test', commit: 'abc1234', date: '2027-01-01' };

/** What is in a group of this class, up to the end that closes it. */
function groupsOf(svg: string, name: string): readonly string[] {
  return [...svg.matchAll(new RegExp(`<g class="${name}"[^>]*>`, 'g'))].map(({ index }) => {
    let depth = 0;
    for (const tag of svg.slice(index).matchAll(/<g[ >]|<\/g>/g)) {
      depth += tag[0] === '</g>' ? -1 : 1;
      if (depth === 0) return svg.slice(index, index + tag.index);
    }
    throw new Error(`a group of ${name} is not closed`);
  });
}

/**
 * The strokes of each symbol in some SVG, wherever it stands; a bar by its weight, since its length is its own. The plus of a bank says which
 * way round it is, and stands beside the strokes where these are mirrored.
 */
function shapesIn(svg: string): ReadonlySet<string> {
  const shapes = [...svg.matchAll(/<g transform="translate\([^)]*\)">(.*?)<\/g>/g)].map(([, inner]) =>
    [...inner!.matchAll(/ d="([^"]*)"/g), ...inner!.matchAll(/>([^<]*)<\/text>/g)]
      .flatMap(([, drawn]) => (drawn === '+' ? [] : drawn))
      .join('|'),
  );
  return new Set([...shapes, ...(svg.includes('stroke-width="5"') ? ['bar'] : [])]);
}

/** How lines are drawn: weight and dashes. */
const linesIn = (paths: readonly string[]): ReadonlySet<string> =>
  new Set(
    paths.map(
      (path) => `${/stroke-width="([^"]*)"/.exec(path)?.[1]} ${/stroke-dasharray="([^"]*)"/.exec(path)?.[1] ?? ''}`,
    ),
  );

async function expectLegend(analysis: Analysis, design: AnalysedDesign): Promise<void> {
  const { drawing, placed } = await drawDesign(analysis, design, layoutEngine());
  const svg = writeDrawing(drawing, placed, { stamp: STAMP, sheets: 'whole' });
  const [legend, ...others] = groupsOf(svg, 'legend');
  expect(others).toEqual([]);
  const drawn = shapesIn(groupsOf(svg, 'symbol').join(''));
  expect([...shapesIn(legend!)].sort(), 'symbols').toEqual([...drawn].sort());
  // Lines of the legend are level ones of 60 units; those of the diagram are of runs and links.
  const shown = [...legend!.matchAll(/<path d="M[\d.-]+ [\d.-]+H[\d.-]+"[^>]*>/g)].map(([path]) => path);
  const runs = [...groupsOf(svg, 'stretch'), ...groupsOf(svg, 'link')].map(
    (group) => /<path[^>]* stroke-width="[^>]*>/.exec(group)![0],
  );
  expect([...linesIn(shown)].sort(), 'lines').toEqual([...linesIn(runs)].sort());
  // Each thing shown has its own words.
  expect(legend!.match(/<text/g)!.length - 1, 'words').toBeGreaterThanOrEqual(shapesIn(legend!).size + shown.length);
}

describe('the legend shows what is drawn, and nothing that is not, in', () => {
  test.each(designFiles)('$file', async ({ texts }) => {
    const analysis = await analyseText(texts);
    for (const design of analysis.designs) await expectLegend(analysis, design);
  });

  test('a design that the layout engine cannot fold as it is', async () => {
    const of: Plant = {
      banks: 1,
      bankGear: [],
      inverters: 2,
      isInverterFused: false,
      isOnBank: false,
      hasSet: true,
      isSetSwitched: false,
      hasSun: false,
      hasLink: true,
      hasRules: false,
      panel: 'none',
      turning: 'none',
      isPassing: true,
    };
    const analysis = await analyseText({ 'made.watt': plantText(of) });
    await expectLegend(analysis, analysis.designs[0]!);
  });

  test('generated designs of every practice', async () => {
    await fc.assert(
      fc.asyncProperty(plant, fc.constantFrom('iec', 'nec 2023', 'craft'), async (of, basis) => {
        const analysis = await analyseText({ 'made.watt': plantText(of).replace('basis: iec', `basis: ${basis}`) });
        await expectLegend(analysis, analysis.designs[0]!);
      }),
      { numRuns: 25 },
    );
  });
});
