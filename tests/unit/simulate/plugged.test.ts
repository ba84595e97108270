import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';
import { van } from '../../helpers/supplies.js';

const scenario = (what: string, require = 'last(soc(Bank)) >= 0 %'): string => `
  scenario S { from: 2027-07-15   duration: 4 h   soc(Bank): 40 %   ${what}
    require ${require}
  }`;
const outcome = async (what: string, require?: string) => {
  const { requirements, findings } = await analyseText(van({ more: scenario(what, require) }));
  const faults = findings.filter(({ check }) => /unknown-name|wrong-type|duplicate-name/.test(check));
  return { requirement: requirements[0]!, faults: faults.map(({ told }) => told) };
};
const energyFrom = (name: string) => `energy(${name}) >= 0.5 kWh`;

describe('what is plugged in while a scenario lasts', () => {
  it('is the supply that it names, by its source or its cord', async () => {
    for (const named of ['Post', 'PostCord']) {
      expect((await outcome(`plugged(Inlet): ${named}`, energyFrom('Post'))).requirement.holds).toBe(true);
      expect((await outcome(`plugged(Inlet): ${named}`, energyFrom('Wall'))).requirement.holds).toBe(false);
    }
    expect((await outcome('plugged(Inlet): Wall', energyFrom('Wall'))).requirement.holds).toBe(true);
  });

  it('is nothing where it says so', async () => {
    expect((await outcome('plugged(Inlet): nothing', 'unserved > 1 kWh')).requirement.holds).toBe(true);
  });

  it('is the only one that is not lost for good, and never guessed', async () => {
    const lost = 'lost(Post): always   lost(Wall): always   lost(Genset): 0 h .. 4 h';
    expect((await outcome(lost, energyFrom('Truck'))).requirement.holds).toBe(true);
    const { requirement } = await outcome('lost(Post): always');
    expect(requirement.holds).toBeUndefined();
    expect(requirement.undecided).toBe('missing what is plugged into Inlet in S (plugged(Inlet): WallCord)');
  });

  it('leaves the others away for the rules that ask for them', async () => {
    const more = `
  control Shed of Heater { off when lost(Post)   on when not lost(Post) }
  scenario S { from: 2027-07-15   duration: 4 h   soc(Bank): 40 %   plugged(Inlet): WHAT
    require shed > 1 kWh
  }`;
    const shed = async (what: string) =>
      (await analyseText(van({ more: more.replace('WHAT', what) }))).requirements[0]!.holds;
    expect(await shed('Wall')).toBe(true);
    expect(await shed('Post')).toBe(false);
  });

  it('has to lead to the inlet', async () => {
    const { requirement } = await outcome('plugged(Inlet): Feed');
    expect(requirement.holds).toBeUndefined();
    expect(requirement.undecided).toContain('Feed does not lead to Inlet');
  });

  it('is told where it is no inlet, no supply, or said twice', async () => {
    expect((await outcome('plugged(Panel): Post')).faults).toHaveLength(1);
    expect((await outcome('plugged(Inlet): Heater')).faults).toHaveLength(1);
    expect((await outcome('plugged(Inlet): Pots')).faults[0]).toContain('did you mean `Post`?');
    expect((await outcome('plugged(Inlet): Post   plugged(Inlet): Wall')).faults).toHaveLength(1);
  });
});
