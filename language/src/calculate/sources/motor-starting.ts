import { type Derivation, derive, fromTable, known, numberIn, refused, withFacts } from '../../derivation/index.js';
import { CODE_LETTERS, type CodeLetter, generatorPractice, lockedRotorBand } from '../../reference/energy/index.js';
import { defaults, defineFunction, needs, word, wordOr } from '../registry.js';
import { AC_SYSTEMS, DEFINITION, apparentPower, phaseFactor } from './shared.js';

/** Starting apparent power by code letter at the upper end of the band; undefined where the band has no upper end. */
function lockedRotorPower(power: Derivation, code: CodeLetter): Derivation | undefined {
  const band = lockedRotorBand(code);
  if (band.to === null) return undefined;
  const horsepower = numberIn(power, 'hp');
  const at = (name: string, end: string, voltAmperes: number): Derivation => {
    const perHorsepower = fromTable(
      `locked-rotor VA per hp, letter ${code}, ${end}`,
      voltAmperes,
      'VA/hp',
      band.source,
    );
    return apparentPower(name, horsepower * voltAmperes, {
      symbol: 'S_lr',
      formula: 'P·s',
      inputs: [power, perHorsepower],
      source: band.source,
    });
  };
  const lower = at('starting power, lower end', 'lower end', band.from * 1000);
  const middle = at('starting power, middle', 'middle of the band', ((band.from + band.to) / 2) * 1000);
  const upper = at('starting power', 'upper end', band.to * 1000);
  return withFacts(upper, { parts: { lower, middle } });
}

const openEnded = (name: string) =>
  refused(
    `code letter V starts at ${lockedRotorBand('V').from} kVA per hp and has no upper end: ${name} needs the locked-rotor current from the data sheet`,
    'code',
  );

const motorParameters = {
  power: needs('power', 'hp', 'rated shaft power of the motor', { minimum: 0 }),
  code: word(CODE_LETTERS, 'locked-rotor code letter on the nameplate'),
};

export const startingPower = defineFunction({
  name: 'startingPower',
  group: 'sources',
  summary: 'Apparent power a motor draws at standstill by its code letter.',
  parameters: motorParameters,
  result: 'apparent power in VA at the upper end of the band; `.lower` and `.middle` of the band',
  worst: 'high',
  validity: 'Started directly at full voltage. Letter V has no upper end.',
  sources: ['NEC Table 430.7(B)', 'NEMA MG 1 part 10'],
  examples: [
    {
      call: 'startingPower(power: 20 hp, code: G)',
      gives: '125.8 kVA',
      source: 'published example of Table 430.7(B): 20 hp, letter G, 6.29 kVA per hp',
    },
    {
      call: 'startingPower(power: 10 hp, code: G).middle',
      gives: '59.5 kVA',
      source: 'motor starting reference page: 10 hp, letter G, middle of the band 5.945 kVA per hp',
    },
    {
      call: 'startingPower(power: 1 hp, code: L)',
      gives: '9.99 kVA',
      source: 'NEC Table 430.7(B), letter L: 9.0 to 9.99 kVA per hp',
    },
  ],
  compute: ({ power, code }) => {
    const starting = lockedRotorPower(power, code);
    return starting ? known(starting) : openEnded('startingPower');
  },
});

export const startingCurrent = defineFunction({
  name: 'startingCurrent',
  group: 'sources',
  summary: 'Current a motor draws at standstill by its code letter.',
  parameters: {
    ...motorParameters,
    voltage: needs('voltage', 'V', 'voltage (between lines for three phases)', { minimum: 0, aboveMinimum: true }),
    system: wordOr(AC_SYSTEMS, 'single', 'single phase or three phases'),
  },
  result: 'current in A at the upper end of the band; `.power` is the apparent power',
  worst: 'high',
  validity: 'Started directly at full voltage. Letter V has no upper end.',
  sources: ['NEC Table 430.7(B)', 'NEMA MG 1 part 10'],
  examples: [
    {
      call: 'startingCurrent(power: 20 hp, voltage: 460 V, code: G, system: three)',
      gives: '158 A',
      source: 'published example of Table 430.7(B): 20 hp, 460 V, letter G',
    },
    {
      call: 'startingCurrent(power: 1 hp, voltage: 230 V, code: L)',
      gives: '43.43 A',
      source: 'hand calculation: 9990 VA/230 V',
    },
  ],
  compute: ({ power, code, voltage, system }) => {
    const starting = lockedRotorPower(power, code);
    if (!starting) return openEnded('startingCurrent');
    const phases = phaseFactor(system);
    return known(
      derive('starting current', numberIn(starting, 'VA') / (numberIn(voltage, 'V') * numberIn(phases, '')), 'A', {
        symbol: 'I_lr',
        formula: 'S_lr/(m·U)',
        inputs: [starting, phases, voltage],
        source: DEFINITION,
        parts: { power: starting },
      }),
    );
  },
});

const reactanceFact = generatorPractice('transient-reactance');

export const voltageDip = defineFunction({
  name: 'voltageDip',
  group: 'sources',
  summary: 'Share by which a generator’s voltage dips when a motor starts on it.',
  parameters: {
    starting: needs('power', 'VA', 'apparent power of the motor at standstill', { minimum: 0 }),
    rating: needs('power', 'VA', 'rated apparent power of the generator', { minimum: 0, aboveMinimum: true }),
    reactance: defaults('ratio', '', reactanceFact.value, 'transient reactance of the alternator, per unit', {
      minimum: 0.05,
      maximum: 1,
      defaultSource: reactanceFact.source.standard,
    }),
  },
  result: 'ratio of the rated voltage',
  worst: 'high',
  validity: 'First instants, before the voltage regulator acts; the other load is left out.',
  sources: ['voltage divider of the transient reactance and the motor at standstill: common practice, no source'],
  examples: [
    {
      call: 'voltageDip(starting: 9.99 kVA, rating: 7.5 kVA)',
      gives: '0.25',
      source: 'hand calculation: 9.99·0.25/(7.5 + 9.99·0.25)',
      tolerance: 2e-3,
    },
    {
      call: 'voltageDip(starting: 30 kVA, rating: 30 kVA, reactance: 0.25)',
      gives: '0.2',
      source: 'hand calculation: 0.25/1.25',
    },
  ],
  compute: ({ starting, rating, reactance }) => {
    const share = numberIn(starting, 'VA') * numberIn(reactance, '');
    return known(
      derive('voltage dip', share / (numberIn(rating, 'VA') + share), '1', {
        symbol: 'ΔU/U',
        formula: "S_lr·X'd/(S_r + S_lr·X'd)",
        inputs: [starting, rating, reactance],
        source: { standard: 'common practice, no source', provenance: 'common practice, no source' },
      }),
    );
  },
});
