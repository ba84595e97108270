import { describe, expect, test } from 'vitest';
import {
  type Derivation,
  type Reason,
  becauseOf,
  boundOf,
  derive,
  otherReasons,
  reasonOf,
} from '../../../language/src/derivation/index.js';
import {
  governedBy,
  governedInBrackets,
  governingText,
  reasonText,
} from '../../../language/src/glossary/reason-text.js';
import { quantity } from '../../../language/src/quantity/index.js';

const TEXTS: readonly (readonly [Reason, string])[] = [
  [{ kind: 'bound', bound: 'setting', subject: 'Charger' }, ''],
  [{ kind: 'bound', bound: 'power', subject: 'Charger' }, 'its power limit'],
  [
    { kind: 'bound', bound: 'inputSetting', subject: 'Charger', lessPassed: true },
    'its input limit, less the loads it passes through',
  ],
  [{ kind: 'state', id: 'Genset', title: 'Genset running' }, 'with Genset running'],
  [
    {
      kind: 'corner',
      ends: [
        { fact: 'voltage', subject: 'voltage of Bank', end: 'low', value: quantity(10.5, 'V') },
        { fact: 'ambient', subject: 'ambient', end: 'high', value: quantity(42, 'degC') },
      ],
    },
    'at voltage 10.5 V, ambient 42 degC',
  ],
  [{ kind: 'clause', clause: 'nextRatingAbove' }, 'NEC 240.4(B): next standard rating above the ampacity'],
  [{ kind: 'clause', clause: 'smallConductors' }, 'NEC 240.4(D), small conductors'],
  [{ kind: 'clause', clause: 'standardRating' }, 'the ampacity is a standard rating'],
  [{ kind: 'clause', clause: 'earthRaised' }, '250.122(B): raised with the phases'],
  [{ kind: 'timeOfDay', seconds: 6.5 * 3600 }, 'at 06:30'],
  [{ kind: 'month', month: 12 }, 'December'],
  [{ kind: 'moment', seconds: 26 * 3600 }, '1 d 2 h after the start'],
  [{ kind: 'start', load: 'Pump' }, 'start of Pump'],
  [{ kind: 'cellTemperature', celsius: -5 }, 'cells at -5 °C'],
  [{ kind: 'setPoint', subject: 'Charger', property: 'absorb' }, 'absorb of Charger'],
  [{ kind: 'setPoint', subject: 'Dynamo', property: undefined }, 'nominal voltage'],
  [
    { kind: 'ratedOutput', inverters: ['A', 'B'], heldTo: quantity(40, 'A') },
    'rated output of A and B, held to 40 A by the device in the run',
  ],
  [{ kind: 'deficit', amperes: 0 }, 'the loads draw all the chargers give'],
  [{ kind: 'deficit', amperes: 40 }, 'the loads draw 40 A more than the chargers give: the bank is discharged'],
  [
    { kind: 'smallerSize', size: '4 AWG', shortfall: { what: 'device', has: 90, wants: 100, rule: 'smallConductor' } },
    '4 AWG: largest device 90 A is below the one the load needs, 100 A (NEC 240.4(D))',
  ],
  [
    { kind: 'terminalLimit', cell: { size: '10 AWG', metal: 'copper', celsius: 60 }, conductor: 40 },
    'what its terminals allow (10 AWG copper, 60 degC column); the conductor alone has 40 A',
  ],
  [
    { kind: 'largestReduction', factor: 'altitude factor', value: quantity(0.75325, '') },
    'altitude factor 0.753 is the largest reduction',
  ],
];

describe('words of reasons', () => {
  test.each(TEXTS)('%j', (reason, text) => {
    expect(reasonText(reason)).toBe(text);
  });

  test('go on in a sentence in the order of the reasons, without those that need no remark', () => {
    const governed: Derivation = derive('current', 20, 'A', {
      governing: [
        { kind: 'state', id: 'Grid', title: 'Grid' },
        { kind: 'bound', bound: 'rating', subject: 'Charger' },
        { kind: 'leg', leg: 'L2' },
      ],
    });
    expect(governingText(governed)).toBe('with Grid; leg L2');
    expect(governedBy(governed)).toBe(', with Grid; leg L2');
    expect(governedInBrackets(governed)).toBe(' (with Grid; leg L2)');
    expect(governedBy({ governing: [{ kind: 'bound', bound: 'rating', subject: 'Charger' }] })).toBe('');
    expect(governingText({})).toBeUndefined();
  });
});

describe('reasons as data', () => {
  const bound = { kind: 'bound', bound: 'supply', subject: 'Charger' } as const;
  const leg = { kind: 'leg', leg: 'L1' } as const;

  test('are asked by their kind', () => {
    expect(reasonOf({ governing: [leg, bound] }, 'bound')?.subject).toBe('Charger');
    expect(boundOf({ governing: [leg, bound] })).toBe('supply');
    expect(boundOf({ governing: [leg] })).toBeUndefined();
    expect(otherReasons({ governing: [leg, bound] }, 'leg')).toEqual([bound]);
  });

  test('are put ahead of others, and nothing is said where there are none', () => {
    expect(becauseOf({ governing: [bound] }, leg)).toEqual({ governing: [leg, bound] });
    expect(becauseOf({})).toEqual({});
    expect(derive('current', 1, 'A', { governing: [] })).not.toHaveProperty('governing');
  });
});
