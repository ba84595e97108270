import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Action, type CommissioningStep, type DesignContext, commissioningSteps } from '@wattwright/language';
import { analyseText } from '../helpers/analyse.js';

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
    lines.push(
      `inverter Inv${inverter} { rated: 2 kW   voltage: 230 V }`,
      `load Load${inverter} { power: 500 W   voltage: 230 V }`,
    );
    if (of.isInverterFused) lines.push(`fuse InvFuse${inverter} { rating: 100 A }`);
    const from = of.isOnBank && inverter === 1 ? 'Bank1' : 'Bus';
    lines.push(
      `run InvFeed${inverter}: ${from}${of.isInverterFused ? ` -> InvFuse${inverter}` : ''} -> Inv${inverter}.dc { length: 1 m }`,
    );
    lines.push(`run Line${inverter}: Inv${inverter}.ac -> Load${inverter} { length: 5 m }`);
  }
  if (of.hasSet) {
    lines.push(
      'generator Genset { rated: 5 kW   voltage: 230 V }',
      'charger Rect { currentLimit: 40 A   absorb: 56 V }',
    );
    if (of.isSetSwitched) lines.push('breaker SetBreaker { rating: 20 A   poles: 2 }');
    lines.push(
      `run SetLine: Genset${of.isSetSwitched ? ' -> SetBreaker' : ''} -> Rect.ac { length: 9 m }`,
      'run RectFeed: Bus -> Rect.dc { length: 1 m }',
    );
  }
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

/** What a walk along the steps finds wrong. It keeps its own books of what is live, out of the text of the design and nothing of the plan. */
function walked(steps: readonly CommissioningStep[], { system }: DesignContext): string[] {
  const wrong: string[] = [];
  const open = new Set<string>();
  const off = new Set<string>();
  const running = new Set<string>();
  const charged = new Set<string>();
  const linked = new Set<string>();
  const entered = new Set<string>();
  const isBank = (name: string): boolean => name.startsWith('Bank') && !/(fuse|switch)$/.test(name);
  const key = (stop: { instance: { name: string }; terminal?: { name: string } }): string => {
    const { name } = stop.instance;
    return /^(Inv\d|Rect|Tracker)$/.test(name) ? `${name}.${stop.terminal?.name}` : name;
  };
  const pairs = system.runs.flatMap(({ name, from, through, to }) => {
    const stops = [from, ...through, ...to].map(key);
    return stops.slice(1).map((stop, index) => ({ run: name, a: stops[index]!, b: stop }));
  });
  const live = (): Set<string> => {
    const seen = new Set([...system.instances.map(({ name }) => name).filter(isBank), ...running]);
    for (let size = 0; size !== seen.size;) {
      size = seen.size;
      for (const { run, a, b } of pairs) {
        if (off.has(run)) continue;
        // What is open is live on one side and leads no further.
        if (seen.has(a) && !open.has(a)) seen.add(b);
        if (seen.has(b) && !open.has(b)) seen.add(a);
      }
    }
    return seen;
  };
  const act = (action: Action, number: number): void => {
    switch (action.do) {
      case 'open':
        open.add(action.gear.name);
        break;
      case 'close':
        open.delete(action.gear.name);
        break;
      case 'part':
        off.add(action.run.name);
        break;
      case 'land':
        if (
          [...running].some((source) =>
            [action.run.from, ...action.run.to].some(({ instance }) => instance.name === source),
          )
        )
          wrong.push(`step ${number}: ${action.run.name} is landed at a running source`);
        off.delete(action.run.name);
        break;
      case 'start':
        running.add(action.source.name);
        break;
      case 'stop':
        running.delete(action.source.name);
        break;
      case 'work': {
        const reached = live();
        // The end that is left off is tagged and apart; the rest of the run is where the hands are.
        const parts = pairs.filter(({ run }) => run === action.run.name).flatMap(({ a, b }) => [a, b]);
        for (const part of parts)
          if (
            reached.has(part) &&
            !(off.has(action.run.name) && (isBank(part) || part === 'Genset' || part === 'Array'))
          )
            wrong.push(`step ${number}: ${part} is live at work on ${action.run.name}`);
        break;
      }
      case 'precharge':
        charged.add(action.inverter.name);
        break;
      case 'connect':
        linked.add(action.link.name);
        break;
      case 'disconnect':
        linked.delete(action.link.name);
        break;
      case 'enter': {
        const { verb } = action.rule;
        const group = `${action.control} ${action.without?.name ?? ''}`;
        if ((verb === 'start' || verb === 'on') && !entered.has(`${group} stop`))
          wrong.push(`step ${number}: a start before its stop`);
        if (verb === 'stop' || verb === 'off') entered.add(`${group} stop`);
        entered.add(`${group} ${action.rule.text}`);
        break;
      }
      case 'force': {
        const group = `${action.control} ${action.without?.name ?? ''}`;
        if (!entered.has(`${group} ${action.rule.text}`))
          wrong.push(`step ${number}: a rule is forced that was not entered`);
        if (action.without ? linked.has(action.without.name) : system.links.some(({ name }) => !linked.has(name)))
          wrong.push(`step ${number}: ${action.rule.text} is forced with its link in the wrong state`);
        break;
      }
    }
    if (action.do !== 'close' && action.do !== 'land') return;
    for (const node of live()) {
      const inverter = /^(Inv\d)\.dc$/.exec(node)?.[1];
      if (inverter && !charged.has(inverter))
        wrong.push(`step ${number}: ${inverter} is closed on a bank without being charged`);
    }
  };
  steps.forEach(({ actions }, index) => actions.forEach((action) => act(action, index + 1)));
  if (open.size > 0 || off.size > 0) wrong.push(`left open at the end: ${[...open, ...off].join(', ')}`);
  return wrong;
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
      { seed: 14, numRuns: 30 },
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
    const opened = steps.slice(1);
    expect(walked(opened, context).join()).toContain('is live at work');
  });

  test('banks come before links, links before sources, sources before rules are forced', async () => {
    const context = await contextOf(textOf(FULL));
    const phases = [...new Set(commissioningSteps(context).map(({ phase }) => phase))];
    expect(phases).toEqual([
      'Dead, everything open',
      'Bank alone',
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
