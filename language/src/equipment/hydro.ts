import { none } from './capabilities.js';
import { COMMON, LOCATION, MOUNTED, defineDevice, quantityOf, tableOf, wordOf } from './define.js';
import { AVAILABLE_FLOW, HYDRO_FACTS, HYDRO_POWER, TURBINE_LOSS, TURBINE_VELOCITY } from './hydro-power.js';

export const HYDRO = defineDevice({
  kind: 'hydro',
  group: 'source',
  doc: 'A hydro turbine at the end of a penstock, with its own rectifier and regulator, charging a bank with direct current.',
  properties: [
    quantityOf('head', 'length', 'm', 'Gross head: height from the water at the inlet down to the nozzle.', {
      minimum: 0,
      maximum: 2000,
    }),
    quantityOf('flow', 'flow', 'L/s', 'Flow of the stream at the inlet, all year round.', { minimum: 0 }),
    tableOf(
      'flowByMonth',
      'ratio',
      '',
      'flow',
      'L/s',
      'Flow of the stream at the inlet by month, 1 to 12; overrides `flow`.',
    ),
    quantityOf('ecologicalFlow', 'flow', 'L/s', 'Flow that must stay in the stream.', {
      minimum: 0,
      default: '0 L/s',
      note: 'none is stated: ask the authority; half of the low flow or more is often required (from memory)',
    }),
    quantityOf('designFlow', 'flow', 'L/s', 'Most that its nozzles pass at this head.', { minimum: 0 }),
    quantityOf('leastFlow', 'flow', 'L/s', 'Least that it runs with, its nozzles closed down as far as they go.', {
      minimum: 0,
    }),
    quantityOf(
      'month',
      'ratio',
      '',
      'Month by which the least that it gives is reckoned, 1 to 12; the poorest where it is not stated.',
      {
        minimum: 1,
        maximum: 12,
        whole: true,
      },
    ),
    quantityOf('penstockLength', 'length', 'm', 'Length of the penstock.', { minimum: 0 }),
    quantityOf('penstockDiameter', 'length', 'mm', 'Inner diameter of the penstock.', { minimum: 0, aboveZero: true }),
    wordOf(
      'penstock',
      {
        plastic: 'polyethylene or polyvinyl chloride',
        steel: 'steel, new',
        galvanised: 'galvanised steel',
        oldSteel: 'steel or iron that has served for years',
      },
      'Material of the penstock, for its roughness.',
    ),
    quantityOf(
      'roughness',
      'ratio',
      '',
      'Coefficient C of Hazen and Williams of the penstock; overrides its material.',
      {
        minimum: 20,
        maximum: 160,
      },
    ),
    quantityOf(
      'minorLosses',
      'ratio',
      '',
      'Sum of the loss coefficients of inlet, bends and valves, each as a share of v²/2g.',
      { minimum: 0, maximum: 100, default: '0', note: 'none is stated' },
    ),
    quantityOf('turbineEfficiency', 'ratio', '%', 'Efficiency of the turbine at the flow that it gets.', {
      minimum: 0,
      maximum: 1,
    }),
    quantityOf('generatorEfficiency', 'ratio', '%', 'Efficiency of generator and rectifier together.', {
      minimum: 0,
      maximum: 1,
    }),
    quantityOf('rated', 'power', 'W', 'Rated power of the generator, rectified.', { minimum: 0, flavour: 'active' }),
    quantityOf('voltage', 'voltage', 'V', 'Voltage that its regulator holds.', { minimum: 0 }),
    quantityOf('currentLimit', 'current', 'A', 'Highest output current of its rectifier.', { minimum: 0 }),
    wordOf(
      'heldBy',
      {
        diversion: 'a diversion load absorbs what the bank does not',
        deflector: 'a deflector or valve that acts by itself turns the water off the runner',
        freewheel: 'built to run free without harm, as its data sheet says',
      },
      'What holds the turbine while the bank accepts less than it makes: without its load it runs away.',
    ),
    quantityOf('diversionPower', 'power', 'W', 'Power of the diversion load at the highest voltage of the bank.', {
      minimum: 0,
      flavour: 'active',
    }),
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: [{ at: 'dc', carries: 'dc', from: 'water', heldBy: none }],
    charges: {
      at: 'dc',
      supply: {
        kind: 'own',
        regulates: true,
        drive: {
          by: 'formula',
          power: HYDRO_POWER,
          facts: [
            { leaf: HYDRO_FACTS.stream, property: 'flow' },
            { leaf: HYDRO_FACTS.ecologicalFlow, property: 'ecologicalFlow' },
            { leaf: HYDRO_FACTS.designFlow, property: 'designFlow' },
            { leaf: HYDRO_FACTS.head, property: 'head' },
            { leaf: HYDRO_FACTS.length, property: 'penstockLength' },
            { leaf: HYDRO_FACTS.diameter, property: 'penstockDiameter' },
            {
              leaf: HYDRO_FACTS.roughness,
              property: 'roughness',
              byWord: { property: 'penstock', table: 'pipe-roughness' },
            },
            { leaf: HYDRO_FACTS.minorLosses, property: 'minorLosses' },
            { leaf: HYDRO_FACTS.turbineEfficiency, property: 'turbineEfficiency' },
            { leaf: HYDRO_FACTS.generatorEfficiency, property: 'generatorEfficiency' },
          ],
          seasonal: { leaf: HYDRO_FACTS.stream, byMonth: 'flowByMonth' },
          month: 'month',
          held: { by: 'heldBy', diverting: 'diversion', power: 'diversionPower' },
          water: {
            head: HYDRO_FACTS.head,
            loss: TURBINE_LOSS,
            velocity: TURBINE_VELOCITY,
            diameter: 'penstockDiameter',
            available: AVAILABLE_FLOW,
            madeFor: 'designFlow',
            least: 'leastFlow',
          },
        },
      },
      setPoints: ['voltage'],
      bounds: { setting: 'currentLimit', power: 'rated' },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [{ at: 'dc', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
