import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';
import { drawDesign } from '@wattwright/language';
import { layoutEngine } from '../../server/src/drawing/layout-engine.js';
import { analyseText } from '../helpers/analyse.js';
import { overlaps } from './helpers/overlaps.js';

const examples = path.resolve(import.meta.dirname, '../../examples');

// The largest, one with several cords at one inlet, and one full of marks.
test.each([
  ['house-backup', 'house.watt'],
  ['coach-shore', 'coach.watt'],
  ['field-mistakes', 'wiring.watt'],
])('nothing lies over anything else in the drawing of %s', async (folder, main) => {
  const files = readdirSync(path.join(examples, folder)).filter((name) => name.endsWith('.watt'));
  const inOrder = [main, ...files.filter((name) => name !== main)];
  const analysis = await analyseText(
    Object.fromEntries(inOrder.map((name) => [name, readFileSync(path.join(examples, folder, name), 'utf8')])),
  );
  for (const design of analysis.designs)
    expect(overlaps(await drawDesign(analysis, design, layoutEngine()))).toEqual([]);
});
