import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Action, type CommissioningStep, type DesignContext, commissioningSteps } from '@wattwright/language';
import { analyseText } from '../helpers/analyse.js';
import { designFiles } from './helpers/design-files.js';
import { walked } from './helpers/walk.js';

/** What a generated design has; all of it invented. */
interface Shape {
  readonly banks: 1 | 2;
  readonly bankGear: readonly ('fuse' | 'switch')[];
  readonly inverters: number;
  readonly isInverterFused: boolean;
  readonly isOnBank: boolean;
  readonly hasSet: boolean;
  readonly isSetSwitched: boolean;
  readonly hasSun: boolean;
  readonly hasLink: boolean;
  readonly hasRules: boolean;
  /** A panel with a load without gear of its own, behind the first inverter or behind transfer gear with a supply. */
  readonly panel: 'none' | 'inverter' | 'transfer' | 'supplies';
  /** A machine that charges the bus by itself. */
  readonly turning: 'none' | 'wind' | 'hydro' | 'alternator';
  /** Whether the set leads through the second inverter, which has a charger built in. */
  readonly isPassing: boolean;
}

const shape: fc.Arbitrary<Shape> = fc.record({
  banks: fc.constantFrom(1 as const, 2 as const),
  bankGear: fc.subarray(['fuse', 'switch'] as const),
  inverters: fc.integer({ min: 0, max: 2 }),
  isInverterFused: fc.boolean(),
  isOnBank: fc.boolean(),
  hasSet: fc.boolean(),
  isSetSwitched: fc.boolean(),
  hasSun: fc.boolean(),
  hasLink: fc.boolean(),
  hasRules: fc.boolean(),
  panel: fc.constantFrom('none' as const, 'inverter' as const, 'transfer' as const, 'supplies' as const),
  turning: fc.constantFrom('none' as const, 'wind' as const, 'hydro' as const, 'alternator' as const),
  isPassing: fc.boolean(),
});

function textOf(of: Shape): string {
  const lines: string[] = ['basis: iec', 'bus Bus { rating: 400 A }'];
  for (let bank = 1; bank <= of.banks; bank += 1) {
    const gear = of.bankGear.map((kind) => `Bank${bank}${kind}`);
    for (const kind of of.bankGear) lines.push(`${kind} Bank${bank}${kind} { rating: 200 A }`);
    lines.push(`battery Bank${bank} { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah }`);
    lines.push(`run Feed${bank}: ${[`Bank${bank}`, ...gear, 'Bus'].join(' -> ')} { length: 1 m }`);
  }
  for (let inverter = 1; inverter <= of.inverters; inverter += 1) {
    const passes = of.isPassing && of.hasSet && inverter === 2;
    lines.push(
      `inverter Inv${inverter} { rated: 2 kW   voltage: 230 V${passes ? '   passThrough: yes   currentLimit: 20 A   absorb: 56 V' : ''} }`,
    );
    if (of.isInverterFused) lines.push(`fuse InvFuse${inverter} { rating: 100 A }`);
    const from = of.isOnBank && inverter === 1 ? 'Bank1' : 'Bus';
    lines.push(
      `run InvFeed${inverter}: ${from}${of.isInverterFused ? ` -> InvFuse${inverter}` : ''} -> Inv${inverter}.dc { length: 1 m }`,
    );
    if (passes) lines.push('breaker InputBreaker { rating: 16 A   poles: 2 }');
    const panel = inverter === 1 && (of.panel === 'inverter' || of.panel === 'transfer');
    if (!panel)
      lines.push(
        `load Load${inverter} { power: 500 W   voltage: 230 V }`,
        `run Line${inverter}: Inv${inverter}.ac -> Load${inverter} { length: 5 m }`,
      );
    else {
      lines.push(
        'bus Panel { rating: 40 A   voltage: 230 V }',
        'breaker PanelBreaker { rating: 16 A }',
        'load Fan { power: 50 W   voltage: 230 V }',
        'load Pump { power: 400 W   voltage: 230 V }',
        'run FanLine: Panel -> Fan { length: 3 m }',
        'run PumpLine: Panel -> PanelBreaker -> Pump { length: 3 m }',
      );
      if (of.panel === 'inverter') lines.push('run Line1: Inv1.ac -> Panel { length: 5 m }');
      else
        lines.push(
          'grid Mains { voltage: 230 V   rating: 25 A }',
          'transfer Gear { rating: 40 A }',
          'run MainsLine: Mains -> Gear.normal { length: 5 m }',
          'run Line1: Inv1.ac -> Gear.standby { length: 5 m }',
          'run GearLine: Gear.out -> Panel { length: 5 m }',
        );
    }
  }
  // A supply and a standby set behind transfer gear, with loads that no inverter feeds.
  if (of.panel === 'supplies')
    lines.push(
      'grid Mains { voltage: 230 V   rating: 25 A }',
      'generator Standby { rated: 5 kW   voltage: 230 V }',
      'transfer Gear { rating: 40 A }',
      'bus Panel { rating: 40 A   voltage: 230 V }',
      'load Fan { power: 50 W   voltage: 230 V }',
      'run MainsLine: Mains -> Gear.normal { length: 5 m }',
      'run StandbyLine: Standby -> Gear.standby { length: 5 m }',
      'run GearLine: Gear.out -> Panel { length: 5 m }',
      'run FanLine: Panel -> Fan { length: 3 m }',
    );
  if (of.turning !== 'none')
    lines.push(
      `${of.turning} Turner {}`,
      'fuse TurnerFuse { rating: 60 A }',
      'run TurnerLine: Turner -> TurnerFuse -> Bus { length: 9 m }',
    );
  if (of.hasSet) {
    lines.push(
      'generator Genset { rated: 5 kW   voltage: 230 V }',
      'charger Rect { currentLimit: 40 A   absorb: 56 V }',
    );
    if (of.isSetSwitched) lines.push('breaker SetBreaker { rating: 20 A   poles: 2 }');
    lines.push(
      'bus SetBus { rating: 40 A   voltage: 230 V }',
      `run SetLine: Genset${of.isSetSwitched ? ' -> SetBreaker' : ''} -> SetBus { length: 9 m }`,
      'run RectLine: SetBus -> Rect.ac { length: 2 m }',
      'run RectFeed: Bus -> Rect.dc { length: 1 m }',
    );
  }
  if (of.hasSet && of.isPassing && of.inverters > 1)
    lines.push('run PassLine: SetBus -> InputBreaker -> Inv2.input { length: 2 m }');
  if (of.hasSun)
    lines.push(
      'solar Array { power: 400 W }',
      'chargeController Tracker { currentLimit: 20 A   absorb: 56 V }',
      'run Sun: Array -> Tracker.solar { length: 9 m }',
      'run TrackerFeed: Tracker.dc -> Bus { length: 1 m }',
    );
  if (of.hasLink && of.hasSet) lines.push('link Pack: Bank1 -> Rect { medium: can }');
  if (of.hasRules && of.hasSet)
    lines.push(
      'control Auto of Genset {',
      'start when soc(Bank1) < 30 %',
      'stop when soc(Bank1) > 90 %',
      of.hasLink
        ? 'without Pack { start when voltage(Bank1) < 48 V for 3 min\n stop when voltage(Bank1) > 55 V for 3 min }'
        : '',
      '}',
    );
  return `design Made {\n${lines.join('\n')}\n}\n`;
}

const contextOf = async (text: string): Promise<DesignContext> =>
  (await analyseText({ 'made.watt': text })).designs[0]!.context;

describe('commissioning steps', () => {
  test('are safe in any generated design, and put everything together', async () => {
    await fc.assert(
      fc.asyncProperty(shape, async (of) => {
        const context = await contextOf(textOf(of));
        expect(walked(commissioningSteps(context), context)).toEqual([]);
      }),
      { seed: 14, numRuns: 150 },
    );
  });

  const FULL: Shape = {
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
    const context = await contextOf(textOf(FULL));
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
    const context = await contextOf(textOf(FULL));
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
});
