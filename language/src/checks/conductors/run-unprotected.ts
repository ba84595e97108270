import { callFunction } from '../../calculate/index.js';
import { type Derivation, deriveFact, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import { canFeed, isAcSource } from '../../model/network.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { calculation } from '../../quantities/bank.js';
import { ampacityAt } from '../../quantities/conductor.js';
import { ruleValue } from '../../reference/index.js';
import { defineCheck, type Fix, type TextEdit, type Verdict } from '../define.js';
import { insertText, propose } from '../fixes.js';
import { basisText, notChecked, passed } from '../verdicts.js';
import { wayFrom } from './faults.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { largestDevice } from './sizing.js';

type End = 'near' | 'far';

const isDevice = ({ instance }: Stop): boolean => instance.kind === 'fuse' || instance.kind === 'breaker';

/**
 * Sources that limit their own current to their rating: what they can drive into a run is its design current, which `run-ampacity` judges,
 * so that they need no device at their end.
 */
const SELF_LIMITED = ['charger', 'chargeController', 'inverter', 'solar', 'wind', 'alternator', 'converter'];

/**
 * Current up to which a source can feed into a run's end before something on the way opens: the smallest device between them, the
 * source's own breaker or service. Undefined when nothing limits it.
 */
function limitFrom(
  source: Instance,
  end: Node,
  run: Run,
  context: DesignContext,
): { limit?: Derivation; missing: readonly string[] } {
  const limits: Derivation[] = [];
  const facts: string[] = [];
  const way = wayFrom(source, end, context, run);
  for (const passed of way?.runs ?? []) {
    for (const stop of [passed.from, ...passed.through, ...passed.to].filter(isDevice)) {
      // Devices beyond the end itself, in branches of the same run, do not stand on the way.
      if (
        passed.to.length > 1 &&
        passed.to.includes(stop) &&
        !way!.nodes.some(({ instance }) => instance === stop.instance)
      )
        continue;
      const rating = context.fact(stop.instance, 'rating');
      if (rating.kind === 'known') limits.push(rating.derivation);
      else if (rating.kind === 'missing') facts.push(...rating.missing);
    }
  }
  const own =
    source.kind === 'generator'
      ? context.maybe(source, 'breaker')
      : isAcSource(source)
        ? context.maybe(source, 'rating')
        : undefined;
  if (own) limits.push(own);
  if (source.kind === 'generator' && context.maybe(source, 'integralProtection')?.value === true) {
    const rated = context.quantity(source, 'ratedCurrent');
    if (rated.kind === 'known') limits.push(rated.derivation);
  }
  const smallest = limits.reduce<Derivation | undefined>(
    (so, next) => (!so || numberIn(next, 'A') < numberIn(so, 'A') ? next : so),
    undefined,
  );
  return { ...(smallest ? { limit: smallest } : {}), missing: facts };
}

/** How far from its source the device of a run may stand, in mm; undefined where the practice names no distance. */
function distanceLimit(
  run: Run,
  atBattery: boolean,
  context: DesignContext,
): { limit: Derivation; text: string } | undefined {
  const { practice } = context.system.basis;
  if (run.carries !== 'dc') return undefined;
  if (practice === 'iec') {
    return {
      limit: derive('distance of the device', 3, 'm', {
        source: { standard: 'IEC 60364-4-43', table: '434.2.1', provenance: 'from memory' },
      }),
      text: 'IEC 60364-4-43 434.2.1, from memory: 3 m where a short circuit is unlikely and nothing burns nearby',
    };
  }
  if (practice !== 'craft') return undefined;
  const isEnclosed = context.maybe(run, 'enclosed')?.value === true;
  const rule = isEnclosed
    ? atBattery
      ? 'protectionDistanceAtBattery'
      : 'protectionDistanceEnclosed'
    : 'protectionDistance';
  const limit = ruleValue('craft', rule);
  return {
    limit,
    text: `ABYC E-11.10, from quotations: ${displayValue(limit)} ${isEnclosed ? 'where the conductor is sheathed or enclosed' : 'where it is not enclosed'}`,
  };
}

/** A device name that is still free. */
function freeName(base: string, context: DesignContext): string {
  let name = base;
  for (let count = 2; context.instance(name) || context.system.runs.some((run) => run.name === name); count += 1)
    name = `${base}${count}`;
  return name;
}

function addFuse(run: Run, end: End, largest: Derivation | undefined, context: DesignContext): Fix[] {
  const current = context.quantity(run, 'current');
  if (current.kind !== 'known' || numberIn(current.derivation, 'A') === 0 || !largest || run.to.length > 1) return [];
  const rating = callFunction(calculation('protectionFor'), {
    current: current.derivation,
    basis: deriveFact('basis', context.system.basis.practice, { origin: 'stated' }),
  });
  if (rating.kind !== 'known' || numberIn(rating.derivation, 'A') > numberIn(largest, 'A') * (1 + 1e-9)) return [];
  const name = freeName(`${run.name}Fuse`, context);
  const stop = end === 'near' ? run.from : run.to[0]!;
  const at = run.carries === 'dc' && context.system.basis.practice !== 'nec' && end === 'near' ? ` @ 100 mm` : '';
  const edits: TextEdit[] = [
    insertText(context.system.insert, `fuse ${name} { rating: ${numberIn(rating.derivation, 'A')} A }`),
    end === 'near'
      ? {
          place: {
            ...stop.place,
            offset: stop.place.end,
            line: stop.place.endLine,
            character: stop.place.endCharacter,
          },
          text: ` -> ${name}${at}`,
        }
      : {
          place: {
            ...stop.place,
            end: stop.place.offset,
            endLine: stop.place.line,
            endCharacter: stop.place.character,
          },
          text: `${name} -> `,
        },
  ];
  return [
    propose(
      `Add a fuse of ${numberIn(rating.derivation, 'A')} A at the ${stop.instance.name} end of ${run.name}`,
      edits,
      true,
    ),
  ];
}

function* judgeEnd(run: Run, end: End, context: DesignContext): Generator<Verdict> {
  const { near, far, loop } = context.graph.sides(run);
  if (loop) return;
  const nodes = end === 'near' ? near : far;
  const feeders = [...new Set(nodes.filter(canFeed).map(({ instance }) => instance))];
  if (feeders.length === 0) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const ampacity = ampacityAt(run, size.derivation, context);
  if (ampacity.kind !== 'known') return yield notChecked(run, ampacity);
  const largest = largestDevice(run, ampacity.derivation, size.derivation, context);
  const most =
    largest.kind === 'known' && numberIn(largest.derivation, 'A') > numberIn(ampacity.derivation, 'A')
      ? largest.derivation
      : ampacity.derivation;

  const stop = end === 'near' ? run.from : run.to[0]!;
  const endNode = context.graph.nodeOf(stop);
  const limits = feeders
    .filter(({ kind }) => !SELF_LIMITED.includes(kind))
    .map((source) => ({ source, ...limitFrom(source, endNode, run, context) }));
  const open = limits.filter(
    ({ limit }) => limit === undefined || numberIn(limit, 'A') > numberIn(most, 'A') * (1 + 1e-9),
  );
  if (open.length === 0) return yield passed(run, { ampacity: ampacity.derivation });

  const stops = [run.from, ...run.through, ...run.to];
  const inOrder = end === 'near' ? stops : [...stops].reverse();
  const device = inOrder.find(isDevice);
  const names = open.map(({ source }) => source.name).join(' and ');
  const facts = open.flatMap(({ missing: lacking }) => lacking);
  if (!device) {
    if (facts.length > 0) return yield notChecked(run, { kind: 'missing', missing: facts });
    const larger = open.find(({ limit }) => limit);
    const why = larger?.limit
      ? `the next device towards ${larger.source.name} is rated ${displayValue(larger.limit)}, and ${displayValue(size.derivation)} may have ${displayValue(most)} at most`
      : `nothing between ${names} and its ${displayValue(size.derivation)} conductors opens`;
    const fixes = addFuse(run, end, largest.kind === 'known' ? largest.derivation : undefined, context);
    yield {
      verdict: 'failed',
      subject: run.path,
      place: stop.place,
      message: `${run.name} can be fed by ${names} at its ${stop.instance.name} end and has no fuse or breaker there: ${why}. A short circuit in the run would burn it (${basisText(context.system.basis)}).${fixes[0] ? ` ${fixes[0].title}.` : ' Put a device at that end.'}`,
      numbers: { ampacity: ampacity.derivation, limit: most },
      fixes,
    };
    return;
  }
  const atBattery = stop.instance.kind === 'battery';
  const rule = distanceLimit(run, atBattery, context);
  if (!rule) return yield passed(run, { ampacity: ampacity.derivation });
  if (inOrder[0] === device) return yield passed(run, { ampacity: ampacity.derivation });
  const length = context.maybe(run, 'length');
  const fromStart = device.distance;
  if (!fromStart)
    return yield notChecked(
      run,
      {
        kind: 'missing',
        missing: [`distance of ${device.instance.name} along ${run.name} (write ${device.instance.name} @ 150 mm)`],
      },
      device.place,
    );
  if (end === 'far' && !length) return yield notChecked(run, { kind: 'missing', missing: [`length of ${run.name}`] });
  const distance =
    end === 'near'
      ? fromStart
      : derive(
          `distance of ${device.instance.name} from the far end`,
          numberIn(length!, 'm') - numberIn(fromStart, 'm'),
          'm',
          { formula: 'L − distance', inputs: [length!, fromStart] },
        );
  if (numberIn(distance, 'mm') <= numberIn(rule.limit, 'mm') * (1 + 1e-9))
    return yield passed(run, { distance, limit: rule.limit });
  const memory = rule.limit.source?.provenance === 'from memory';
  yield {
    verdict: 'failed',
    subject: run.path,
    place: device.place,
    ...(memory ? { severity: 'warning' as const } : {}),
    message: `${device.instance.name} stands ${displayValue(distance)} from the ${stop.instance.name} end of ${run.name}, where ${names} can feed it; the stretch before it is unprotected. The limit is ${displayValue(rule.limit)} (${rule.text}). Move the device, or enclose the conductor where that allows more.`,
    numbers: { distance, limit: rule.limit },
    fixes:
      fromStart.place && end === 'near'
        ? [
            propose(`Move ${device.instance.name} to ${displayValue(rule.limit)}`, [
              { place: fromStart.place, text: displayValue(rule.limit) },
            ]),
          ]
        : [],
  };
}

export const runUnprotected = defineCheck({
  id: 'run-unprotected',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A run can be fed at an end where no device protects it, or the device stands further from that end than the practice allows.',
    guards:
      'A bank drives thousands of amperes into a chafed cable; without a device near it the cable burns over its whole length.',
    how: 'For each end it is worked out what can feed it, in any state: banks, sources, the output sides of converters. A source whose current is limited on the way (a device, a service, its own electronics) to what the conductors may have needs no other; chargers, controllers, modules and inverters count as limited to what they give. Else a fuse or breaker must stand in the run; under craft within 178 mm (1016 mm enclosed, 1829 mm enclosed at a battery), under iec within 3 m, from that end. Both ends count where both can feed.',
    sources: [
      PUBLISHED('ABYC E-11.10', 'from quotations'),
      MEMORY('IEC 60364-4-43', '433.2, 434.2.1'),
      MEMORY('NEC', '240.21, 240.21(H)'),
    ],
    failing: `design Van {
  battery Bank : Lfp12V100Ah
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) {
      if (run.carries === 'any') continue;
      yield* judgeEnd(run, 'near', context);
      yield* judgeEnd(run, 'far', context);
    }
  },
});
