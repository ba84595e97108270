import { describe, expect, it } from 'vitest';
import { type Analysis, type Scenario, displayValue, signalKey } from '../../../language/src/index.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

const design = (scenario: string, more = ''): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  grid Mains { voltage: 230 V }
  battery Bank { voltage: 51.2 V   capacity: ? }
  load Pump { power: 500 W   profile: { 07:00..08:00: 100 % } }
  link Wire: Bank -> Genset { medium: rs485 }
  scenario S "A winter week" { ${scenario} }
}
${more}`;

const scenarioOf = ({ designs }: Analysis, index = 0): Scenario => designs[index]!.system.scenarios[0]!;

/** What is wrong with the text; what other checks find is not the matter here. */
const TEXT = ['syntax-error', 'unknown-name', 'duplicate-name', 'wrong-dimension', 'wrong-type', 'value-out-of-range'];
const faults = ({ findings }: Analysis): string[] =>
  findings.filter(({ check }) => TEXT.includes(check)).map(({ check, message }) => `${check}: ${message}`);

const HOUR = 3600;
const DAY = 24 * HOUR;

describe('scenarios', () => {
  it('carry their span, random numbers, sun and weather', async () => {
    const analysis = await analyseText(
      design(
        'from: 2027-01-10   at: 18:30   duration: 5 d   runs: 200   seed: 7   sun: months   weather: "winter.csv"',
      ),
    );
    expect(faults(analysis)).toEqual([]);
    expect(scenarioOf(analysis)).toMatchObject({
      start: { date: '2027-01-10', timeOfDay: 18.5 * HOUR },
      duration: 5 * DAY,
      runs: 200,
      seed: 7,
      sun: 'months',
      weather: 'winter.csv',
      missing: [],
    });
  });

  it('start at midnight, are played once and with the same random numbers unless they say so', async () => {
    const scenario = scenarioOf(await analyseText(design('')));
    expect(scenario).toMatchObject({
      start: { timeOfDay: 0 },
      runs: 1,
      seed: 1,
      initial: [],
      absences: [],
      profiles: [],
    });
    expect([scenario.start.date, scenario.duration, scenario.sun, scenario.weather]).toEqual([
      undefined,
      undefined,
      undefined,
      undefined,
    ]);
  });

  it('carry what holds at their start', async () => {
    const scenario = scenarioOf(await analyseText(design('soc(Bank): assumed 90 %   temperature(Bank): 12 degC')));
    expect(
      scenario.initial.map(({ signal, value }) => `${signalKey(signal)} ${displayValue(value)} ${value.origin}`),
    ).toEqual(['soc(Bank) 90 % assumed', 'temperature(Bank) 12 degC stated']);
  });

  it('carry what is lost and when, and how loads run', async () => {
    const text = design(
      'duration: 5 d   lost(Mains): 6 h .. 30 h, 50 h .. 54 h   lost(Wire): 0 h .. 5 d   lost(Genset): always   profile(Pump): { 22:00..02:00: 50 % }',
    );
    const analysis = await analyseText(text);
    expect(faults(analysis)).toEqual([]);
    const { absences, profiles } = scenarioOf(analysis);
    expect(absences.map(({ of, from, to }) => [of.name, from, to])).toEqual([
      ['Mains', 6 * HOUR, 30 * HOUR],
      ['Mains', 50 * HOUR, 54 * HOUR],
      ['Wire', 0, 5 * DAY],
      ['Genset', 0, Number.POSITIVE_INFINITY],
    ]);
    expect(text.slice(absences[1]!.place.offset, absences[1]!.place.end)).toBe('50 h .. 54 h');
    expect(profiles.map(({ load, windows }) => [load.name, windows[0]!.from, windows[0]!.to])).toEqual([
      ['Pump', 22 * HOUR, 26 * HOUR],
    ]);
  });

  it('take over the changes of a variant', async () => {
    const analysis = await analyseText(design('duration: 5 d', 'variant V of D { S.duration = 3 d }'));
    expect([scenarioOf(analysis).duration, scenarioOf(analysis, 1).duration]).toEqual([5 * DAY, 3 * DAY]);
  });

  it('name the facts they rest on when these lack', async () => {
    const { missing, initial, duration } = scenarioOf(
      await analyseText(design('duration: Bank.capacity / 10 A   soc(Bank): 5 Ah / Bank.capacity')),
    );
    expect(missing).toEqual(['capacity of Bank']);
    expect([initial, duration]).toEqual([[], undefined]);
  });

  it.each([
    ['soc(Genset): 90 %', 'wrong-type', 'Genset'],
    ['soc(Bank): 90', 'wrong-dimension', '90'],
    ['soc(Bank): 110 %', 'wrong-dimension', '110 %'],
    ['soc(Bank): -10 %', 'value-out-of-range', '-10 %'],
    ['soc(Bank): 90 V', 'wrong-dimension', '90 V'],
    ['soc(Bank): 90 %, 80 %', 'wrong-type', '80 %'],
    ['soc(Bank): 90 %   soc(Bank): 80 %', 'duplicate-name', 'soc(Bank)'],
    ['soc(): 90 %', 'wrong-type', 'soc()'],
    ['runTime(Genset): 5 h', 'unknown-name', 'runTime(Genset)'],
    ['lost(Bank): 6 h .. 30 h', 'wrong-type', 'Bank'],
    ['lost(Mian): 6 h .. 30 h', 'unknown-name', 'Mian'],
    ['lost(Mains): 6 h', 'wrong-type', '6 h'],
    ['lost(Mains): 06:00..12:00', 'wrong-type', '06:00..12:00'],
    ['lost(Mains): 6 h .. 6 h', 'value-out-of-range', '6 h .. 6 h'],
    ['lost(Mains): -1 h .. 6 h', 'value-out-of-range', '-1 h .. 6 h'],
    ['lost(Mains): 6 V .. 7 V', 'wrong-type', '6 V .. 7 V'],
    ['lost(Mains): 6 h .. 30 h, 29 h .. 31 h', 'value-out-of-range', '29 h .. 31 h'],
    ['require soc(Pump) > 40 %', 'wrong-type', 'soc(Pump)'],
    ['require lost(Mains)', 'wrong-type', 'lost(Mains)'],
    ['profile(Bank): always', 'wrong-type', 'Bank'],
    ['profile(Pump): sometimes', 'unknown-name', 'sometimes'],
    ['profile(Pump): always   profile(Pump): always', 'duplicate-name', 'profile(Pump)'],
  ])('say what is wrong: %s', async (text, check, place) => {
    const all = design(text);
    const analysis = await analyseText(all);
    expect(faults(analysis)).toHaveLength(1);
    const [found] = findingsOf(analysis, check);
    expect(all.slice(found!.place.offset, found!.place.end)).toBe(place);
  });

  it('may have spans that touch', async () => {
    expect(faults(await analyseText(design('lost(Mains): 6 h .. 30 h, 30 h .. 31 h')))).toEqual([]);
  });
});
