import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  type Analysis,
  type Derivation,
  type Instance,
  type Measure,
  formatText,
  numberIn,
  plotThresholds,
  scenarioPlot,
} from '@wattwright/language';
import { type TestedAnalysis, analyseText, createTestServices } from '../helpers/analyse.js';

const examples = path.resolve(import.meta.dirname, '../../examples');
const filesOf = (folder: string): string[] =>
  readdirSync(path.join(examples, folder))
    .filter((name) => name.endsWith('.watt'))
    .sort();
const read = (folder: string, name: string): string => readFileSync(path.join(examples, folder, name), 'utf8');

/** Analyses one file of an example with the others beside it. */
async function analyseExample(folder: string, name: string): Promise<TestedAnalysis> {
  const others = filesOf(folder).filter((other) => other !== name);
  return analyseText(Object.fromEntries([name, ...others].map((file) => [file, read(folder, file)])));
}

const complaints = (analysis: Analysis): string[] =>
  analysis.findings
    .filter(({ severity, accepted }) => severity !== 'info' && !accepted)
    .map(({ check, subject, message }) => `${check} ${subject}: ${message}`);

/** One row of the README's tables: the mistake's number, its file, and the findings that must name it. */
interface Mistake {
  readonly number: string;
  readonly file: string;
  readonly checks: readonly string[];
  readonly subjects: readonly string[];
}

/** Reads the tables of README.md: `| W1 | … | \`check\`, \`check\` on \`Subject\` | … |` under `## \`file.watt\``. */
function mistakesOf(readme: string): Mistake[] {
  let file = '';
  return readme.split('\n').flatMap((line) => {
    file = /^## `([\w-]+\.watt)`/.exec(line)?.[1] ?? file;
    const cells = line.split('|').map((cell) => cell.trim());
    const number = cells[1] ?? '';
    if (!/^[A-Z]\d+$/.test(number)) return [];
    const [checks = '', subjects = ''] = (cells[3] ?? '').split(' on ');
    const names = (text: string): string[] => [...text.matchAll(/`([\w.-]+)`/g)].map((match) => match[1]!);
    return [{ number, file, checks: names(checks), subjects: names(subjects) }];
  });
}

/** One change that a README invites to try, as it is made in the text. */
interface Change {
  readonly file: string;
  readonly from: RegExp | string;
  readonly to: string;
  /** What must be changed with it. */
  readonly and?: readonly (readonly [from: string, to: string])[];
}

/** The changes of the READMEs' tables, in their order. */
const CHANGES: Readonly<Record<string, readonly Change[]>> = {
  'house-backup': [
    { file: 'parts.watt', from: 'neutralBond: floating', to: 'neutralBond: bonded' },
    { file: 'house.watt', from: 'operation: manual', to: 'operation: manual   interlock: no' },
    { file: 'house.watt', from: 'currentLimit: 33 A', to: 'currentLimit: 60 A' },
    { file: 'house.watt', from: /(load Sump [^}]*)legs: L2/, to: '$1legs: L1' },
    { file: 'house.watt', from: /(run FeedB:[^}]*)length: 1.4 m/, to: '$1length: 6 m' },
    { file: 'house.watt', from: /location: garage/g, to: 'location: living' },
    { file: 'house.watt', from: 'lost(Utility): 0 h .. 19 h', to: 'lost(Utility): 0 h .. 24 h' },
    { file: 'house.watt', from: 'autonomy: 12 h', to: 'autonomy: 20 h' },
  ],
  'coach-shore': [
    { file: 'coach.watt', from: 'currentLimit: 25 A', to: 'currentLimit: 60 A' },
    { file: 'coach.watt', from: 'rating: 30 A   outlet: TT-30', to: 'rating: 20 A   outlet: TT-30' },
    {
      file: 'coach.watt',
      from: 'receptacle Inlet',
      to: 'receptacle Adapter { plug: NEMA-5-15   outlet: TT-30 }\n  receptacle Inlet',
      and: [
        ['rating: 30 A   outlet: TT-30', 'rating: 15 A   outlet: NEMA-5-15'],
        ['Shore -> Inlet', 'Shore -> Adapter -> Inlet'],
      ],
    },
    { file: 'parts.watt', from: 'currentLimit: 16 A', to: 'currentLimit: 25 A' },
    { file: 'coach.watt', from: /(load AirConditioner [^}]*)voltage: 120 V/, to: '$1voltage: 240 V' },
    { file: 'coach.watt', from: 'neutralBond: floating', to: 'neutralBond: bonded' },
  ],
  'book-bus': [
    { file: 'bus.watt', from: 'Wall: 12 A', to: 'Wall: 15 A' },
    { file: 'bus.watt', from: 'plug: TT-30   oneCord: yes', to: 'plug: TT-30' },
    { file: 'bus.watt', from: 'rating: 20 A   rated: 2.4 kW', to: 'rating: 15 A   rated: 2.4 kW' },
    { file: 'bus.watt', from: 'outlet: TT-30   faultCurrent', to: 'outlet: SAE-J1772   faultCurrent' },
    { file: 'bus.watt', from: 'PickupAdapter, PickupCord, MarketDay', to: 'PickupAdapter, MarketDay' },
  ],
  'mountain-hut': [
    { file: 'hut.watt', from: 'opening: 340 cm2', to: 'opening: 200 cm2' },
    { file: 'hut.watt', from: 'cellTemperature: 4..22 degC', to: 'cellTemperature: -8..22 degC' },
    { file: 'hut.watt', from: 'rating: 20 A   curve: B', to: 'rating: 25 A   curve: C' },
    { file: 'hut.watt', from: 'voltage(Bank) > 28.2 V', to: 'voltage(Bank) > 29.0 V' },
    { file: 'hut.watt', from: 'voltage(Bank) < 24.2 V', to: 'voltage(Bank) < 23.6 V' },
    { file: 'hut.watt', from: 'series: 3', to: 'series: 4' },
    { file: 'hut.watt', from: /(run BankFeed:[^}]*)size: 95 mm2/, to: '$1size: 50 mm2' },
    { file: 'hut.watt', from: 'autonomy: 30 h', to: 'autonomy: 2 d' },
  ],
  'mill-stream': [
    { file: 'mill.watt', from: 'penstockDiameter: 110 mm', to: 'penstockDiameter: 75 mm' },
    { file: 'mill.watt', from: 'diversionPower: 2.4 kW', to: 'diversionPower: 1 kW' },
    { file: 'mill.watt', from: 'ecologicalFlow: 4 L/s', to: 'ecologicalFlow: 6 L/s' },
    { file: 'mill.watt', from: 'power: 700 W', to: 'power: 2.4 kW' },
    { file: 'mill.watt', from: 'head: 34 m', to: 'voltage: 58.6 V   head: 34 m' },
    { file: 'mill.watt', from: 'lost(Turbine): 20 h .. 32 h', to: 'lost(Turbine): 20 h .. 68 h' },
  ],
};

/** Reads a table of changes: `| \`what is written\` … | \`check\` on \`Subject\`: … |`. */
function changesOf(readme: string): { change: string; written: string; check: string; subject: string }[] {
  return readme.split('\n').flatMap((line) => {
    const [, change = '', found = ''] = line.split('|').map((cell) => cell.trim());
    const written = /^`([^`]+)`/.exec(change)?.[1];
    const [, check, subject] = /^`([a-z-]+)` on `(\w+)`/.exec(found) ?? [];
    return written && check && subject ? [{ change, written, check, subject }] : [];
  });
}

describe('the examples', () => {
  it('are laid out canonically', async () => {
    const { wattwright } = await createTestServices();
    for (const folder of readdirSync(examples))
      for (const name of filesOf(folder)) {
        const text = read(folder, name);
        expect(formatText(text, wattwright).text, `${folder}/${name}`).toBe(text);
      }
  });

  it.each(['ridge-station', 'coastal-sloop', 'house-backup', 'mountain-hut', 'coach-shore', 'book-bus', 'mill-stream'])(
    '%s checks clean',
    async (folder) => {
      for (const name of filesOf(folder)) {
        const analysis = await analyseExample(folder, name);
        expect(complaints(analysis), name).toEqual([]);
        expect(analysis.requirements.filter(({ holds }) => holds === false)).toEqual([]);
      }
    },
  );

  it('ridge-station has one accepted finding, and its requirements outside scenarios are decided', async () => {
    const analysis = await analyseExample('ridge-station', 'station.watt');
    expect(analysis.findings.filter(({ accepted }) => accepted).map(({ check }) => check)).toContain('voltage-drop');
    expect(analysis.requirements.filter(({ scenario, holds }) => !scenario && holds !== true)).toEqual([]);
  });

  describe.each(Object.entries(CHANGES))('%s', (folder, changes) => {
    const rows = changesOf(readFileSync(path.join(examples, folder, 'README.md'), 'utf8'));

    it('names every change that is tried here, in this order', () => {
      expect(rows).toHaveLength(changes.length);
    });

    it.each(changes.map((change, index) => [rows[index]?.change ?? '', change, rows[index]] as const))(
      '%s is found',
      async (_title, { file, from, to, and }, row) => {
        const before = read(folder, file);
        const after = [[from, to] as const, ...(and ?? [])].reduce((text, [was, is]) => {
          expect(text.replace(was, is)).not.toBe(text);
          return text.replace(was, is);
        }, before);
        expect(after).not.toBe(before);
        expect(after.replace(/\s+/g, ' ')).toContain(row!.written.replace(/\s+/g, ' '));
        const main = filesOf(folder).find((name) => name !== 'parts.watt')!;
        const texts = filesOf(folder).map((name) => [name, name === file ? after : read(folder, name)] as const);
        const analysis = await analyseText(
          Object.fromEntries([...texts.filter(([name]) => name === main), ...texts.filter(([name]) => name !== main)]),
        );
        expect(
          analysis.findings
            .filter(({ severity }) => severity !== 'info')
            .map(({ check, subject }) => `${check} ${subject.split('.').at(-1)!}`),
        ).toContain(`${row!.check} ${row!.subject}`);
      },
    );
  });

  it('the READMEs say what comes of the scenarios they tell of', async () => {
    const left = async (folder: string, file: string, text: string, unit: string): Promise<number> => {
      const { requirements } = await analyseExample(folder, file);
      const found = requirements.find((each) => each.scenario && each.text.startsWith(text));
      return numberIn(found!.left!, unit);
    };
    const page = (folder: string): string => read(folder, 'README.md').replace(/\s+/g, ' ');
    const lowest = await left('house-backup', 'house.watt', 'min(soc(PackA))', '%');
    expect(page('house-backup')).toContain(`take the packs from 95 % to ${Math.round(lowest)} %`);
    const hours = await left('mountain-hut', 'hut.watt', 'runTime(Genset)', 'h');
    const litres = await left('mountain-hut', 'hut.watt', 'fuel(Genset)', 'L');
    expect(page('mountain-hut')).toContain(`${Math.round(hours)} hours in all, on ${Math.round(litres)} L`);
    expect(await left('mountain-hut', 'hut.watt', 'starts(Genset)', '')).toBe(2);
    expect(await left('coach-shore', 'coach.watt', 'last(soc(House))', '%')).toBeGreaterThan(99);
    expect(page('coach-shore')).toContain('the bank is full by noon all the same');
    const reached = await left('book-bus', 'bus.watt', 'last(soc(House))', '%');
    expect(page('book-bus')).toContain(`takes the bank from 30 % to ${Math.round(reached)} %`);
    const taken = await left('book-bus', 'bus.watt', 'energy(Pickup)', 'kWh');
    expect(page('book-bus')).toContain(`the pickup gives ${taken.toFixed(1)} kWh`);
    const unplugged = await left('book-bus', 'bus.watt', 'min(soc(House))', '%');
    expect(page('book-bus')).toContain(`takes the bank from 95 % to ${Math.round(unplugged)} %`);
    const diverted = await left('mill-stream', 'mill.watt', 'curtailed(Turbine)', 'kWh');
    expect(page('mill-stream')).toContain(`the diversion load absorbs ${Math.round(diverted)} kWh`);
  });

  it('book-bus tells the limit to set for each of its supplies', async () => {
    const { designs } = await analyseExample('book-bus', 'bus.watt');
    const { context } = designs.find(({ system }) => system.name === 'BookBus')!;
    const limits = context.quantity(context.instance('Inv')!, 'inputLimitToSet');
    const told = [...read('book-bus', 'README.md').matchAll(/^\| `(\w+)` \| (\d+) A \|/gm)];
    expect(told.map(([, name, amperes]) => [name, Number(amperes)])).toEqual(
      Object.entries(limits.kind === 'known' ? limits.derivation.parts : {}).map(([name, limit]) => [
        name,
        numberIn(limit, 'A'),
      ]),
    );
    expect(told).toHaveLength(4);
  });

  describe('off-grid-workshop', () => {
    const page = read('off-grid-workshop', 'README.md').replace(/\s+/g, ' ');
    let analysis: TestedAnalysis;
    beforeAll(async () => {
      analysis = await analyseExample('off-grid-workshop', 'workshop.watt');
    });

    it('has the faults that its README tells, and no others', () => {
      const told = [...page.matchAll(/\| `([a-z-]+)` on `(\w+)` \|/g)].map(
        ([, check, subject]) => `${check} ${subject}`,
      );
      const found = analysis.findings.filter(({ severity }) => severity !== 'info');
      expect(found.map(({ subject }) => subject.split('.')[0])).not.toContain('Mended');
      const names = found.map(({ check, subject }) => `${check} ${subject.split('.').at(-1)!}`);
      expect([...new Set(names)].sort()).toEqual([...new Set(told)].sort());
      // One cause is one finding: that the fallback does not stop it either is not told again.
      expect(names.filter((name) => name.startsWith('stop-unreachable'))).toHaveLength(1);
    });

    it('is mended by the fix of its first finding, and by its variant', async () => {
      const [fix] = analysis.findings.find(({ check }) => check === 'charge-below-load')!.fixes;
      expect(fix!.title).toBe('Raise the limit of Rect to 55 A');
      expect(page).toContain('raises it to 55 A, with which the bank fills again');
      const text = read('off-grid-workshop', 'workshop.watt');
      const raised = text.replace('currentLimit: 25 A', 'currentLimit: 55 A');
      const mended = await analyseText({
        'workshop.watt': raised,
        'parts.watt': read('off-grid-workshop', 'parts.watt'),
      });
      expect(complaints(mended).filter((each) => !each.startsWith('requirement-failed'))).toEqual([]);
      expect(analysis.requirements.filter(({ design }) => design === 'Mended').map(({ holds }) => holds)).toEqual([
        true,
        true,
        true,
      ]);
    });

    it('tells what comes of the week', () => {
      const rows = new Map(
        [...page.matchAll(/\| ([a-z ]+) \| ([\d.]+ ?[a-zA-Z%]*|nothing) \| ([\d.]+ ?[a-zA-Z%]*|nothing) \|/g)].map(
          ([, name, before, after]) => [name, [before, after]] as const,
        ),
      );
      const values = (
        measure: (thing: (name: string) => Instance) => Measure,
        show: (result: Derivation) => string,
      ): string[] =>
        ['Workshop', 'Mended'].map((name) => {
          const { context } = analysis.designs.find(({ system }) => system.name === name)!;
          const { played } = analysis.scenarios.find(({ design }) => design === name)!;
          if (played.kind !== 'played') return played.kind;
          const result = played.result.measure(measure((thing) => context.instance(thing)!));
          return result.kind === 'known' ? show(result.derivation) : result.kind;
        });
      const set = (what: 'runTime' | 'starts' | 'fuel') => (thing: (name: string) => Instance) =>
        ({ what, of: thing('Genset') }) as const;
      const figure = (unit: string) => (result: Derivation) =>
        `${Number(numberIn(result, unit).toPrecision(3))} ${unit}`.trim();
      expect(rows.get('running time of the generator')).toEqual(values(set('runTime'), figure('h')));
      expect(rows.get('starts')).toEqual(values(set('starts'), figure('')));
      expect(rows.get('fuel')).toEqual(values(set('fuel'), figure('L')));
      const energy = values(() => ({ what: 'unserved' }), figure('kWh'));
      expect(rows.get('loads went without')).toEqual(energy.map((each) => (each === '0 kWh' ? 'nothing' : each)));
      const lowest = values(
        (thing) => ({ what: 'min', signal: { kind: 'of', signal: 'soc', of: thing('Bank') } }),
        figure('%'),
      );
      expect(rows.get('lowest charge')).toEqual(lowest);
    });

    it('draws the weeks as the files beside the page show', () => {
      const plots = analysis.scenarios.map(({ design, played }) => {
        const { context } = analysis.designs.find(({ system }) => system.name === design)!;
        return played.kind === 'played' ? scenarioPlot(played.result, { thresholds: plotThresholds(context) }) : '';
      });
      const files = [read('off-grid-workshop', 'week.svg'), read('off-grid-workshop', 'week-mended.svg')];
      expect(plots.map((plot, index) => plot === files[index])).toEqual([true, true]);
    });
  });

  it.each(['house-backup', 'mountain-hut', 'mill-stream'])('%s leaves no question open', async (folder) => {
    const main = filesOf(folder).find((name) => name !== 'parts.watt')!;
    const analysis = await analyseExample(folder, main);
    expect(analysis.questions.map(({ check, missing }) => `${check}: ${missing.join(', ')}`)).toEqual([]);
    expect(analysis.requirements.map(({ holds }) => holds)).not.toContain(undefined);
  });

  describe('field-mistakes', () => {
    const mistakes = mistakesOf(readFileSync(path.join(examples, 'field-mistakes/README.md'), 'utf8'));
    const analyses = new Map<string, Analysis>();
    beforeAll(async () => {
      for (const name of filesOf('field-mistakes')) analyses.set(name, await analyseExample('field-mistakes', name));
    });

    it('numbers every mistake in the text and in the README alike', () => {
      const inText = filesOf('field-mistakes').flatMap((name) =>
        [...read('field-mistakes', name).matchAll(/Mistake ([A-Z]\d+)/g)].map((match) => match[1]!),
      );
      expect(mistakes.map(({ number }) => number).sort()).toEqual(inText.sort());
    });

    it.each(mistakes)('$number in $file is found', ({ file, checks, subjects }) => {
      const findings = analyses.get(file)?.findings ?? [];
      for (const check of checks) {
        const found = findings.filter((finding) => finding.check === check);
        expect(
          found.map(({ subject }) => subject),
          check,
        ).not.toEqual([]);
        if (subjects.length > 0)
          expect(
            found.some(({ subject }) => subjects.some((name) => subject === name || subject.split('.').includes(name))),
            `${check} on ${subjects.join(' or ')}; it is on ${found.map(({ subject }) => subject).join(', ')}`,
          ).toBe(true);
      }
    });
  });
});
