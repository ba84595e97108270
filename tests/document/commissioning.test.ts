import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Action, type CommissioningStep, type DesignContext, commissioningSteps } from '@wattwright/language';
import { analyseText } from '../helpers/analyse.js';
import { designFiles } from './helpers/design-files.js';
import { type Plant, plant, plantText } from './helpers/random-plant.js';
import { walked } from './helpers/walk.js';

const contextOf = async (text: string): Promise<DesignContext> =>
  (await analyseText({ 'made.watt': text })).designs[0]!.context;

describe('commissioning steps', () => {
  test('are safe in any generated design, and put everything together', async () => {
    await fc.assert(
      fc.asyncProperty(plant, async (of) => {
        const context = await contextOf(plantText(of));
        expect(walked(commissioningSteps(context), context)).toEqual([]);
      }),
      { seed: 14, numRuns: 150 },
    );
  });

  const FULL: Plant = {
    banks: 2,
    bankGear: ['fuse', 'switch'],
    inverters: 2,
    isInverterFused: true,
    isOnBank: false,
    hasSet: true,
    isSetSwitched: true,
    hasSun: true,
    hasLink: true,
    hasRules: true,
    panel: 'transfer',
    turning: 'hydro',
    isPassing: true,
  };

  test('the walk finds what is wrong where steps are out of order', async () => {
    const context = await contextOf(plantText(FULL));
    const steps = commissioningSteps(context);
    const without = (kind: Action['do']): CommissioningStep[] =>
      steps.map((step) => ({ ...step, actions: step.actions.filter((action) => action.do !== kind) }));
    expect(walked(without('precharge'), context).join()).toContain('without being charged');
    expect(walked(without('connect'), context).join()).toContain('its link in the wrong state');
    expect(walked(without('land'), context).join()).toContain('left open at the end');
    const turned = steps.map((step) => ({ ...step, actions: [...step.actions].reverse() }));
    expect(walked(turned, context).join()).toContain('a start before its stop');
    expect(walked(without('compare'), context).join()).toContain('without their voltages being compared');
    expect(walked(without('select'), context).join()).toMatch(/the current of (Fan|Pump)Line is read while it is dead/);
    expect(walked(without('start'), context).join()).toContain('is read while it is dead');
    const racing = steps.map((step, index) => ({
      ...step,
      actions:
        index === 1 ? steps.flatMap(({ actions }) => actions.filter((each) => each.do === 'start')) : step.actions,
    }));
    expect(walked(racing, context).join()).toContain('Turner turns without a bank');
    const silent = steps.map((step) => ({ ...step, otherwise: '' }));
    expect(walked(silent, context).join()).toContain('nothing is said of what to do if it is off');
    const unread = steps.map((step) => ({ ...step, expects: [] }));
    expect(walked(unread, context).join()).toContain('the current of FanLine is never measured');
    const opened = steps.slice(1);
    expect(walked(opened, context).join()).toContain('is live at work');
    const landedLate = steps.map((step) => ({
      ...step,
      actions: [...step.actions].sort((a, b) => Number(b.do === 'close') - Number(a.do === 'close')),
    }));
    expect(walked(landedLate, context).join()).toMatch(/is landed with \S+ closed/);
    const unstopped = steps.map((step, index) =>
      index === 0 ? step : { ...step, actions: step.actions.filter(({ do: what }) => what !== 'stop') },
    );
    expect(walked(unstopped, context).join()).toMatch(/is landed at (Array|Mains), which runs/);
  });

  test('banks and what they wake come before links and settings, links before sources, sources before rules are forced', async () => {
    const context = await contextOf(plantText(FULL));
    const phases = [...new Set(commissioningSteps(context).map(({ phase }) => phase))];
    expect(phases).toEqual([
      'Dead, everything open',
      'Bank alone',
      'Direct-current sides, outputs off',
      'Links',
      'Settings',
      'Inverters, without load',
      'Loads, one by one',
      'Sources, one by one',
      'Transfer and bonds',
      'Thresholds and fallbacks, each once',
      'Under load, and hand-over',
    ]);
  });
});

/** What is wrong in the design itself is not put together. */
const REFUSED: Readonly<Record<string, readonly string[]>> = {
  // The wiring that was got wrong on purpose: its set is wired to the panel of its inverter.
  'field-mistakes/wiring.watt': ['left open at the end: GenCord, GenPanel'],
  // A slip of the pen: a run from the bank to the side of its charger that is fed.
  'field-mistakes/text.watt': ['left open at the end: Wrong'],
};

describe('the steps of the examples', () => {
  test.each(designFiles)('$file', async ({ file, texts }) => {
    const { designs } = await analyseText(texts);
    expect(designs.length).toBeGreaterThan(0);
    for (const { context, system } of designs)
      expect(walked(commissioningSteps(context), context), system.name).toEqual(REFUSED[file] ?? []);
  });

  test('a set and an inverter that nothing keeps apart are not joined, and the sheet says so', async () => {
    const { texts } = designFiles.find(({ file }) => file === 'field-mistakes/wiring.watt')!;
    const { designs } = await analyseText(texts);
    const { context, system } = designs[0]!;
    const steps = commissioningSteps(context);
    const said = steps.map(({ text }) => text);
    // The walk would find it, had somebody joined them all the same.
    const source = system.instances.find(({ name }) => name === 'Genset')!;
    const run = system.runs.find(({ name }) => name === 'GenPanel')!;
    const joined: CommissioningStep = {
      ...steps.at(-1)!,
      actions: [
        { do: 'start', source },
        { do: 'land', run },
      ],
    };
    expect(walked([...steps, joined], context).join()).toContain('Genset runs and meets another source');
    expect(said).toContain('Do not connect GenCord, GenPanel: Genset would meet Inv, and nothing keeps them apart.');
  });

  test('end where the design forbids the next, and hand nothing over', async () => {
    for (const [file, barred] of [
      ['field-mistakes/wiring.watt', 'Genset'],
      ['field-mistakes/text.watt', 'Wrong'],
    ]) {
      const { texts } = designFiles.find((each) => each.file === file)!;
      const steps = commissioningSteps((await analyseText(texts)).designs[0]!.context);
      const ends = steps.findIndex(({ otherwise }) => otherwise.startsWith('Commissioning ends here'));
      expect(ends, file).toBe(steps.length - 2);
      expect(steps.at(-1)!.text).toMatch(new RegExp(`^Stop every source, .*: ${barred} must not be connected`));
      expect(steps.at(-1)!.actions).toEqual([]);
    }
  });

  test('leave a source alone that nothing is connected to', async () => {
    const context = await contextOf('design Spares { generator Spare { rated: 5 kW   voltage: 230 V } }');
    const said = commissioningSteps(context).filter(({ phase }) => phase === 'Sources, one by one');
    expect(said.map(({ text }) => text)).toEqual([
      'Spare: nothing is connected to it. It stays locked out, and is not tried.',
    ]);
  });
});
