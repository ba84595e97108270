import { type Derivation, derive, known, numberIn, refused } from '../../derivation/index.js';
import { defaults, defineFunction, needs, wordOr } from '../registry.js';
import { DEFINITION, SYSTEMS, apparentPower, phaseFactor } from './shared.js';

const efficiencyParameter = needs('ratio', '', 'output power over input power at this load', {
  minimum: 0,
  maximum: 1,
  aboveMinimum: true,
});

function drawnPower(output: Derivation, efficiency: Derivation): Derivation {
  const drawn = numberIn(output, 'W') / numberIn(efficiency, '');
  return derive('input power', drawn, 'W', {
    symbol: 'P_in',
    formula: 'P_out/η',
    inputs: [output, efficiency],
    source: DEFINITION,
    parts: {
      loss: derive('loss', drawn - numberIn(output, 'W'), 'W', {
        symbol: 'P_loss',
        formula: 'P_out·(1/η − 1)',
        inputs: [output, efficiency],
        source: DEFINITION,
      }),
    },
  });
}

export const inputPower = defineFunction({
  name: 'inputPower',
  group: 'sources',
  summary: 'Power a converter draws for an output.',
  parameters: {
    output: needs('power', 'W', 'output power', { minimum: 0 }),
    efficiency: efficiencyParameter,
  },
  result: 'power in W; `.loss` is the heat',
  worst: 'high',
  validity: 'Any converter at a load for which the efficiency is known; efficiency falls at light load.',
  sources: ['definition of efficiency'],
  examples: [
    {
      call: 'inputPower(output: 400 kW, efficiency: 0.92)',
      gives: '434.8 kW',
      source: 'sizing guide of lead-acid batteries for uninterruptible supplies: 500 kVA at 0.80, 0.92 gives 435 kW',
    },
    {
      call: 'inputPower(output: 3 kW, efficiency: 85 %)',
      gives: '3529 W',
      source: 'hand calculation; a published fuse guide multiplies by 1.15 and says 3450 W, which is 2 % low',
    },
  ],
  compute: ({ output, efficiency }) => known(drawnPower(output, efficiency)),
});

export const inputCurrent = defineFunction({
  name: 'inputCurrent',
  group: 'sources',
  summary: 'Current a charger, rectifier or other converter draws from its supply.',
  parameters: {
    output: needs('power', 'W', 'output power: for a charger its current times the highest charge voltage', {
      minimum: 0,
    }),
    voltage: needs('voltage', 'V', 'lowest supply voltage (between lines for three phases)', {
      minimum: 0,
      aboveMinimum: true,
    }),
    efficiency: efficiencyParameter,
    powerFactor: defaults('ratio', '', 1, 'input power factor, distortion included', {
      minimum: 0,
      maximum: 1,
      aboveMinimum: true,
    }),
    system: wordOr(SYSTEMS, 'single', 'supply: direct current, single phase or three phases'),
  },
  result: 'current in A; `.power`, `.apparent` and `.loss` go with it',
  worst: 'high',
  validity: 'Steady state at one load. A power factor below 1 raises the current without raising the power.',
  sources: [
    'charger formula page: Iin = Vout·Iout/(Vin·η·pf), divided by √3 for three phases',
    'definition of power factor (IEC 60050-131)',
  ],
  examples: [
    {
      call: 'inputCurrent(output: 2 * 60 A * 54.4 V, voltage: 240 V, efficiency: 0.93, powerFactor: 0.98)',
      gives: '29.84 A',
      source: 'hand calculation: 6528 W/0.93/0.98/240 V; two chargers with power-factor correction',
    },
    {
      call: 'inputCurrent(output: 2 * 60 A * 54.4 V, voltage: 240 V, efficiency: 0.87, powerFactor: 0.65)',
      gives: '48.10 A',
      source: 'hand calculation: the same chargers without correction draw 61 % more',
    },
    {
      call: 'inputCurrent(output: 10 kW, voltage: 400 V, efficiency: 1, system: three)',
      gives: '14.43 A',
      source: 'hand calculation: 10000/(√3·400)',
    },
  ],
  compute: ({ output, voltage, efficiency, powerFactor, system }) => {
    if (system === 'dc' && numberIn(powerFactor, '') !== 1)
      return refused('`powerFactor` of inputCurrent has no meaning on a DC supply; leave it out', 'powerFactor');
    const power = drawnPower(output, efficiency);
    const phases = phaseFactor(system);
    const voltAmperes = numberIn(power, 'W') / numberIn(powerFactor, '');
    const apparent = apparentPower('apparent input power', voltAmperes, {
      symbol: 'S_in',
      formula: 'P_out/(η·λ)',
      inputs: [output, efficiency, powerFactor],
      source: DEFINITION,
    });
    return known(
      derive('input current', voltAmperes / (numberIn(voltage, 'V') * numberIn(phases, '')), 'A', {
        symbol: 'I_in',
        formula: 'P_out/(η·λ·m·U)',
        inputs: [output, efficiency, powerFactor, phases, voltage],
        source: { standard: 'charger formula page: Iin = Vout·Iout/(Vin·η·pf)', provenance: 'published' },
        parts: { power, apparent, loss: power.parts['loss']! },
      }),
    );
  },
});

export const inverterCurrent = defineFunction({
  name: 'inverterCurrent',
  group: 'sources',
  summary: 'Current an inverter draws from its DC supply.',
  parameters: {
    power: needs('power', 'W', 'AC output power', { minimum: 0 }),
    voltage: needs('voltage', 'V', 'lowest DC voltage at which the inverter still gives this power', {
      minimum: 0,
      aboveMinimum: true,
    }),
    efficiency: efficiencyParameter,
  },
  result: 'current in A on the DC side; `.power` is the DC power',
  worst: 'high',
  validity:
    'Mean direct current. The design current is the one at the lowest running voltage, not at the nominal one. A single-phase inverter adds ripple at twice its frequency.',
  sources: [
    'NEC 690.8(A): input current of a stand-alone inverter at the lowest input voltage that gives the rated power [from memory]',
  ],
  examples: [
    {
      call: 'inverterCurrent(power: 4000 W, voltage: 22 V, efficiency: 85 %)',
      gives: '214 A',
      source: 'manual of a charge controller, worked example',
    },
    {
      call: 'inverterCurrent(power: 2500 W, voltage: 22 V, efficiency: 0.85)',
      gives: '134 A',
      tolerance: 3e-3,
      source: 'course page on wires between inverter and battery, worked example (133.7 A rounded)',
    },
    {
      call: 'inverterCurrent(power: 3 kW, voltage: 10.5 V, efficiency: 0.9)',
      gives: '317.5 A',
      source: 'hand calculation: 3000/(0.9·10.5)',
    },
  ],
  compute: ({ power, voltage, efficiency }) => {
    const drawn = drawnPower(power, efficiency);
    return known(
      derive('inverter current', numberIn(drawn, 'W') / numberIn(voltage, 'V'), 'A', {
        symbol: 'I_dc',
        formula: 'P/(η·U_min)',
        inputs: [power, efficiency, voltage],
        source: { standard: 'NEC', edition: '2017-2023', table: '690.8(A)', provenance: 'from memory' },
        parts: { power: drawn, loss: drawn.parts['loss']! },
      }),
    );
  },
});
