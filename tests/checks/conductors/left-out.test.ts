import { describe, expect, it } from 'vitest';
import { conductorChecks } from '../../../language/src/checks/conductors/index.js';
import { analyseText } from '../../helpers/analyse.js';

/*
 * The documented failing design of each check of conductors, with one fact after the other left out: the check still finds or asks, or the
 * fact is asked for elsewhere. Silence must not follow from saying less.
 */

/** A fact with the value behind it: `size: 4 AWG`, `legs: L1, L2`, `note: "spare"`. */
const FACT =
  / {0,3}\b([a-z][A-Za-z]*): (?:"[^"]*"|[^\s}{]+(?: (?:AWG|kcmil|mm2|mohm|degC|Nm|kVA|kW|kA|Ah|hp|mm|mV|A|V|W|m|%)(?!\w))?(?:, L[123])*)/g;

/** Facts without which a thing is another thing, and what is judged of it by this check is no longer there. */
const ANOTHER_THING: Readonly<Record<string, readonly string[]>> = {
  // The rules of another practice count, and `run-protection` finds the same device.
  'protection-coordination': ['basis', 'method'],
  'socket-residual-current': ['basis'],
  // One string, as the property says.
  'string-fuses': ['parallel'],
  // Hard-wired instead of plugged in.
  'cord-ampacity': ['outlet', 'type'],
  'plug-continuous': ['outlet'],
  'plug-neutral': ['outlet'],
  // On the voltage of its supply, from line to neutral.
  'breaker-poles': ['voltage'],
  // No residual-current device, no motor, no cable for welding.
  'ground-fault-trip': ['groundFault'],
  'motor-circuit': ['motor'],
  'conductor-type': ['type'],
};

describe('a fact that is left out of a design which fails', () => {
  it.each(conductorChecks.map((check) => [check.id, check] as const))('of %s makes no silence', async (id, check) => {
    const text = check.docs.failing;
    const silent: string[] = [];
    for (const match of text.matchAll(FACT)) {
      const [fact, name] = match as unknown as readonly [string, string];
      if (ANOTHER_THING[id]?.includes(name)) continue;
      const analysis = await analyseText(text.slice(0, match.index) + text.slice(match.index + fact.length));
      const isLeft =
        analysis.findings.some((each) => each.check === id || each.check === 'syntax-error') ||
        analysis.questions.some((each) => each.check === id || each.missing.some((asked) => asked.startsWith(name)));
      if (!isLeft) silent.push(fact.trim());
    }
    expect(silent).toEqual([]);
  });

  it('names no exception that is none', () => {
    const ids = conductorChecks.map(({ id }) => id);
    expect(Object.keys(ANOTHER_THING).filter((id) => !ids.includes(id))).toEqual([]);
  });
});
