import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, fromTable, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { collect, whenKnown } from '../../quantities/worst.js';
import { coldOpenVoltage, moduleCount, siteAmbient } from '../../quantities/supply/array.js';
import { modulePracticeFact } from '../../reference/energy/sources.js';
import { takesArray } from '../../model/roles.js';
import { chargeVoltage } from '../../quantities/supply/chargers.js';
import { calculation } from '../../quantities/calculation.js';

/** The charge controllers an array is joined to. */
export function controllersOf(array: Instance, context: DesignContext): Instance[] {
  const nodes = context.graph.nodesOf(array).flatMap((node) => [...context.graph.reach(node).values()]);
  const found = nodes.filter(takesArray);
  return [...new Set(found.map(({ instance }) => instance))];
}

/** No module is made with more power than this (common practice, no source): a larger figure is that of several, W. */
const LARGEST_MODULE = 800;

/** A number of modules or strings that nobody stated, so that it counts as 1. */
const isTaken = (array: Instance, name: 'series' | 'parallel', context: DesignContext): boolean =>
  context.maybe(array, name)?.origin === 'default';

/** What is asked for where the power of an array shows that it is not the one module for which it is taken. */
export function countLacking(array: Instance, name: 'series' | 'parallel', context: DesignContext): Result | undefined {
  const power = context.maybe(array, 'power');
  const isSeveral = power !== undefined && numberIn(power, 'W') > LARGEST_MODULE;
  return isSeveral && isTaken(array, 'series', context) && isTaken(array, 'parallel', context)
    ? missing(`${name} of ${array.name}`)
    : undefined;
}

/** Change of the voltage at maximum power with temperature: that of the power, which is a little stronger than that of the open circuit. */
function operatingCoefficient(array: Instance, context: DesignContext): Result {
  const own = context.maybe(array, 'powerCoefficient') ?? context.maybe(array, 'voltageCoefficient');
  return own ? known(own) : missing(`powerCoefficient of ${array.name}`);
}

/** Voltage at maximum power of `modules` in series at a cell temperature. */
function operatingVoltage(
  name: string,
  array: Instance,
  modules: number,
  temperature: Derivation,
  context: DesignContext,
): Result {
  const all = collect([context.fact(array, 'maximumPowerVoltage'), operatingCoefficient(array, context)]);
  if (!all.ok) return all.result;
  const [voltage, coefficient] = all.derivations as [Derivation, Derivation];
  const factor = 1 + (numberIn(coefficient, '%/K') / 100) * (numberIn(temperature, 'degC') - 25);
  return known(
    derive(name, numberIn(voltage, 'V') * modules * Math.max(0, factor), 'V', {
      symbol: 'U_mp',
      formula: 'U_mp·n_s·(1 + γ·(T − 25 °C))',
      inputs: [voltage, moduleCount(modules), coefficient, temperature],
      notes: ['the coefficient of the power stands for that of the voltage at maximum power'],
    }),
  );
}

/** Temperature of the cells in full sun at the highest air temperature: by their nominal operating temperature, else 30 K above the air. */
export function hotCells(array: Instance, context: DesignContext): Result {
  return whenKnown(siteAmbient(context), (ambient) => {
    const air = highEnd(ambient);
    const noct = context.maybe(array, 'noct');
    if (noct)
      return callFunction(calculation('cellTemperature'), {
        ambient: air,
        irradiance: derive('full sun', 1000, 'W/m2', { symbol: 'G' }),
        noct,
      });
    const usual = modulePracticeFact('cell-rise');
    const rise = fromTable('rise of the cells above the air', usual.value, 'K', usual.source, { symbol: 'ΔT' });
    return known(
      derive('cell temperature', numberIn(air, 'degC') + usual.value, 'degC', {
        symbol: 'T_c',
        formula: 'T_a + ΔT',
        inputs: [air, rise],
      }),
    );
  });
}

/** Voltage at maximum power of `modules` in series in the heat. */
export const hotVoltage = (array: Instance, modules: number, context: DesignContext): Result =>
  whenKnown(hotCells(array, context), (cells) =>
    operatingVoltage('hot string voltage', array, modules, cells, context),
  );

/** Voltage at maximum power of `modules` in series at the lowest temperature. */
export const coldOperatingVoltage = (array: Instance, modules: number, context: DesignContext): Result =>
  whenKnown(siteAmbient(context), (ambient) =>
    operatingVoltage('cold string voltage at maximum power', array, modules, lowEnd(ambient), context),
  );

/** What a string must have in the heat so that a controller can charge with it: `bare`, and with the headroom the design asks for. */
export function neededVoltage(
  controller: Instance,
  context: DesignContext,
):
  | { readonly ok: true; readonly bare: Derivation; readonly needed: Derivation }
  | { readonly ok: false; readonly result: Result } {
  const tracking = context.maybe(controller, 'tracking')?.value;
  const window = context.maybe(controller, 'window');
  const charge = chargeVoltage(controller, context);
  const open = [
    ...(tracking ? [] : [`tracking of ${controller.name}`]),
    ...(tracking === 'mppt' && !window ? [`window of ${controller.name}`] : []),
  ];
  const all = collect([charge, ...(open.length > 0 ? [missing(...open)] : [])]);
  if (!all.ok) return { ok: false, result: all.result };
  const [voltage] = all.derivations as [Derivation];
  const headroom = tracking === 'mppt' ? context.setting('stringHeadroom') : undefined;
  const least = window ? lowEnd(window) : undefined;
  const highest = (volts: Derivation): Derivation =>
    least && numberIn(least, 'V') > numberIn(volts, 'V')
      ? { ...least, name: `lower end of the window of ${controller.name}` }
      : volts;
  const withHeadroom = headroom
    ? derive('charge voltage with headroom', numberIn(voltage, 'V') + numberIn(headroom, 'V'), 'V', {
        formula: 'U_chg + headroom',
        inputs: [voltage, headroom],
      })
    : voltage;
  return { ok: true, bare: highest({ ...voltage, name: 'charge voltage' }), needed: highest(withHeadroom) };
}

/** Modules in series that stay below the controller's highest voltage in the cold, and reach what it needs in the heat. */
export function fittingSeries(
  array: Instance,
  controller: Instance,
  context: DesignContext,
): { readonly least?: number; readonly most?: number } {
  const cold = coldOpenVoltage(array, 1, context);
  const hot = hotVoltage(array, 1, context);
  const highest = context.maybe(controller, 'maximumVoltage');
  const needed = neededVoltage(controller, context);
  const upper =
    cold.kind === 'known' && highest
      ? Math.floor(numberIn(highest, 'V') / numberIn(cold.derivation, 'V') + 1e-9)
      : undefined;
  const lower =
    hot.kind === 'known' && needed.ok && numberIn(hot.derivation, 'V') > 0
      ? Math.ceil(numberIn(needed.needed, 'V') / numberIn(hot.derivation, 'V') - 1e-9)
      : undefined;
  return { ...(lower === undefined ? {} : { least: lower }), ...(upper === undefined ? {} : { most: upper }) };
}
