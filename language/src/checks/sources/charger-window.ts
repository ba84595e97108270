import { lowEnd, highEnd } from '../../quantities/ends.js';
import { type Derivation, derive, displayValue, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, isRange } from '../../quantity/index.js';
import { connect, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { generatorPractice } from '../../reference/energy/sources.js';
import {
  defineCheck,
  type Failed,
  type Severity,
  type Verdict,
  atMost,
  atLeast,
  NO_LIMIT,
  type Use,
  points,
} from '../define.js';
import { notChecked, passed, placeOf, fullest, whyOf } from '../verdicts.js';
import { PRACTICE, sourcesOf } from './shared.js';
import { isAcCharger, isInverter, isPlainCharger, isSet, passingOf } from '../../model/roles.js';

/** What came of holding one supply against one window. `undefined`: the matter of another check, or nothing to hold. */
type Outcome =
  Omit<Failed, 'verdict' | 'subject'> | { readonly missing: readonly string[] } | { readonly use: Use } | undefined;

interface Band {
  readonly low: Derivation;
  readonly high: Derivation;
}

const bandText = ({ low, high }: Band, unit: string): string =>
  `${formatNumber(numberIn(low, unit))}–${formatNumber(numberIn(high, unit))} ${unit}`;

/** Where a band reaches beyond a window; undefined when it lies inside, or does not meet it at all (`unlike-terminals` says so). */
function beyond(band: Band, window: Derivation, unit: string): 'low' | 'high' | 'both' | undefined {
  if (typeof window.value !== 'object') return undefined;
  const [low, high] = [numberIn(band.low, unit), numberIn(band.high, unit)];
  const isLow = low < window.value.low * (1 - 1e-9);
  const isHigh = high > window.value.high * (1 + 1e-9);
  if (high < window.value.low || low > window.value.high) return undefined;
  return isLow && isHigh ? 'both' : isLow ? 'low' : isHigh ? 'high' : undefined;
}

/** The end of a window that a band is nearest to, or furthest beyond. */
const useOf = (band: Band, window: Derivation): Use =>
  fullest(atLeast(band.low, lowEnd(window)), atMost(band.high, highEnd(window)));

function voltageOutcome(charger: Instance, source: Instance, context: DesignContext): Outcome {
  const window = context.maybe(charger, 'input');
  const system = systemOf(source);
  if (!window || !system)
    return {
      missing: [...(window ? [] : [`input of ${charger.name}`]), ...(system ? [] : [`voltage of ${source.name}`])],
    };
  const connection = connect(charger, system, context);
  if (missingFrom(connection)) return { missing: [connection.missing] };
  const tolerance = context.maybe(source, 'tolerance');
  const share = tolerance ? numberIn(tolerance, '') : 0;
  const nominal = numberIn(connection.voltage, 'V');
  const end = (name: string, factor: number, formula: string): Derivation =>
    derive(name, nominal * factor, 'V', { formula, inputs: [connection.voltage, ...(tolerance ? [tolerance] : [])] });
  const band = {
    low: end('lowest supply voltage', 1 - share, 'U·(1 − tolerance)'),
    high: end('highest supply voltage', 1 + share, 'U·(1 + tolerance)'),
  };
  const side = beyond(band, window, 'V');
  if (!side) return { use: useOf(band, window) };
  const isAssumed = tolerance?.origin === 'default';
  const isPassing = isInverter(charger);
  const effect = isPassing
    ? `it falls back on the battery again and again while the voltage is ${side === 'high' ? 'high' : 'low'}`
    : side === 'high'
      ? 'it shuts down while the voltage is high, or is damaged'
      : 'it drops out while the voltage is low';
  return {
    place: placeOf(charger, 'input'),
    severity: isAssumed ? 'warning' : 'error',
    headline: `${source.name} gives ${bandText(band, 'V')}; ${charger.name} accepts ${displayValue(window)}`,
    why: `${formatNumber(nominal)} V ± ${formatNumber(share * 100)} %${isAssumed ? ', usual; no `tolerance` is stated' : ''}`,
    consequence: effect,
    advice: `${isPassing ? 'Widen its window to' : 'Choose a charger that accepts'} ${bandText(band, 'V')}, or a steadier supply.`,
    use: useOf(band, window),
    numbers: { window, low: band.low, high: band.high },
    related: [{ place: placeOf(source, 'voltage'), text: `${source.name} gives ${system.text}` }],
  };
}

/** The frequencies a source gives: as stated, and for a set with a governor the droop around them. */
function frequencyBand(
  source: Instance,
  given: Derivation,
  context: DesignContext,
): { readonly band: Band; readonly droop?: Derivation } | { readonly missing: string } {
  if (typeof given.value !== 'object') return { missing: `frequency of ${source.name}` };
  const { low, high } = given.value;
  const plain = (value: number): Derivation => derive('frequency', value, 'Hz', { inputs: [given] });
  if (!isSet(source) || isRange(given.value)) return { band: { low: plain(low), high: plain(high) } };
  const waveform = context.maybe(source, 'waveform')?.value;
  const stated = context.maybe(source, 'droop');
  if (!stated && waveform === 'inverter') return { band: { low: plain(low), high: plain(high) } };
  const usual = generatorPractice('governor-droop');
  const droop = stated ?? fromTable('droop', usual.value, '', usual.source, { symbol: 'd' });
  const half = numberIn(droop, '') / 2;
  const end = (name: string, factor: number, formula: string): Derivation =>
    derive(name, low * factor, 'Hz', { formula, inputs: [given, droop] });
  return {
    band: {
      low: end('frequency at full load', 1 - half, 'f·(1 − d/2)'),
      high: end('frequency without load', 1 + half, 'f·(1 + d/2)'),
    },
    droop,
  };
}

function frequencyOutcome(charger: Instance, source: Instance, context: DesignContext): Outcome {
  // The frequency of an inverter is what it gives, not what it accepts.
  const window = isPlainCharger(charger) ? context.maybe(charger, 'frequency') : undefined;
  if (!window || typeof window.value !== 'object') return undefined;
  const given = context.maybe(source, 'frequency');
  if (!given || typeof given.value !== 'object') return { missing: [`frequency of ${source.name}`] };
  // Frequencies that do not meet at all are the matter of `unlike-terminals`.
  if (given.value.high < window.value.low || given.value.low > window.value.high) return undefined;
  const outcome = frequencyBand(source, given, context);
  if ('missing' in outcome) return { missing: [outcome.missing] };
  const { band, droop } = outcome;
  if (!beyond(band, window, 'Hz')) return { use: useOf(band, window) };
  const isUsual = droop?.origin === 'table';
  if (isUsual && context.maybe(source, 'waveform')?.value === undefined)
    return { missing: [`droop or waveform of ${source.name}`] };
  return {
    place: placeOf(charger, 'frequency'),
    severity: isUsual ? 'warning' : 'error',
    headline: `${source.name} runs at ${bandText(band, 'Hz')}; ${charger.name} accepts ${displayValue(window)}`,
    ...whyOf(
      droop &&
        `between no load and full load, droop ${formatNumber(numberIn(droop, '%'))} %${isUsual ? ' (ISO 8528-5 class G1; not stated)' : ''}`,
    ),
    consequence: 'it rejects the supply, or hunts as its own load moves the frequency',
    advice: `Choose a charger that accepts ${bandText(band, 'Hz')}, or a generator with an electronic governor or an output stage.`,
    use: useOf(band, window),
    numbers: { window, low: band.low, high: band.high },
    related: [{ place: placeOf(source, 'frequency'), text: `${source.name} gives ${displayValue(given)}` }],
  };
}

/** A stepped wave from an inverter; the distortion of sets is the matter of `generator-distortion`. */
function waveformOutcome(charger: Instance, source: Instance, context: DesignContext): Outcome {
  const needsSine = context.maybe(charger, 'accepts')?.value === 'sine';
  if (!isInverter(source) || context.maybe(source, 'waveform')?.value !== 'modified' || !needsSine) return undefined;
  return {
    place: placeOf(charger, 'accepts'),
    severity: 'error' satisfies Severity,
    headline: `${source.name} gives a stepped wave; ${charger.name} needs a sine`,
    consequence: 'it overheats or refuses to start',
    advice: 'Feed it from a sine-wave inverter, or choose a charger that accepts any waveform.',
    use: NO_LIMIT,
    related: [{ place: placeOf(source, 'waveform'), text: `${source.name} gives a stepped wave` }],
  };
}

function* judgeCharger(charger: Instance, context: DesignContext): Generator<Verdict> {
  const open: string[] = [];
  const uses: Use[] = [];
  const sources = sourcesOf(charger, context).filter((source) => source !== charger);
  for (const source of sources) {
    for (const judge of [voltageOutcome, frequencyOutcome, waveformOutcome]) {
      const outcome = judge(charger, source, context);
      if (!outcome) continue;
      if (!('place' in outcome)) {
        if ('use' in outcome) uses.push(outcome.use);
        else open.push(...outcome.missing);
        continue;
      }
      yield { verdict: 'failed', subject: charger.path, ...outcome };
      return;
    }
  }
  if (open.length > 0) yield notChecked(charger, { kind: 'missing', missing: [...new Set(open)] });
  else if (sources.length > 0) yield passed(charger, uses.length > 0 ? fullest(uses[0]!, ...uses.slice(1)) : NO_LIMIT);
}

export const chargerWindow = defineCheck({
  id: 'charger-window',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The supply of a charger strays out of the voltages or frequencies it accepts, or has a waveform it rejects.',
    guards:
      'A charger that drops out at every dip and starts again, over and over, on a generator that is strong enough.',
    how: points(
      'The voltage of each supply with its `tolerance` against the window `input` of the charger; the frequency against its `frequency`.',
      'A generator with a governor runs fast without load and slow at full load: `droop`, half of it above nominal and half below, 8 % where a conventional generator states none (ISO 8528-5 class G1).',
      'A stepped-wave inverter does not feed a charger with `accepts: sine`.',
      'A finding that rests on a usual tolerance or droop is a warning. Voltages and frequencies that do not meet at all are found by `unlike-terminals`, the distortion of generators by `generator-distortion`.',
    ),
    fix: 'Use a supply within the window of the charger, or a charger with a wider one.',
    sources: [
      generatorPractice('governor-droop').source,
      { standard: 'ISO 8528-5 class G1, ANSI C84.1 range A', table: 'steady voltage ±5 %', provenance: 'published' },
      PRACTICE,
    ],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   tolerance: 10 %   frequency: 50 Hz   waveform: inverter }
  charger Rect { input: 210..250 V   frequency: 47..53 Hz   currentLimit: 40 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   tolerance: 10 %   frequency: 50 Hz   waveform: inverter }
  charger Rect { input: 180..264 V   frequency: 47..53 Hz   currentLimit: 40 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) {
      const takes = isAcCharger(instance) || (isInverter(instance) && passingOf(instance) !== undefined);
      if (takes) yield* judgeCharger(instance, context);
    }
  },
});
