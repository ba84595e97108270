import { type Derivation, type Result, derive, known, missing, numberIn, withFacts } from '../../derivation/index.js';
import { ruleValue } from '../../reference/index.js';
import { type PartArgument, defineFunction, may, needsPart } from '../registry.js';
import { type Found, GROUP, asResult, found, partQuantity, partWord, named } from './common.js';

const plugParameter = needsPart(['plug'], 'plug, receptacle or inlet configuration');

/** Current a plug may carry continuously: its own share where the part states one, else 80 %. */
function continuousOf(plug: PartArgument): Found<Derivation> {
  const rating = partQuantity(plug, 'rating', 'current');
  if (!rating) return { ok: false, result: missing(`rating of ${plug.name}`) };
  const own = partQuantity(plug, 'continuousShare', 'ratio');
  const share = own ?? { ...ruleValue('nec', 'plugContinuousShare'), origin: 'default' as const };
  return found(
    derive('continuous current of the plug', numberIn(share, '') * numberIn(rating, 'A'), 'A', {
      formula: 'share · rating',
      inputs: [named(share, 'share'), named(rating, 'rating')],
      ...(own || !share.source ? {} : { source: share.source }),
      notes: own ? [] : ['a device listed for 100 % of its rating may carry all of it: see its data sheet'],
    }),
  );
}

export const plugContinuous = defineFunction({
  name: 'plugContinuous',
  group: GROUP,
  summary: 'Current a plug or receptacle may carry continuously.',
  parameters: { plug: plugParameter },
  result: 'current, A',
  worst: 'low',
  validity:
    'The share the plug states, else 80 % of its rating, the rule of the NEC for loads of three hours and more, kept for other plugs as the careful value.',
  sources: ['NEC 210.20(A), 210.21(B)'],
  examples: [
    { call: 'plugContinuous(plug: NEMA-5-15)', gives: '12 A', source: 'NEC 210.21(B), 80 % of 15 A, by hand' },
    { call: 'plugContinuous(plug: NEMA-14-50)', gives: '40 A', source: 'NEC 210.21(B), 80 % of 50 A, by hand' },
  ],
  compute: ({ plug }): Result => asResult(continuousOf(plug)),
});

/** √3 between the lines of three phases; undefined facts count as one phase. */
function lineFactor(plug: PartArgument): { factor: number; text: string } {
  const phases = partWord(plug, 'phases')?.value ?? partQuantity(plug, 'phases', 'ratio')?.value;
  const three = phases === 'three' || (typeof phases === 'object' && phases.value === 3);
  return three ? { factor: Math.sqrt(3), text: '√3 · U · I' } : { factor: 1, text: 'U · I' };
}

/** What the circuits of a plug have, not what it stands: computed loads take the nominal voltage of the system (NEC 220.5(A), IEC 60038). */
function circuitVoltage(plug: PartArgument): Derivation | undefined {
  const nominal = partQuantity(plug, 'circuitVoltage', 'voltage');
  if (nominal)
    return withFacts(nominal, {
      notes: [...nominal.notes, 'nominal voltage of its circuits: NEC 220.5(A), IEC 60038'],
    });
  const rated = partQuantity(plug, 'voltage', 'voltage');
  return (
    rated && withFacts(rated, { notes: [...rated.notes, 'its rated voltage; that of its circuits is not stated'] })
  );
}

export const plugPower = defineFunction({
  name: 'plugPower',
  group: GROUP,
  summary: 'Apparent power a plug or receptacle may carry continuously.',
  parameters: {
    plug: plugParameter,
    voltage: may(
      'voltage',
      'V',
      'voltage between lines; the nominal voltage of its circuits (`circuitVoltage`) when not said, else its rated voltage',
      {
        minimum: 0,
        aboveMinimum: true,
      },
    ),
  },
  result: 'apparent power, VA',
  worst: 'low',
  validity: 'As `plugContinuous`; balanced legs or phases.',
  sources: ['NEC 210.20(A), 210.21(B)', 'NEC 220.5(A) and IEC 60038, nominal voltages (from memory)'],
  examples: [
    {
      call: 'plugPower(plug: L14-30)',
      gives: '5760 VA',
      source:
        'hand calculation: 0.8 · 30 A · 240 V, the nominal 120/240 V of its circuits (NEC 220.5(A)), not the 250 V it is rated for',
    },
    {
      call: 'plugPower(plug: L14-30, voltage: 240 V)',
      gives: '5760 VA',
      source: 'generator information page on the L14-30 at 240 V, 80 %',
    },
    {
      call: 'plugPower(plug: TT-30, voltage: 120 V)',
      gives: '2880 VA',
      source: 'hand calculation: 0.8 · 30 A · 120 V',
    },
  ],
  compute: ({ plug, voltage }): Result => {
    const current = continuousOf(plug);
    if (!current.ok) return current.result;
    const between = voltage ?? circuitVoltage(plug);
    if (!between) return missing('voltage');
    const line = lineFactor(plug);
    return known(
      derive(
        'continuous apparent power of the plug',
        line.factor * numberIn(between, 'V') * numberIn(current.value, 'A'),
        'VA',
        { symbol: 'S', formula: line.text, inputs: [named(between, 'U'), named(current.value, 'I')] },
      ),
    );
  },
});
