import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Analysis } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

/** What the conductors of a run are judged by. */
const CHECKS = [
  'run-ampacity',
  'run-protection',
  'run-unprotected',
  'terminal-temperature',
  'voltage-drop',
  'protection-coordination',
  'parallel-runs',
  'place-along-run',
];

const SIZES = {
  nec: ['14 AWG', '10 AWG', '6 AWG', '3 AWG', '1 AWG', '1/0 AWG', '3/0 AWG', '250 kcmil', '500 kcmil'],
  iec: ['1.5 mm2', '4 mm2', '10 mm2', '25 mm2', '50 mm2', '95 mm2', '120 mm2'],
  craft: ['16 AWG', '12 AWG', '8 AWG', '4 AWG', '1 AWG', '2/0 AWG', '4/0 AWG'],
} as const;
const TYPES = {
  nec: ['THHN', 'NM-B', 'TW'],
  iec: ['H07V-R', 'PowerXlpe90'],
  craft: ['CraftPrimary105', 'GPT'],
} as const;
type Practice = keyof typeof SIZES;

interface Drawn {
  readonly practice: Practice;
  readonly isDirect: boolean;
  readonly size: number;
  readonly length: number;
  readonly load: number;
  readonly rating: number;
  readonly at: number;
  /** Facts of the run that may be left out. */
  readonly facts: readonly string[];
  readonly use: string;
}

const drawn: fc.Arbitrary<Drawn> = fc.constantFrom<Practice>('nec', 'iec', 'craft').chain((practice) =>
  fc.record({
    practice: fc.constant(practice),
    isDirect: fc.boolean(),
    size: fc.nat(SIZES[practice].length - 2),
    length: fc.constantFrom(1, 4, 9, 30),
    load: fc.constantFrom(5, 16, 28, 50, 70, 120, 200),
    rating: fc.constantFrom(16, 20, 32, 50, 63, 100, 125, 200, 250),
    at: fc.constantFrom(0.1, 0.9, 1.5, 2.9, 6),
    facts: fc
      .tuple(
        fc.constantFrom(...TYPES[practice]).map((type) => `type: ${type}`),
        // Under iec and craft terminals limit only where the design says so: leaving that out is meant to be lenient.
        practice === 'nec' ? fc.constantFrom('', 'terminals: 60 degC', 'terminals: 75 degC') : fc.constant(''),
        fc.constantFrom('', 'raceway: steel', 'raceway: pvc'),
        fc.constantFrom('', 'enclosed: yes', 'enclosed: no'),
        fc.constantFrom('', 'shortCircuitProof: yes', 'shortCircuitProof: no'),
      )
      .map((facts) => facts.filter((fact) => fact !== '')),
    use: fc.constantFrom('', 'use: navigation-lights', 'use: other'),
  }),
);

function textOf({ practice, isDirect, size, length, load, rating, at, facts, use }: Drawn, more = 0): string {
  const source = isDirect
    ? 'battery Bank { voltage: 24 V   shortCircuitCurrent: 3 kA   chargeLimit: 28 V   protectionLow: 24 V }'
    : 'grid Bank { voltage: 240 V   rating: 400 A   neutralBond: bonded }';
  const volts = isDirect ? 24 : 240;
  const place = isDirect ? ` @ ${Math.min(at, length)} m` : '';
  return `design D {
  basis: ${practice}
  site { ambient: 0..30 degC }
  ${source}
  fuse F1 { rating: ${rating} A   dcVoltage: 125 V   acVoltage: 300 V   interruptRating: 20 kA }
  load Load { power: ${load * volts} W   supply: ${isDirect ? 'dc' : 'ac'}   continuous: no   ${use} }
  run Line: Bank -> F1${place} -> Load { size: ${SIZES[practice][size + more]}   length: ${length} m   ${facts.join('   ')} }
}
`;
}

/**
 * The kinds of findings that a design shows. How surely a device opens in time is judged only where its rating holds at all: there the
 * milder finding takes the place of the worse one and is no other kind.
 */
function told(analysis: Analysis): string[] {
  const shown = CHECKS.filter((check) => findingsOf(analysis, check).length > 0);
  return shown.includes('run-protection') ? [...shown, 'protection-coordination'] : shown;
}
const isSilent = (analysis: Analysis): boolean =>
  CHECKS.every((check) => findingsOf(analysis, check).length === 0 && askedBy(analysis, check).length === 0);

const RUNS = { numRuns: 40 };

describe('trust in what is said of a run', () => {
  it('a larger size never brings a finding of a kind that was not there', async () => {
    await fc.assert(
      fc.asyncProperty(drawn, async (design) => {
        const before = told(await analyseText(textOf(design)));
        const after = told(await analyseText(textOf(design, 1)));
        expect(after.filter((check) => !before.includes(check))).toEqual([]);
      }),
      RUNS,
    );
  });

  it('a shorter run never brings a finding of a kind that was not there', async () => {
    await fc.assert(
      fc.asyncProperty(drawn, async (design) => {
        const shorter = { ...design, length: design.length / 2, at: Math.min(design.at, design.length) / 2 };
        const before = told(await analyseText(textOf({ ...design, at: Math.min(design.at, design.length) })));
        const after = told(await analyseText(textOf(shorter)));
        expect(after.filter((check) => !before.includes(check))).toEqual([]);
      }),
      RUNS,
    );
  });

  it('a fact that is left out never makes silence of a finding or of a question', async () => {
    await fc.assert(
      fc.asyncProperty(drawn, fc.nat(9), async (design, pick) => {
        // What is better than nothing may be left out for the worse alone: those say so by `yes`.
        const facts = [...design.facts, ...(design.use ? [design.use] : [])];
        const left = facts[pick % facts.length]!;
        const without = {
          ...design,
          facts: design.facts.filter((fact) => fact !== left),
          use: left === design.use ? '' : design.use,
        };
        const before = await analyseText(textOf(design));
        const after = await analyseText(textOf(without));
        expect(isSilent(after) && !isSilent(before), `${left} left out of\n${textOf(design)}`).toBe(false);
      }),
      { numRuns: 80 },
    );
  });

  it('a size or a length that is left out is asked for', async () => {
    await fc.assert(
      fc.asyncProperty(drawn, fc.constantFrom(/size: \S+ \S+/, /length: \S+ m/), async (design, fact) => {
        expect(isSilent(await analyseText(textOf(design).replace(fact, '')))).toBe(false);
      }),
      { numRuns: 20 },
    );
  });
});

// NEC Table 310.16, 2/0 AWG copper: 145 A at 60 °C, 175 A at 75 °C, 195 A at 90 °C; terminals above 100 A count as 75 °C.
describe('conductors of no stated type', () => {
  const hut = (load: number, facts: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: 150 A   neutralBond: bonded }
  load Heater { power: ${load * 240} W   continuous: no }
  run Line: Mains -> Heater { size: 2/0 AWG   length: 3 m   ${facts} }
}
`;
  it('are asked about where insulation for less would not do', async () => {
    const outcome = async (load: number, facts: string): Promise<string[]> => {
      const analysis = await analyseText(hut(load, facts));
      return [
        ...findingsOf(analysis, 'run-ampacity').map(({ check }) => check),
        ...askedBy(analysis, 'run-ampacity').map((fact) => fact.split(' ')[0]!),
      ];
    };
    expect(await outcome(145, '')).toEqual([]);
    expect(await outcome(146, '')).toEqual(['type']);
    expect(await outcome(146, 'type: THWN')).toEqual([]);
    expect(await outcome(146, 'type: TW')).toEqual(['run-ampacity']);
    expect(await outcome(196, '')).toEqual(['run-ampacity']);
  });
});
