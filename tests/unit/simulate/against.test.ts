import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type ScenarioResult, type Stretch, compareLog, csvRows, readLog } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/** Invented. */
const HUT = `
design Hut {
  basis: iec
  site { timeZone: "Europe/Zurich" }
  generator Genset { rated: 3 kW   voltage: 230 V   fuel: petrol   fuelUse: { 50 %: 1 L/h, 100 %: 1.6 L/h } }
  charger Rect { currentLimit: 60 A   absorb: 28.4 V   float: 27.2 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah   resistance: 4 mohm }
  inverter Inv { rated: 1 kW   voltage: 230 V   efficiency: 90 %   dcVoltage: 20..32 V }
  bus Bar { rating: 200 A }
  load Lamp { power: 200 W   voltage: 230 V   profile: always }
  run Line: Genset -> Rect.ac { size: 2.5 mm2   length: 5 m }
  run Charge: Rect.dc -> Bar { size: 16 mm2   length: 1 m }
  run Feed: Bank -> Bar { size: 35 mm2   length: 1 m }
  run InvFeed: Bar -> Inv.dc { size: 35 mm2   length: 1 m }
  run Out: Inv.ac -> Lamp { size: 1.5 mm2   length: 5 m }
  control Auto of Genset { start when soc(Bank) < 40 %
    stop when soc(Bank) > 80 % }
  scenario Days {
    from: 2027-03-27   duration: 2 d   soc(Bank): 70 %   sun: none
    require unserved == 0 kWh
    reading runTime(Genset) = 10 h on 2027-03-29 "hour meter"
    reading unserved = 0 kWh
  }
}
`;

const analysed = (async () => {
  const analysis = await analyseText({ 'hut.watt': HUT });
  const [scenario] = analysis.scenarios;
  if (scenario?.played.kind !== 'played') throw new Error(JSON.stringify(scenario?.played));
  return { analysis, result: scenario.played.result };
})();

const clockOf = ({ start }: ScenarioResult) => ({ start });

describe('readings of a scenario', () => {
  test('stand beside what was simulated, with the error, and are no findings', async () => {
    const { analysis, result } = await analysed;
    const [hours, unserved] = analysis.outcomes;
    const simulated = result.totals[0]!.runTime.get('Genset')!;
    expect(hours!.error).toBeCloseTo(simulated / 36_000 - 1, 9);
    expect(hours!.outcome).toMatchObject({ text: 'runTime(Genset)', date: '2027-03-29', note: 'hour meter' });
    expect(unserved!.error).toBeUndefined();
    expect(unserved!.simulated).toBeDefined();
    expect(analysis.findings.filter(({ check }) => /reading|requirement/.test(check))).toEqual([]);
  });

  test.each([
    ['reading runTime(Genset) = 10 kWh', 'duration'],
    ['reading runTime(Gen) = 10 h', 'Gen'],
    ['reading soc(Bank) = 50 %', 'one number of the whole time'],
  ])('what is wrong with one is told: %s', async (line, told) => {
    const { findings } = await analyseText({ 'hut.watt': HUT.replace('reading unserved = 0 kWh', line) });
    expect(
      findings
        .filter(({ severity }) => severity === 'error')
        .map(({ message }) => message)
        .join(),
    ).toContain(told);
  });
});

describe('a log', () => {
  test('that `simulate --csv` has written itself is off by nothing', async () => {
    const { result } = await analysed;
    const read = readLog([...csvRows(result, 300)].join(''), clockOf(result));
    if ('reason' in read) throw new Error(read.reason);
    const compared = compareLog(result, read.log);
    if ('reason' in compared) throw new Error(compared.reason);
    const { columns, sums, gaps, covered } = compared.against;
    expect(columns.map(({ name }) => name)).toContain('soc(Bank)');
    for (const { name, figures } of columns) expect(figures.rootMeanSquare, name).toBeLessThan(1e-5);
    expect(gaps).toEqual([]);
    expect(covered).toBe(2 * 86_400);
    const energy = sums.find(({ what, of }) => what === 'energy' && of === 'Lamp')!;
    // 200 W for two days.
    expect(energy.simulated / 3.6e6).toBeCloseTo(9.6, 6);
    expect(energy.measured / 3.6e6).toBeCloseTo(9.6, 6);
  });

  test('that is off by a constant has it as its mean error, in the unit of its heading', async () => {
    const { result } = await analysed;
    const clock = Array.from({ length: 48 }, (_, hour) =>
      new Date(Date.UTC(2027, 2, 27, hour)).toISOString().slice(0, 16),
    );
    const rows = clock.map((time) => `${time},0.15`);
    const read = readLog(['time,power(Lamp) kW', ...rows].join('\n'), clockOf(result));
    const compared = 'log' in read ? compareLog(result, read.log) : read;
    if (!('against' in compared)) throw new Error(compared.reason);
    const { figures } = compared.against.columns[0]!;
    expect(figures.bias).toBeCloseTo(50, 6);
    expect(figures.rootMeanSquare).toBeCloseTo(50, 6);
  });

  test('counts nothing over its gaps', async () => {
    const { result } = await analysed;
    await fc.assert(
      fc.asyncProperty(
        fc.uniqueArray(fc.integer({ min: 1, max: 46 }), { minLength: 5, maxLength: 30 }),
        async (missing) => {
          const hours = Array.from({ length: 49 }, (_, hour) => hour).filter((hour) => !missing.includes(hour));
          const rows = hours.map((hour) => `${new Date(Date.UTC(2027, 2, 27, hour)).toISOString().slice(0, 16)},200`);
          const read = readLog(['time,power(Lamp) W', ...rows].join('\n'), clockOf(result));
          const compared = 'log' in read ? compareLog(result, read.log) : read;
          if (!('against' in compared)) throw new Error(compared.reason);
          const { gaps, covered, sums } = compared.against;
          const inGaps = gaps.reduce((sum: number, { from, to }: Stretch) => sum + to - from, 0);
          expect(covered + inGaps).toBeCloseTo(2 * 86_400, 6);
          // 200 W over what is covered, on both sides.
          expect(sums[0]!.measured).toBeCloseTo(200 * covered, 3);
          expect(sums[0]!.simulated).toBeCloseTo(200 * covered, 3);
        },
      ),
      { numRuns: 40 },
    );
  });

  test('is brought to the clock of the site by its offset, over the night in which that is put forward', async () => {
    const { result } = await analysed;
    const clock = { ...clockOf(result), beforeGreenwich: 3600 };
    const read = readLog(
      'time,soc(Bank) %\n2027-03-26T23:00Z,70\n2027-03-28T03:00+02:00,50\n2027-03-28T04:00:30+0200,40\n',
      clock,
    );
    if ('reason' in read) throw new Error(read.reason);
    // 23:00 in Greenwich is midnight in Zurich; 03:00 of summer time is 01:00 in Greenwich, 26 h later.
    expect([...read.log.time]).toEqual([0, 26 * 3600, 27 * 3600 + 30]);
    expect([...read.log.columns[0]!.values]).toEqual([0.7, 0.5, 0.4]);
    const late = readLog('time,soc(Bank)\n2027-03-27T00:01:30,0.7\n2027-03-27T01:01:30,0.6\n', { ...clock, ahead: 90 });
    expect('log' in late && [...late.log.time]).toEqual([0, 3600]);
  });

  test.each([
    ['power(Lamp) W\n1\n2', 'its first line names no column `time`'],
    ['time,lamp\n2027-03-27T00:00,1\n2027-03-27T01:00,1', 'no column is named as a signal'],
    ['time,power(Lamp)\n2027-03-27T00:00,1\n2027-03-27T01:00,1', 'there is no unit in the heading'],
    ['time,power(Lamp) V\n2027-03-27T00:00,1\n2027-03-27T01:00,1', '`V` is no unit of'],
    ['time,power(Lamp) W\n2027-03-27T00:00,1', 'fewer than two rows'],
    ['time,power(Lamp) W\n27.3.2027,1\n2027-03-27T01:00,1', 'line 2: `27.3.2027` is no time'],
    ['time,power(Lamp) W\n2027-03-27T01:00,1\n2027-03-27T00:30,1', 'line 3: its time is not after the one before'],
    ['time,power(Lamp) W\n2027-03-27T01:00,1\n2027-03-27T02:00,much', 'line 3: `much` of power(Lamp) is no number'],
    ['time,power(Lamp) W\n2027-03-27T01:00Z,1\n2027-03-27T02:00Z,1', 'the site states no `timeZone`'],
    ['time,power(Lamp) W,power(Lamp) kW\n2027-03-27T01:00,1,1\n2027-03-27T02:00,1,1', 'power(Lamp) has two columns'],
  ])('that cannot be read says why: %j', async (text, reason) => {
    const { result } = await analysed;
    const read = readLog(text, clockOf(result));
    expect('reason' in read && read.reason).toContain(reason);
  });

  test('of another year or of other things is refused', async () => {
    const { result } = await analysed;
    const reasonOf = (text: string): string => {
      const read = readLog(text, clockOf(result));
      const compared = 'log' in read ? compareLog(result, read.log) : read;
      return 'reason' in compared ? compared.reason : '';
    };
    expect(reasonOf('time,power(Lamp) W\n2026-03-27T00:00,1\n2026-03-27T01:00,1')).toContain(
      'fewer than two of its rows lie',
    );
    expect(reasonOf('time,power(Stove) W\n2027-03-27T00:00,1\n2027-03-27T01:00,1')).toContain(
      'power(Stove) is no signal of the scenario',
    );
  });
});

describe('logs as loggers and table programs write them', () => {
  const start = { date: '2027-03-27', timeOfDay: 0 };
  const read = (text: string, isChanged = false) => readLog(text, { start, isChanged });
  const valuesOf = (text: string): readonly (readonly number[])[] => {
    const answer = read(text);
    if ('reason' in answer) throw new Error(answer.reason);
    return answer.log.columns.map(({ values }) => [...values].map((value) => Math.round(value * 1e6) / 1e6));
  };
  const PLAIN = 'time,soc(Bank) %,voltage(Bank) V\n2027-03-27T06:00,70,26.4\n2027-03-27T07:00,69.5,26.3\n';

  test.each([
    ['semicolons', PLAIN.replaceAll(',', ';')],
    ['tabs', PLAIN.replaceAll(',', '\t')],
    ['semicolons and decimal commas', PLAIN.replaceAll(',', ';').replaceAll('.', ',')],
    ['quotation marks', PLAIN.replace(/[^,\n]+/g, '"$&"')],
    [
      'decimal commas in quotation marks',
      PLAIN.replaceAll(',', ';')
        .replaceAll('.', ',')
        .replace(/[^;\n]+/g, '"$&"'),
    ],
    ['a byte-order mark and ends of lines of two characters', `\uFEFF${PLAIN.replaceAll('\n', '\r\n')}`],
    ['signals in capitals', PLAIN.replace('soc', 'SOC').replace('voltage', 'Voltage').replace('time', 'Time')],
    ['empty lines and remarks', `# logger 5\n\n${PLAIN}\n;;\n`],
  ])('%s make no difference', (_what, text) => {
    expect(valuesOf(text)).toEqual(valuesOf(PLAIN));
  });

  test.each(['', '-', 'n/a', 'NaN', 'null'])('a cell that says "%s" is a gap', (cell) => {
    expect(valuesOf(PLAIN.replace('69.5', cell))).toEqual([
      [0.7, NaN],
      [26.4, 26.3],
    ]);
  });

  test.each([
    ['', 'it is empty'],
    ['# nothing yet\n', 'it is empty'],
    ['when,soc(Bank) %\n', 'its first line names no column `time`, but when, soc(Bank) %'],
    [PLAIN.replace('69.5', '"69,5"'), 'line 3: `69,5` of soc(Bank) is no number'],
    [PLAIN.replace('69.5', '1e400'), 'line 3: `1e400` of soc(Bank) is no number'],
    [
      PLAIN.replace('soc(Bank) %', 'soc(Bank)'),
      'line 2: `70` of soc(Bank) is no state of charge; without a unit it is a share of full, in percent write `soc(Bank) %` as the heading',
    ],
    [PLAIN.replace('2027-03-27T07:00', '27.03.2027 07:00'), 'line 3: `27.03.2027 07:00` is no time such as'],
  ])('what cannot be read is told at its line: %j', (text, reason) => {
    expect(read(text)).toEqual({ reason: expect.stringContaining(reason) as string });
  });

  test('a clock that is put forward within the time is said, where times do not tell their offset', () => {
    const remarks = (text: string, isChanged: boolean) => {
      const answer = read(text, isChanged);
      return 'log' in answer ? answer.log.remarks : [];
    };
    expect(remarks(PLAIN, true)).toEqual([expect.stringContaining('an hour off') as string]);
    expect(remarks(PLAIN, false)).toEqual([]);
    const withOffsets = readLog(PLAIN.replaceAll(':00,', ':00+01:00,'), {
      start,
      beforeGreenwich: 3600,
      isChanged: true,
    });
    expect('log' in withOffsets && withOffsets.log.remarks).toEqual([]);
  });
});
