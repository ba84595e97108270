import { describe, expect, it } from 'vitest';
import { KINDS_SPOKEN_OF } from '../../../language/src/equipment/other-names.js';
import { ALL_KINDS, kindsMeant } from '../../../language/src/equipment/index.js';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

/** An invented hut, with places for slips; `Fan` stands behind all of them and has a slip of its own, which must still be found. */
const hut = ({
  rule = 'off when soc(Bank) < 30 %',
  lamp = '{ power: 100 W   profile: always }',
  control = 'control Cut of Lamp',
  feed = 'run Feed: Bank -> Inv.dc { size: 50 mm2   length: 2 m }',
  scenario = 'require unserved == 0 kWh',
  variant = 'Lamp.power = 50 W',
} = {}): string => `design Hut {
  grid Mains { voltage: 230 V   rating: 16 A }
  inverter Inv { rated: 3 kW   voltage: 230 V   dcVoltage: 40..60 V }
  battery Bank : Lfp48V280Ah
  load Lamp ${lamp}
  ${control} {
    ${rule}
    on when soc(Bank) > 50 %
  }
  ${feed}
  scenario Night {
    from: 2027-01-10   duration: 1 d   soc(Bank): 90 %
    ${scenario}
  }
  load Fan { pwer: 20 W }
}
variant Big of Hut {
  ${variant}
}
variant Last of Hut { Fan.pwr = 1 W }
`;

const TEXT_CHECKS = [
  'syntax-error',
  'unknown-name',
  'wrong-type',
  'wrong-dimension',
  'value-out-of-range',
  'duplicate-name',
];

/** What is said of the text, the slips of `Fan` aside: those are asked for. */
async function said(text: string): Promise<{ told: string[]; fan: number }> {
  const { findings } = await analyseText(text);
  const ofText = findings.filter(({ check }) => TEXT_CHECKS.includes(check));
  const fan = ofText.filter(({ headline }) => /`pwe?r`/.test(headline)).length;
  const told = ofText
    .filter(({ headline }) => !/`pwe?r`/.test(headline))
    .map(({ check, headline }) => `${check}: ${headline}`);
  return { told, fan };
}

describe('one slip is one message, and what stands behind it is understood', () => {
  it.each([
    ['a rule without its `when`', { rule: 'off wen soc(Bank) < 30 %' }, 'syntax-error: `off` does not fit here'],
    ['a bracket of a call left open', { rule: 'off when soc(Bank < 30 %' }, 'wrong-type: What stands after `when`'],
    ['a body left open', { lamp: '{ power: 100 W   profile: always' }, 'syntax-error: `}` is missing before `control`'],
    [
      'a body left open before another thing',
      { control: 'load Pump { power: 1 kW\n  load Heater { power: 2 kW }\n  control Cut of Lamp' },
      'syntax-error: `}` is missing before `load`',
    ],
    ['a bracket too many', { lamp: '{ power: 100 W } }' }, 'syntax-error: `}` does not belong here'],
    ['an arrow cut short', { feed: 'run Feed: Bank > Inv.dc { size: 50 mm2 }' }, 'wrong-type: Run Feed must be a path'],
    ['a table row without its colon', { lamp: '{ profile: { 07:00..08:00 100 % } }' }, 'syntax-error: `:` is missing'],
    [
      'a single equals sign',
      { scenario: 'require unserved = 0 kWh' },
      'syntax-error: `=` compares nothing: write `==`',
    ],
    ['a variant with a colon', { variant: 'Lamp.power: 50 W' }, 'syntax-error: `=` is missing before `:`'],
    ['a variant without a sign', { variant: 'Lamp.power 50 W' }, 'syntax-error: `=` is missing before `50 W`'],
    ['a variant that opens a body', { variant: 'Lamp { power: 50 W }' }, 'wrong-type: What a variant changes'],
    ['a variant that names no thing', { variant: 'power = 50 W, count = 2' }, 'wrong-type: What a variant changes'],
    [
      'a variant that adds without saying so',
      { variant: 'run B: Bank -> Inv.dc { size: 4 mm2 }' },
      'syntax-error: A variant adds things with `add`',
    ],
  ])('%s', async (_, slip, message) => {
    const { told, fan } = await said(hut(slip));
    expect(told).toHaveLength(1);
    expect(told[0]).toContain(message);
    // Once in the design and once in its last variant.
    expect(fan).toBe(2);
  });

  it('several slips far from each other are several messages', async () => {
    const { told } = await said(hut({ rule: 'off wen soc(Bank) < 30 %', variant: 'Lamp.power: 50 W' }));
    expect(told).toHaveLength(2);
  });

  it('nothing is said of the text without a slip', async () => {
    expect((await said(hut())).told).toEqual([]);
  });
});

describe('what was nearly right is proposed', () => {
  it('a terminal that a thing has once it says so', async () => {
    const text = hut({ feed: 'run Feed: Mains -> Inv.input { size: 4 mm2 }' });
    const [finding] = findingsOf(await analyseText(text), 'unknown-name').filter(({ headline }) =>
      headline.includes('input'),
    );
    expect(finding?.why).toBe('it has one with `passThrough: yes`');
    const fixed = applyFix(text, finding!.fixes[0]!);
    expect(fixed).toContain('passThrough: yes');
    expect((await said(fixed)).told).toEqual([]);
  });

  it('a kind by another word', async () => {
    const [finding] = findingsOf(await analyseText('design D { watermill Mill { } }'), 'unknown-name');
    expect(finding?.why).toBe('did you mean `hydro`?');
    for (const [kind, others] of KINDS_SPOKEN_OF) {
      expect(ALL_KINDS.map((each) => each.kind)).toContain(kind);
      for (const other of others) {
        expect(ALL_KINDS.map((each) => each.kind)).not.toContain(other);
        expect(kindsMeant(other)).toEqual([kind]);
      }
    }
  });

  it('a control has its label where other things have theirs, or behind what it commands', async () => {
    expect((await said(hut({ control: 'control Cut "Cut the lamp" of Lamp' }))).told).toEqual([]);
    expect((await said(hut({ control: 'control Cut of Lamp "Cut the lamp"' }))).told).toEqual([]);
  });

  it('a whole table is assumed', async () => {
    const text = 'design D { site { latitude: 46 deg   clearness: assumed { 1: 0.4, 6: 0.5, 12: 0.3 } } }';
    expect((await said(text)).told).toEqual([]);
  });
});
