import {
  type ClauseName,
  type Derivation,
  type Result,
  type Shortfall,
  derive,
  known,
  numberIn,
  refused,
} from '../../derivation/index.js';
import { formatNumber } from '../../quantity/index.js';
import { type Basis, type Metal, ruleValue, standardSizes } from '../../reference/index.js';
import { defineFunction, flag } from '../registry.js';
import { ampacityOf, ampacityParameters } from './ampacity.js';
import { GROUP, currentParameter, seriesParameter, settleMetal, named } from './common.js';
import { largestAllowed, protectionOf, smallConductorRating } from './protection.js';
import { shortfallText } from './shortfall.js';

interface Need {
  readonly current: Derivation;
  /** 125 % of a continuous load, compared before correction at the terminals (nec). */
  readonly beforeCorrection: Derivation | undefined;
  /** The rating of the device the load needs, which must be allowed on the conductor. */
  readonly device: Derivation | undefined;
}

interface DeviceLimit {
  readonly rating: number;
  readonly rule: ClauseName;
}

/** The device a conductor may have: by its ampacity, and by its size where NEC 240.4(D) limits it. Cords take none above their ampacity (NEC 240.5). */
function deviceLimit(ampacity: Derivation, area: number, metal: Metal, basis: Basis, isCord: boolean): DeviceLimit {
  const byAmpacity = largestAllowed(numberIn(ampacity, 'A'), basis, isCord, 'breaker');
  const bySize = basis === 'nec' && !isCord ? smallConductorRating(area, metal) : undefined;
  if (bySize !== undefined && bySize < (byAmpacity.rating ?? 0)) return { rating: bySize, rule: 'smallConductor' };
  return { rating: byAmpacity.rating ?? 0, rule: byAmpacity.rule };
}

const within = (asked: number, allowed: number): boolean => asked <= allowed * (1 + 1e-9);

/** In which way a conductor of this ampacity will not do; undefined when it will. */
function shortfall(ampacity: Derivation, need: Need, limit: DeviceLimit): Shortfall | undefined {
  const carries = numberIn(ampacity, 'A');
  const wants = numberIn(need.current, 'A');
  if (!within(wants, carries)) return { what: 'ampacity', has: carries, wants };
  if (need.beforeCorrection) {
    const { uncorrected, terminalLimit } = ampacity.parts;
    const before = Math.min(...[uncorrected, terminalLimit].flatMap((part) => (part ? [numberIn(part, 'A')] : [])));
    const asked = numberIn(need.beforeCorrection, 'A');
    if (!within(asked, before)) return { what: 'ampacityBeforeCorrection', has: before, wants: asked };
  }
  if (need.device && !within(numberIn(need.device, 'A'), limit.rating))
    return { what: 'device', has: limit.rating, wants: numberIn(need.device, 'A'), rule: limit.rule };
  return undefined;
}

export const conductorFor = defineFunction({
  name: 'conductorFor',
  group: GROUP,
  summary: 'Smallest standard size that may carry a current, corrections, terminals and continuous load counted.',
  parameters: {
    current: currentParameter,
    continuous: flag(true, 'whether the load lasts three hours or more (nec: 125 % before correction)'),
    protection: flag(true, 'whether the conductor must also be large enough for the device the load needs'),
    series: seriesParameter,
    ...ampacityParameters,
  },
  result: 'conductor size; .ampacity of that size, .protection the device for the load',
  worst: 'high',
  validity:
    'As `ampacity`, over the standard sizes of the practice. nec: the larger of two sizes: 125 % of a continuous load before correction at the terminals, and the load after correction (never both factors at once); iec and craft: ampacity at least the load. Then, unless `protection: no`, the standard device the load needs (`protectionFor`) must be allowed on the conductor (`largestProtection`, 240.4(D)). Voltage drop is not looked at.',
  sources: ['NEC 210.19(A)(1), 215.2(A)(1), 110.14(C), 240.4(B) to (D)', 'IEC 60364-4-43 433.1', '33 CFR 183.425'],
  examples: [
    {
      call: 'conductorFor(current: 95 A, insulation: 75 degC, terminals: 60 degC, continuous: no)',
      gives: '2 AWG',
      source: 'fire-engineering training academy: 95 A at a 60 °C terminal',
    },
    {
      call: 'conductorFor(current: 95 A, insulation: 75 degC)',
      gives: '1 AWG',
      source: 'fire-engineering training academy: 95 A continuous, 75 °C terminals',
    },
    {
      call: 'conductorFor(current: 40 A, continuous: no, ambient: 45 degC, conductors: 6)',
      gives: '6 AWG',
      source: 'hand calculation: 75 A · 0.87 · 0.8 = 52.2 A (8 AWG 38.3 A), NEC Tables 310.16, 310.15(B)(1), (C)(1)',
    },
  ],
  compute: ({ current, continuous, protection, series, ...given }): Result => {
    const part = given.cord ?? given.type;
    const metal = settleMetal(given.metal, part);
    if (!metal.ok) return metal.result;
    const sizes = standardSizes(given.basis, metal.value.word, series);
    if (sizes.length === 0) return refused(`${given.basis} practice has no ${metal.value.word} conductors`, 'metal');
    const isCord = part?.partKind === 'cord';
    const need = needOf(current, continuous, protection, given.basis);
    let refusal: Result | undefined;
    let failed: { size: string; shortfall: Shortfall } | undefined;
    for (const { name, area } of sizes) {
      const size = derive('size', area, 'mm2', { origin: 'table', notes: [name] });
      const ampacity = ampacityOf(size, given);
      if (!ampacity.ok) {
        refusal ??= ampacity.result;
        continue;
      }
      const limit = deviceLimit(ampacity.value, area, metal.value.word, given.basis, isCord);
      const why = shortfall(ampacity.value, need, limit);
      if (why !== undefined) {
        failed = { size: name, shortfall: why };
        continue;
      }
      return known(
        derive('smallest conductor for the current', area, 'mm2', {
          symbol: 'A',
          formula: [
            'smallest standard size with Iz ≥ I',
            ...(need.beforeCorrection ? ['min(I0, It) ≥ factor · I'] : []),
            ...(need.device ? ['In allowed on it'] : []),
          ].join(', '),
          inputs: [
            named(current, 'I'),
            ...(need.beforeCorrection ? [need.beforeCorrection] : []),
            ...(need.device ? [need.device] : []),
            ampacity.value,
          ],
          governing: [failed ? { kind: 'smallerSize', ...failed } : { kind: 'smallestSize', size: name }],
          notes: ['voltage drop is not looked at'],
          parts: { ampacity: ampacity.value, ...(need.device ? { protection: need.device } : {}) },
        }),
      );
    }
    if (!failed) return refusal ?? refused('no standard size could be worked out');
    return refused(
      `no standard size carries ${formatNumber(numberIn(current, 'A'))} A; ${failed.size}: ${shortfallText(failed.shortfall)}. Run conductors in parallel or raise the voltage`,
      'current',
    );
  },
});

function needOf(current: Derivation, continuous: boolean, protection: boolean, basis: Basis): Need {
  const factor = basis === 'nec' && continuous ? ruleValue('nec', 'continuousFactor') : undefined;
  const beforeCorrection =
    factor &&
    derive('ampacity needed before correction', numberIn(factor, '') * numberIn(current, 'A'), 'A', {
      formula: 'factor · I',
      inputs: [named(factor, 'factor'), named(current, 'I')],
      ...(factor.source ? { source: factor.source } : {}),
    });
  const device = protection ? protectionOf(current, continuous, basis) : undefined;
  return { current, beforeCorrection, device: device?.ok ? device.value : undefined };
}
