import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import {
  type Analysis,
  CHECKS,
  callFunction,
  findFunction,
  numberIn,
  governingText,
} from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';
import { derivationOf, valueOf } from '../helpers/quantities.js';

interface PublishedSystem {
  readonly id: string;
  readonly file: string;
  readonly sources: readonly string[];
  readonly expectedFindings: readonly string[];
}

const { systems } = JSON.parse(readFileSync(path.join(import.meta.dirname, 'systems.json'), 'utf8')) as {
  readonly systems: readonly PublishedSystem[];
};
const textOf = (id: string): string =>
  readFileSync(path.join(import.meta.dirname, systems.find((system) => system.id === id)!.file), 'utf8');

/** One design of a file that holds several. */
const designOf = (id: string, name: string): string => {
  const text = textOf(id);
  const start = text.indexOf(`design ${name} `);
  const next = text.indexOf('\ndesign ', start + 1);
  return text.slice(start, next < 0 ? undefined : next);
};

/**
 * What becomes of each expectation a practitioner has of a published system: a finding, a question for what was not published, a number
 * that comes out, or no check of the catalogue that is built yet. The last kind fails as soon as such a check exists, so that none is
 * forgotten.
 */
type Outcome =
  | { readonly found: readonly [check: string, subject: string] }
  | { readonly asked: readonly [check: string, fact: string] }
  | { readonly number: string }
  | { readonly unbuilt: readonly string[] };

const OUTCOMES: Readonly<Record<string, readonly Outcome[]>> = {
  D1: [
    { asked: ['leg-balance', 'a load on L1 of InvL1'] },
    { found: ['bank-strings', 'Bank'] },
    { asked: ['neutral-bond', 'neutralBond of InvL1'] },
    { asked: ['start-on-sag', 'protectionLow of Bank'] },
  ],
  D2: [{ asked: ['generator-fuel', 'tank of Genset'] }, { asked: ['charge-current', 'Charger'] }],
  D3: [{ asked: ['generator-overload', 'of Charger'] }, { unbuilt: ['generator-light-load'] }],
  D4: [{ unbuilt: ['generator-light-load'] }, { asked: ['generator-overload', 'power of Offices'] }],
  D6: [{ asked: ['generator-fuel', 'tank of SetA'] }, { number: 'powerDemand' }],
  D7: [
    { asked: ['protection-continuous', 'of ControllerA'] },
    { asked: ['torque-missing', 'of ControllerA'] },
    { unbuilt: ['combustible-mounting'] },
  ],
  D8: [
    { asked: ['run-ampacity', 'size of ChargerWire'] },
    { unbuilt: ['parallel-return'] },
    // No device clears a fault in this wire: its heat is not a matter of time, and being unprotected says it all.
    { asked: ['run-unprotected', 'size of ChargerWire'] },
  ],
  D9: [{ found: ['charger-input', 'Inv'] }, { number: 'legDemand' }, { number: 'inputLimit' }],
  D10: [{ number: 'dailyEnergy' }, { number: 'totalPower' }, { unbuilt: ['growth-allowance'] }],
  D12: [{ number: 'usablePower' }, { asked: ['generator-overload', 'of Charger'] }],
  D13: [{ number: 'chargeCurrent' }],
  D14: [{ number: 'faultCurrent' }],
  D15: [{ number: 'legDemand' }],
  D16: [{ found: ['unlike-terminals', 'Microwave'] }, { asked: ['neutral-bond', 'neutralBond of Inv'] }],
  D17: [{ unbuilt: ['receptacle-unassigned'] }],
  D18: [{ asked: ['generator-starting', 'power of Terminal'] }, { asked: ['generator-fuel', 'tank of Set'] }],
  D20: [{ number: 'energy' }, { found: ['charge-current', 'Bank'] }],
};

const hasFinding = (analysis: Analysis, check: string, subject: string): boolean =>
  analysis.findings.some((finding) => finding.check === check && finding.subject.endsWith(`.${subject}`));

describe('publicly described systems', () => {
  it('each account for every expectation', () => {
    for (const { id, expectedFindings } of systems) expect(OUTCOMES[id], id).toHaveLength(expectedFindings.length);
  });

  it.each(systems)('$id $file: nothing that was not published is silently passed', async ({ id, sources }) => {
    expect(sources.length).toBeGreaterThan(0);
    const analysis = await analyseText(textOf(id));
    const errors = analysis.findings.filter(
      ({ check, severity }) =>
        severity === 'error' &&
        check !== 'unlike-terminals' &&
        CHECKS.find((each) => each.id === check)?.group === 'text',
    );
    expect(errors.map(({ told }) => told)).toEqual([]);
    for (const outcome of OUTCOMES[id]!) {
      if ('found' in outcome) expect(hasFinding(analysis, ...outcome.found), outcome.found.join()).toBe(true);
      if ('asked' in outcome) {
        const [check, fact] = outcome.asked;
        const asked = analysis.questions
          .filter((question) => question.check === check)
          .flatMap(({ missing }) => missing);
        expect(
          asked.some((each) => each.includes(fact)),
          `${check} asks for ${fact}: ${asked.join(', ')}`,
        ).toBe(true);
      }
      if ('unbuilt' in outcome)
        for (const check of outcome.unbuilt)
          expect(
            CHECKS.map(({ id: known }) => known),
            'this check is built now: say what it finds here',
          ).not.toContain(check);
    }
    // Every design of the file has a question or a finding: none was published whole.
    for (const { system } of analysis.designs) {
      const own = (subject: string): boolean => subject === system.name || subject.startsWith(`${system.name}.`);
      expect(
        analysis.questions.some(({ subject }) => own(subject)) || analysis.findings.some(({ subject }) => own(subject)),
        system.name,
      ).toBe(true);
    }
  });
});

describe('numbers of the published systems come out', () => {
  it('D1, polar programme camp page: twelve units of 12 V 100 Ah make 24 V, 600 Ah', async () => {
    expect(await valueOf(textOf('D1'), 'Bank', 'bankVoltage', 'V')).toBeCloseTo(24, 9);
    expect(await valueOf(textOf('D1'), 'Bank', 'bankCapacity', 'Ah')).toBeCloseTo(600, 9);
  });

  it('D6, dealer’s installation page: at most 40 % of a 50 kW set is asked for', async () => {
    const demand = (await valueOf(textOf('D6'), 'SetA', 'powerDemand', 'kW')) as number;
    const usable = (await valueOf(textOf('D6'), 'SetA', 'usablePower', 'kW')) as number;
    expect(demand / usable).toBeCloseTo(0.4, 9);
  });

  it('D9, vehicle electricity column: 240 A · 14.4 V / 0.88 / 120 V = 32.7 A, over 30 A and over 24 A', async () => {
    const shore = designOf('D9', 'RvShore');
    expect(await valueOf(shore, 'Shore', 'legDemand', 'A')).toBeCloseTo(32.73, 2);
    // At the low end of the supply, 5 % down, it is more: 34.4 A.
    expect(await valueOf(shore, 'Inv', 'inputCurrent', 'A')).toBeCloseTo(34.45, 2);
    const analysis = await analyseText(shore);
    expect(hasFinding(analysis, 'charger-input', 'Inv')).toBe(true);
    expect(hasFinding(analysis, 'plug-continuous', 'ShoreCord')).toBe(true);
  });

  it('D9: with its input limit lowered the vehicle takes 900 W, about 58 A at 13.6 V, and the set is not overloaded', async () => {
    const small = designOf('D9', 'RvGenerator');
    expect(await valueOf(small, 'Small', 'powerDemand', 'W')).toBeCloseTo(900, 9);
    expect(await valueOf(small, 'Small', 'legDemand', 'A')).toBeCloseTo(7.5, 9);
    expect((900 * 0.88) / 13.6).toBeCloseTo(58.2, 1);
    const analysis = await analyseText(small);
    expect(hasFinding(analysis, 'generator-overload', 'Small')).toBe(false);
    expect(analysis.questions.filter(({ check }) => check === 'generator-overload')).toEqual([]);
    // Without the limit the set would be asked for 3.9 kW.
    const unlimited = small.replace('inputLimit: 7.5 A', '');
    const [finding] = (await analyseText(unlimited)).findings.filter(({ check }) => check === 'generator-overload');
    expect(finding?.told).toContain('3.93 kW');
    expect(finding?.told).toContain('0.9 kW');
    // 900 W · 0.88 / 14.4 V.
    expect(finding?.fixes[0]?.title).toBe('Limit Inv to 55 A');
  });

  it('D10, load list of a clinic: 9.87 kWh a day, 3.91 kW together', async () => {
    const text = textOf('D10');
    const names = ['Lamps', 'Lights', 'Set', 'VaccineFridge', 'Autoclave'];
    let energy = 0;
    let power = 0;
    for (const name of names) {
      energy += (await valueOf(text, name, 'dailyEnergy', 'kWh')) as number;
      power += (await valueOf(text, name, 'totalPower', 'kW')) as number;
    }
    // The published total is 9.97 kWh with 0.9 rounded to 1 for the autoclave; duties in the text are rounded to five digits.
    expect(energy).toBeCloseTo(9.86, 2);
    expect(power).toBeCloseTo(3.91, 9);
  });

  it('D12, dealer’s design page: 0.88 of the rating is left at 4000 ft', async () => {
    // 3 % for each 305 m over 1219.2 m; the page takes 1000 ft steps of 304.8 m.
    const usable = (await valueOf(textOf('D12'), 'Genset', 'usablePower', 'W')) as number;
    expect(usable / 4000).toBeCloseTo(0.88, 3);
    // 2544 W / 0.75 of the charger is 3392 W: the 4 kW set gives 3520 W there.
    expect(usable).toBeGreaterThan(2544 / 0.75);
    const { requirements } = await analyseText(textOf('D12'));
    expect(requirements.map(({ holds }) => holds)).toEqual([true, true, true, true]);
  });

  it('D13, magazine on generator basics: C/13 of 2200 Ah is 169 A', async () => {
    expect(await valueOf(textOf('D13'), 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(2200 / 13, 0);
    expect(await valueOf(textOf('D13'), 'Bank', 'bankCapacity', 'Ah')).toBeCloseTo(2200, 9);
  });

  it('D14, expedition vehicle forum: 14 V over 3.75 mΩ is 3733 A; more where the cells stand at their highest voltage', async () => {
    const result = callFunction(findFunction('faultCurrent')!, {
      voltage: await derivationOf('design D { let volts = 14 V\n  battery B { voltage: 14 V } }', 'B', 'bankVoltage'),
      resistance: await derivationOf(designOf('D14', 'ShortCircuit'), 'Bank', 'bankResistance'),
    });
    expect(result.kind === 'known' && numberIn(result.derivation, 'A')).toBeCloseTo(3733.3, 1);
    // 4 · 3.65 V over 3.75 mΩ: the tool takes full cells.
    expect(await valueOf(designOf('D14', 'ShortCircuit'), 'Bank', 'faultCurrent', 'A')).toBeCloseTo(14600 / 3.75, 6);
  });

  it('D15, transformer manual: 30 A and 10 A on the legs leave 4.8 of 7.2 kVA', async () => {
    expect(await valueOf(textOf('D15'), 'Supply', 'legDemand', 'A')).toBeCloseTo(30, 9);
    expect(governingText(await derivationOf(textOf('D15'), 'Supply', 'legDemand'))).toContain('leg L1');
    const usable = (await valueOf(textOf('D15'), 'Supply', 'apparentDemand', 'kVA')) as number;
    expect(usable).toBeCloseTo(4.8, 9);
    expect(usable / ((30 * 240) / 1000)).toBeCloseTo(0.667, 3);
  });

  it('D20, expedition blog: 528 Wh of gel, half of it usable, 1.8 h at 150 W', async () => {
    const energy = (await valueOf(textOf('D20'), 'Bank', 'energy', 'Wh')) as number;
    expect(energy).toBeCloseTo(528, 9);
    expect((energy * 0.5) / 150).toBeCloseTo(1.76, 9);
    // The source counts the modules at 14.4 V: 10.4 A, 0.24 C. At nominal voltage they could give 12.5 A.
    expect(await valueOf(textOf('D20'), 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(12.5, 9);
  });
});
