import { describe, expect, it } from 'vitest';
import { type Analysis, numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, findingsOf } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';
import { FOUR_SUPPLIES, van } from '../../helpers/supplies.js';

const statesOf = ({ designs }: Analysis): string[] => designs[0]!.context.states.map(({ id }) => id);
const errors = ({ findings }: Analysis): string[] =>
  findings.filter(({ severity }) => severity === 'error').map(({ check, subject }) => `${check} ${subject}`);

describe('an inlet that takes one cord at a time', () => {
  it('makes each of its supplies a state of its own, and no state of several', async () => {
    expect(statesOf(await analyseText(van()))).toEqual(['battery', 'Post', 'Wall', 'Genset', 'Truck']);
    const apart = await analyseText(van({ inlet: 'plug: TT-30' }));
    expect(statesOf(apart)).toContain('Post+Wall+Genset+Truck');
  });

  it('lets no two supplies meet: neither on a bus, nor by their bonds, nor at the far ends of their cords', async () => {
    const checks = ['two-sources-one-bus', 'neutral-bond'];
    const analysis = await analyseText(van());
    for (const check of checks) expect(findingsOf(analysis, check)).toEqual([]);
    const cords = ({ findings }: Analysis): string[] =>
      findings.filter(({ subject }) => subject.endsWith('Cord')).map(({ check, subject }) => `${check} ${subject}`);
    expect(cords(analysis)).toEqual([]);
    const apart = await analyseText(van({ inlet: 'plug: TT-30' }));
    for (const check of checks) expect(findingsOf(apart, check)).not.toEqual([]);
    expect(cords(apart)).toContain('run-unprotected Van.PostCord');
  });

  it('is proposed where supplies meet at an inlet that does not say so', async () => {
    const text = van({ inlet: 'plug: TT-30' });
    const [finding] = findingsOf(await analyseText(text), 'two-sources-one-bus');
    const [fix] = finding!.fixes;
    expect(fix?.title).toBe('Say that Inlet accepts one cord at a time');
    expect(fix?.safe).toBe(false);
    expect((await afterFix(text, 'two-sources-one-bus', fix!)).left).toEqual([]);
  });

  it('still finds a source that is wired behind it and meets the supply', async () => {
    const inside = `
  generator Onboard { rated: 3 kW   voltage: 120 V   frequency: 60 Hz   breaker: 25 A   neutralBond: floating }
  run OnboardLine: Onboard -> Panel { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2 }`;
    const analysis = await analyseText(van({ more: inside }));
    const met = findingsOf(analysis, 'two-sources-one-bus');
    expect(met.map(({ subject }) => subject)).toContain('Van.Panel');
    // Written as if it were a cord, it is one more supply that has to be unplugged: only runs that end at the inlet are.
    expect(statesOf(analysis)).toEqual([
      'battery',
      'Post',
      'Wall',
      'Genset',
      'Truck',
      'Onboard',
      'Post+Onboard',
      'Wall+Onboard',
      'Genset+Onboard',
      'Truck+Onboard',
    ]);
  });

  it('counts for nothing where no run leaves it: the wiring behind it would be unplugged with the cords', async () => {
    const text = van().replace('run Feed: Inlet -> Main @ 1 m -> Panel', 'run Feed: Panel -> Main @ 1 m -> Inlet');
    expect(findingsOf(await analyseText(text), 'two-sources-one-bus')).not.toEqual([]);
  });

  it('tells two cords of one source apart by their names', async () => {
    const supplies = `
  grid Post { voltage: 120 V   frequency: 60 Hz   rating: 30 A   faultCurrent: 2 kA   neutralBond: bonded }
  bus Pedestal { rating: 30 A   voltage: 120 V   neutralBond: floating }
  receptacle Big { plug: TT-30 }
  receptacle Small { plug: NEMA-5-15   outlet: TT-30 }
  run PostLine: Post -> Pedestal { size: 10 AWG   type: THWN-2   length: 1 m   conductors: 2 }
  run BigCord: Pedestal -> Big -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run SmallCord: Pedestal -> Small -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }`;
    const analysis = await analyseText(van({ supplies }));
    expect(statesOf(analysis)).toEqual(['battery', 'Post@BigCord', 'Post@SmallCord']);
    expect(analysis.designs[0]!.context.states.map(({ title }) => title)[2]).toBe('Post connected by SmallCord');
    // Two ways between pedestal and inlet are no ring, since one of them is open: each cord carries it all.
    const { context } = analysis.designs[0]!;
    for (const name of ['BigCord', 'SmallCord', 'Feed']) {
      const run = context.system.runs.find((each) => each.name === name)!;
      const current = context.quantity(run, 'current');
      expect(current.kind === 'known' && numberIn(current.derivation, 'A')).toBeCloseTo(
        // 600 W / 120 V, and 30 A · 14.2 V / (0.9 · 0.97 · the lowest voltage of the supply)
        5 + (30 * 14.2) / (0.9 * 0.97 * 120 * 0.95),
        0,
      );
    }
  });

  it('sees the largest fault current of its supplies, not their sum', async () => {
    const lines = FOUR_SUPPLIES.split('\n');
    const of = (...names: string[]): string =>
      van({ supplies: lines.filter((line) => names.some((name) => line.includes(name))).join('\n') });
    const together = await valueOf(of('Post', 'Wall', 'Genset'), 'Main', 'faultCurrent', 'A');
    expect(together).toBe(await valueOf(of('Post'), 'Main', 'faultCurrent', 'A'));
    expect(together).toBeGreaterThan(0);
  });

  it('has as many states more as it has supplies, however many there are', async () => {
    const count = 60;
    const many = Array.from(
      { length: count },
      (_, index) => `
  grid S${index} { voltage: 120 V   frequency: 60 Hz   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  run C${index}: S${index} -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }`,
    ).join('');
    const analysis = await analyseText(van({ supplies: many }));
    expect(statesOf(analysis)).toHaveLength(count + 1);
    expect(errors(analysis).filter((each) => /two-sources|neutral-bond/.test(each))).toEqual([]);
  });

  it('with two inlets has as many ways with all supplies as the larger of them has cords', async () => {
    const second = `
  receptacle Other { plug: TT-30   oneCord: yes }
  bus OtherPanel { rating: 30 A   voltage: 120 V   neutralBond: floating }
  load Fan { power: 100 W   voltage: 120 V   powerFactor: 1 }
  run OtherFeed: Other -> OtherPanel { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2 }
  run FanLine: OtherPanel -> Fan { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2 }
  grid A { voltage: 120 V   rating: 30 A   neutralBond: bonded }
  grid B { voltage: 120 V   rating: 30 A   neutralBond: bonded }
  run ACord: A -> Other { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run BCord: B -> Other { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }`;
    const states = statesOf(await analyseText(van({ more: second })));
    expect(states.filter((id) => id.includes('+'))).toEqual(['Post+A', 'Wall+B', 'Genset+A', 'Truck+B']);
    expect(states).toHaveLength(1 + 6 + 4);
  });
});
