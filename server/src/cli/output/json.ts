import {
  type Against,
  type AnsweredFinding,
  type Check,
  type CalculationFunction,
  type Derivation,
  type Fix,
  type Obstacle,
  type Place,
  type Played,
  type Quantity,
  type OutcomeResult,
  type ReadingResult,
  type RequirementResult,
  type RunTotals,
  type ScenarioResult,
  type Use,
  clockTime,
  findUnit,
  fromSi,
  isRange,
  meanOf,
  parameterDefault,
  parameterTakes,
  functionSignature,
  governingText,
  openFacts,
  quantileOf,
  reportUnit,
  ruleText,
  shownValue,
  sourceText,
} from '@wattwright/language';
import { VERSION } from '../../version.js';
import { type CheckReport, countOf } from '../report.js';
import { fileName } from '../session.js';
import { UNSAFE } from './safe-text.js';

/** Version of the shape of every JSON output; see server/schemas. */
export const SCHEMA = 1;
export const TOOL = { name: 'wattwright', version: VERSION };

/** Characters that JSON lets through but a terminal acts on are escaped as well; the line ends of its layout stay. */
export const jsonText = (value: unknown): string =>
  `${JSON.stringify(value, undefined, 2).replace(UNSAFE, (character) =>
    character === '\n' ? character : `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`,
  )}\n`;

const position = (line: number, character: number): { line: number; column: number } => ({
  line: line + 1,
  column: character + 1,
});

export const rangeJson = (place: Place): object => ({
  start: position(place.line, place.character),
  end: position(place.endLine, place.endCharacter),
});

export const placeJson = (place: Place): object => ({ file: fileName(place.uri), range: rangeJson(place) });

/** Units outside coherent SI in which values are reported; every other unit gives way to the SI unit of its dimension. */
const TRADE_UNITS = new Set(['mm2', 'L', 'L/h', 'm3/h', 'Wh', 'Ah', 'deg']);

/** The unit in which a quantity is reported: the derivation's own where the contract allows it. */
function unitOf(derivation: Derivation, value: Quantity): string {
  if (derivation.unit === '1' || derivation.unit === '') return reportUnit(value.dimension);
  const own = findUnit(derivation.unit);
  if (!own) return reportUnit(value.dimension);
  const coherent = own.multiply === own.divide && own.offset === 0;
  return own.dimension === value.dimension && (coherent || TRADE_UNITS.has(own.symbol))
    ? derivation.unit
    : reportUnit(value.dimension);
}

/** A derivation as one number, in a unit or in that in which it is reported. */
function numberJson(derivation: Derivation, as?: string): { readonly value: number; readonly unit: string } {
  const { value } = derivation;
  if (typeof value !== 'object') return { value: Number(value), unit: '1' };
  const symbol = as ?? unitOf(derivation, value);
  const unit = findUnit(symbol);
  return { value: unit ? fromSi(value.value, unit) : value.value, unit: symbol };
}

/** The value of a derivation by unit, in full double precision. */
export function valueJson(derivation: Derivation): object {
  const { value } = derivation;
  const { display } = shownValue(derivation);
  if (typeof value !== 'object') return { value, unit: '1', display };
  return { ...quantityJson(value, unitOf(derivation, value)), display };
}

/** A quantity in a unit, in full double precision. */
export function quantityJson(value: Quantity, symbol: string): object {
  // A symbol that is no unit of the language is a product of base units, in which the value is kept.
  const unit = findUnit(symbol);
  const number = (si: number): number => (unit ? fromSi(si, unit) : si);
  return {
    value: number(value.value),
    unit: symbol,
    ...(isRange(value) ? { range: [number(value.low), number(value.high)] } : {}),
  };
}

/**
 * Steps written of one derivation at most. A value used twice is written twice, so values made of twice the one before would be
 * written 2^n times.
 */
const MOST_STEPS = 20_000;

/** A derivation with everything that led to it. */
export function derivationJson(derivation: Derivation, path?: string): object {
  let steps = 0;
  const write = (step: Derivation): object => {
    steps += 1;
    const { name, symbol, origin, formula, source, parts, place } = step;
    const governing = governingText(step);
    const isCut = steps > MOST_STEPS && step.inputs.length > 0;
    const inputs = isCut ? [] : step.inputs;
    const notes = isCut
      ? [...step.notes, `more than ${MOST_STEPS} steps; what led to this one is left out`]
      : step.notes;
    return {
      name,
      ...(symbol ? { symbol } : {}),
      ...valueJson(step),
      origin,
      ...(formula ? { formula } : {}),
      inputs: inputs.map(write),
      ...(source ? { source: sourceText(source) } : {}),
      ...(governing ? { governing } : {}),
      ...(notes.length > 0 ? { notes } : {}),
      ...(Object.keys(parts).length > 0
        ? { parts: Object.fromEntries(Object.entries(parts).map(([part, of]) => [part, write(of)])) }
        : {}),
      ...(place ? { place: placeJson(place) } : {}),
    };
  };
  return { ...(path === undefined ? {} : { path }), ...write(derivation) };
}

const fixJson = ({ title, safe, preferred, clears, edits }: Fix): object => ({
  title,
  safe,
  ...(preferred ? { preferred } : {}),
  ...(clears ? { clears } : {}),
  edits: edits.map(({ place, text }) => ({ ...placeJson(place), text })),
});

const obstacleJson = (obstacle: Obstacle): object => ({ ...obstacle });

/** What is used of a limit, both in the unit of the limit. */
export function useJson({ value, limit, sense }: Use): object {
  const most = numberJson(limit);
  const unit = most.unit;
  return { value: numberJson(value, unit).value, limit: most.value, sense, unit };
}

function findingJson(finding: AnsweredFinding): object {
  const {
    check,
    severity,
    place,
    subject,
    variant,
    headline,
    why,
    assumes,
    consequence,
    advice,
    use,
    cause,
    formerly,
    message,
    numbers,
    sources,
    related,
    trace,
    curve,
    fixes,
    accepted,
  } = finding;
  const rule = ruleText(finding);
  return {
    check,
    severity,
    ...placeJson(place),
    subject,
    ...(variant === undefined ? {} : { variant }),
    headline,
    ...(why ? { why } : {}),
    ...(rule ? { rule } : {}),
    assumes,
    ...(consequence ? { consequence } : {}),
    ...(advice ? { advice } : {}),
    ...(use ? { use: useJson(use) } : {}),
    ...(cause ? { cause } : {}),
    ...(formerly ? { formerly } : {}),
    message,
    numbers: Object.fromEntries(Object.entries(numbers).map(([name, number]) => [name, valueJson(number)])),
    sources: sources.map(sourceText),
    ...(related.length > 0 ? { related: related.map((one) => ({ ...placeJson(one.place), text: one.text })) } : {}),
    ...(trace ? { trace: trace.map(({ event, state }) => ({ event, state })) } : {}),
    ...(curve ? { curve: { bank: curve.bank, time: curve.time, soc: curve.soc, voltage: curve.volts } } : {}),
    fixes: fixes.map(fixJson),
    fixesSought: finding.fixesSought,
    ...(finding.obstacles.length > 0 ? { obstacles: finding.obstacles.map(obstacleJson) } : {}),
    ...(accepted ? { accepted } : {}),
  };
}

function requirementJson(requirement: RequirementResult): object {
  const { design, scenario, text, reason, holds, left, right, undecided, place } = requirement;
  return {
    design,
    ...(scenario ? { scenario } : {}),
    text,
    ...(reason ? { reason } : {}),
    holds: holds ?? null,
    ...(left ? { left: derivationJson(left) } : {}),
    ...(right ? { right: derivationJson(right) } : {}),
    ...(undecided ? { undecided } : {}),
    ...placeJson(place),
  };
}

function readingJson({ design, reading, measured, low, high, tolerance, holds, undecided }: ReadingResult): object {
  const why = undecided?.kind === 'missing' ? `missing ${undecided.missing.join(', ')}` : undecided?.reason;
  return {
    design,
    subject: reading.subject,
    ...(reading.date ? { date: reading.date } : {}),
    ...(reading.note ? { note: reading.note } : {}),
    holds: holds ?? null,
    measured: valueJson(measured),
    ...(low ? { low: derivationJson(low) } : {}),
    ...(high ? { high: derivationJson(high) } : {}),
    ...(tolerance ? { tolerance: valueJson(tolerance) } : {}),
    ...(why ? { undecided: why } : {}),
    ...placeJson(reading.place),
  };
}

/** `check --format json`. Accepted findings are listed, carry `accepted` and count for nothing. */
export function reportJson(report: CheckReport): object {
  return {
    schema: SCHEMA,
    tool: TOOL,
    findings: [...report.findings, ...report.accepted].map(findingJson),
    requirements: report.requirements.map(requirementJson),
    readings: report.readings.map(readingJson),
    questions: report.questions.map(({ check, subject, place, missing }) => ({
      check,
      subject,
      ...placeJson(place),
      missing,
    })),
    facts: openFacts(report.questions).map(({ fact, whom, place, unlocks, alone }) => ({
      fact,
      whom,
      ...placeJson(place),
      unlocks,
      alone,
    })),
    passed: report.passes.map(({ check, subject, uri, use }) => ({
      check,
      subject,
      file: fileName(uri),
      ...(use ? { use: useJson(use) } : {}),
    })),
    ...(report.fixed.length > 0 ? { fixed: report.fixed } : {}),
    summary: {
      designs: report.designs,
      files: report.files,
      errors: countOf(report.findings, 'error'),
      warnings: countOf(report.findings, 'warning'),
      infos: countOf(report.findings, 'info'),
      accepted: report.accepted.length,
      passed: report.passes.length,
      notChecked: report.notChecked,
      ...(report.milliseconds === undefined ? {} : { ms: report.milliseconds }),
    },
  };
}

export const evaluationJson = (expression: string, derivation: Derivation): object => ({
  schema: SCHEMA,
  tool: TOOL,
  expression,
  ...derivationJson(derivation),
});

/** A quantity of a design that could not be worked out, and why. */
export interface NotComputed {
  readonly path: string;
  readonly missing?: readonly string[];
  readonly reason?: string;
}

export const quantitiesJson = (
  quantities: readonly { readonly path: string; readonly derivation: Derivation }[],
  notComputed: readonly NotComputed[],
): object => ({
  schema: SCHEMA,
  tool: TOOL,
  quantities: quantities.map(({ path, derivation }) => derivationJson(derivation, path)),
  notComputed,
});

export const checkJson = ({ id, group, severity, since, docs }: Check): object => ({
  check: id,
  group,
  severity,
  since,
  finds: docs.finds,
  guards: docs.guards,
  how: docs.how,
  fix: docs.fix,
  sources: docs.sources.map(sourceText),
  failing: docs.failing,
  passing: docs.passing,
});

export const functionJson = (definition: CalculationFunction): object => ({
  function: definition.name,
  group: definition.group,
  signature: functionSignature(definition),
  summary: definition.summary,
  parameters: Object.entries(definition.parameters).map(([name, parameter]) => ({
    name,
    takes: parameterTakes(parameter),
    doc: parameter.doc,
    optional: parameter.optional || parameterDefault(parameter) !== undefined,
    ...(parameterDefault(parameter) === undefined ? {} : { default: parameterDefault(parameter) }),
  })),
  result: definition.result,
  validity: definition.validity,
  sources: definition.sources,
  examples: definition.examples.map(({ call, gives, source }) => ({ call, gives, source })),
});

export const explanationsJson = (checks: readonly Check[], functions: readonly CalculationFunction[]): object => ({
  schema: SCHEMA,
  tool: TOOL,
  checks: checks.map(checkJson),
  functions: functions.map(functionJson),
});

/** `simulate --format json`: sums of every run, in the units of the other outputs. */
export const playsJson = (
  plays: readonly {
    readonly design: string;
    readonly scenario: { readonly name: string; readonly seed: number };
    readonly played: Played;
    readonly requirements: readonly RequirementResult[];
    readonly outcomes: readonly OutcomeResult[];
    readonly against?: Against;
  }[],
): object => ({
  schema: SCHEMA,
  tool: TOOL,
  scenarios: plays.map(({ design, scenario, played, requirements, outcomes, against }) => ({
    design,
    scenario: scenario.name,
    ...(played.kind === 'missing' ? { missing: played.missing } : {}),
    ...(played.kind === 'refused' ? { reason: played.reason } : {}),
    ...(played.kind === 'played' ? resultJson(played.result) : {}),
    requirements: requirements.map(requirementJson),
    readings: outcomes.map(({ outcome, measured, simulated, error, undecided }) => ({
      of: outcome.text,
      measured: valueJson(measured),
      ...(simulated ? { simulated: valueJson(simulated) } : {}),
      ...(error === undefined ? {} : { error }),
      ...(outcome.date ? { date: outcome.date } : {}),
      ...(outcome.note ? { note: outcome.note } : {}),
      ...(undecided ? { undecided } : {}),
    })),
    ...(against && played.kind === 'played' ? { against: againstJson(against, played.result) } : {}),
  })),
});

/** A log held against a scenario: errors in the unit of the signal, sums in Wh, s, L and pieces. */
function againstJson({ columns, sums, covered, gaps, notes }: Against, result: ScenarioResult): object {
  const by = { energy: 1 / 3600, runTime: 1, starts: 1, fuel: 1000 } as const;
  return {
    covered,
    gaps: gaps.map(({ from, to }) => ({ from: clockTime(result, from), to: clockTime(result, to) })),
    signals: columns.map(({ name, unit, figures: { rows, bias, meanAbsolute, rootMeanSquare, largest } }) => ({
      name,
      unit,
      rows,
      meanError: bias,
      meanAbsoluteError: meanAbsolute,
      rootMeanSquareError: rootMeanSquare,
      largestError: { value: largest.value, time: clockTime(result, largest.time) },
    })),
    sums: sums.map(({ what, of, measured, simulated }) => ({
      what,
      of,
      measured: measured * by[what],
      simulated: simulated * by[what],
    })),
    notes,
  };
}

function resultJson(result: ScenarioResult): object {
  const scaled = (values: ReadonlyMap<string, number>, by: number): object =>
    Object.fromEntries([...values].map(([name, value]) => [name, value * by]));
  // What never happens has no number in JSON.
  const reached = (values: ReadonlyMap<string, number>): object =>
    Object.fromEntries([...values].map(([name, value]) => [name, Number.isFinite(value) ? value : null]));
  const hours = 1 / 3600;
  return {
    from: clockTime(result, 0),
    duration: result.duration,
    seed: result.scenario.seed,
    runs: result.totals.map((totals) => ({
      runTime: scaled(totals.runTime, 1),
      starts: scaled(totals.starts, 1),
      fuel: scaled(totals.fuel, 1000),
      fuelLeft: scaled(totals.fuelLeft, 1000),
      timeToEmpty: reached(totals.timeToEmpty),
      longestRun: scaled(totals.longestRun, 1),
      timeSinceFull: scaled(totals.timeSinceFull, 1),
      cycles: scaled(totals.cycles, 1),
      energy: scaled(totals.energy, hours),
      unserved: scaled(totals.unserved, hours),
      shed: scaled(totals.shed, hours),
      curtailed: scaled(totals.curtailed, hours),
      worstWeek: {
        runTime: scaled(totals.worstWeek.runTime, 1),
        energy: scaled(totals.worstWeek.energy, hours),
        unserved: totals.worstWeek.unserved * hours,
      },
      balance: {
        fromSources: totals.balance.fromSources * hours,
        toLoads: totals.balance.toLoads * hours,
        lost: totals.balance.lost * hours,
        diverted: totals.balance.diverted * hours,
        stored: totals.balance.stored * hours,
        residual: totals.balance.residual * hours,
      },
    })),
    ...(result.totals.length > 1 ? { overRuns: overRunsJson(result.totals) } : {}),
    columns: Object.fromEntries(
      result.series.columns.map(({ name, unit, extremes: { min, max, last } }) => [
        name,
        { unit, lowest: min, highest: max, last },
      ]),
    ),
    events: result.events.map(({ time, what, of }) => ({ time: clockTime(result, time), seconds: time, what, of })),
    assumptions: result.assumptions,
  };
}

/** The shares of the runs at which sums are given. */
const PERCENTILES = [5, 10, 25, 50, 75, 90, 95, 99] as const;

/** Every sum over the runs: its mean and its percentiles, in the units of the sums of one run. */
function overRunsJson(totals: readonly RunTotals[]): object {
  const spread = (of: (each: RunTotals) => number, by: number): object => {
    const sorted = totals.map((each) => of(each) * by).sort((a, b) => a - b);
    return {
      mean: meanOf(sorted),
      ...Object.fromEntries(PERCENTILES.map((percent) => [`p${percent}`, quantileOf(sorted, percent / 100)])),
    };
  };
  const each = (sums: (each: RunTotals) => ReadonlyMap<string, number>, by: number): object =>
    Object.fromEntries(
      [...sums(totals[0]!).keys()].map((name) => [name, spread((run) => sums(run).get(name) ?? 0, by)]),
    );
  const hours = 1 / 3600;
  return {
    runTime: each(({ runTime }) => runTime, 1),
    starts: each(({ starts }) => starts, 1),
    fuel: each(({ fuel }) => fuel, 1000),
    fuelLeft: each(({ fuelLeft }) => fuelLeft, 1000),
    longestRun: each(({ longestRun }) => longestRun, 1),
    timeSinceFull: each(({ timeSinceFull }) => timeSinceFull, 1),
    cycles: each(({ cycles }) => cycles, 1),
    energy: each(({ energy }) => energy, hours),
    unserved: each(({ unserved }) => unserved, hours),
    shed: each(({ shed }) => shed, hours),
    curtailed: each(({ curtailed }) => curtailed, hours),
    worstWeek: {
      runTime: each(({ worstWeek }) => worstWeek.runTime, 1),
      energy: each(({ worstWeek }) => worstWeek.energy, hours),
      unserved: spread(({ worstWeek }) => worstWeek.unserved, hours),
    },
  };
}
