import { type Derivation, type Result, fromTable, known } from '../../derivation/index.js';
import { type Leaf, type Named, worked } from '../../equipment/formula/index.js';
import {
  GIVEN_FLOW,
  GIVEN_LOSS,
  HYDRO_FACTS,
  HYDRO_POWER_OF_FLOW,
  PENSTOCK_FRICTION,
  PENSTOCK_LOSS,
  PENSTOCK_VELOCITY,
} from '../../equipment/hydro-power.js';
import { pipeRoughness } from '../../reference/energy/index.js';
import { defaults, defineFunction, may, needs, wordOr } from '../registry.js';

const HAZEN_WILLIAMS = 'Hazen and Williams in SI, 10.67·L·Q^1.852/(C^1.852·D^4.8704): handbooks of hydraulics';
const MATERIALS = ['plastic', 'steel', 'galvanised', 'oldSteel'] as const;

const read = (term: Named, subject: string, facts: ReadonlyMap<Leaf, Derivation>): Result =>
  worked(
    term,
    subject,
    (leaf) => facts.get(leaf),
    (leaf) => leaf.key,
  );

function roughnessOf(stated: Derivation | undefined, material: string): Derivation {
  if (stated) return stated;
  const row = pipeRoughness(material)!;
  return fromTable(`coefficient C of ${row.title}`, row.coefficient, '', row.source, { symbol: 'C' });
}

export const penstockLoss = defineFunction({
  name: 'penstockLoss',
  group: 'sources',
  summary: 'Head that water loses in a full pipe by friction, and in its bends and valves.',
  parameters: {
    flow: needs('flow', 'L/s', 'flow in the pipe', { minimum: 0, maximum: 1e5 }),
    length: needs('length', 'm', 'length of the pipe', { minimum: 0, maximum: 20000 }),
    diameter: needs('length', 'mm', 'inner diameter', { minimum: 15, maximum: 3000 }),
    roughness: may('ratio', '', 'coefficient C of Hazen and Williams; overrides the material', {
      minimum: 20,
      maximum: 160,
    }),
    material: wordOr(MATERIALS, 'plastic', 'material of the pipe'),
    minorLosses: defaults('ratio', '', 0, 'sum of the loss coefficients of inlet, bends and valves', {
      minimum: 0,
      maximum: 100,
      defaultSource: 'friction alone',
    }),
  },
  result: 'head in m; `.friction` is that of the pipe alone, `.velocity` that of the water',
  worst: 'high',
  validity:
    'Water of 5 to 25 °C in full pipes of 50 mm and more at 0.5 to 3 m/s: there within some 5 % of Darcy and Colebrook; smaller, faster or slower it strays further. No other liquids.',
  sources: [HAZEN_WILLIAMS, 'loss coefficients by v²/2g: textbooks of hydraulics'],
  examples: [
    {
      call: 'penstockLoss(flow: 500 gal/min, length: 100 ft, diameter: 8 in, roughness: 150)',
      gives: '0.395 ft',
      tolerance: 0.02,
      source:
        'encyclopaedia of appropriate technology: 0.395 ft for each 100 ft of 8 in PVC by the form with 0.2083 and d^4.8655, which lies 1.9 % above that in SI (the exponent in its printed formula is a slip)',
    },
    {
      call: 'penstockLoss(flow: 750 gal/min, length: 300 ft, diameter: 14 in, roughness: 130)',
      gives: '0.0639 m',
      tolerance: 0.01,
      source:
        'examination question on a 14 in pipe with 20 psi at its outlet: by 4.52·Q^1.85/(C^1.85·d^4.87) it loses 0.0909 psi; the published 22.5 psi at the inlet does not stand',
    },
    {
      call: 'penstockLoss(flow: 150 gal/min, length: 1000 ft, diameter: 3 in, roughness: 150)',
      gives: '50 ft',
      tolerance: 0.01,
      source: 'Masters, micro-hydro example, from memory: 50 ft read from a chart for 3 in polyethylene',
    },
    {
      call: 'penstockLoss(flow: 10 L/s, length: 250 m, diameter: 100 mm, roughness: 150)',
      gives: '3.651 m',
      source: 'own: 10.67·250·0.01^1.852/(150^1.852·0.1^4.8704); Darcy and Colebrook give 3.555 m',
    },
  ],
  compute: ({ flow, length, diameter, roughness, material, minorLosses }) => {
    const facts = new Map<Leaf, Derivation>([
      [GIVEN_FLOW, flow],
      [HYDRO_FACTS.length, length],
      [HYDRO_FACTS.diameter, diameter],
      [HYDRO_FACTS.roughness, roughnessOf(roughness, material)],
      [HYDRO_FACTS.minorLosses, minorLosses],
    ]);
    const [loss, friction, velocity] = [PENSTOCK_LOSS, PENSTOCK_FRICTION, PENSTOCK_VELOCITY].map((term) =>
      read(term, 'the pipe', facts),
    ) as [Result, Result, Result];
    if (loss.kind !== 'known' || friction.kind !== 'known' || velocity.kind !== 'known') return loss;
    return known({
      ...loss.derivation,
      parts: { friction: friction.derivation, velocity: velocity.derivation },
    });
  },
});

export const hydroPower = defineFunction({
  name: 'hydroPower',
  group: 'sources',
  summary: 'Power that a flow of water gives through a turbine.',
  parameters: {
    head: needs('length', 'm', 'gross head', { minimum: 0, maximum: 2000 }),
    flow: needs('flow', 'L/s', 'flow through the turbine', { minimum: 0, maximum: 1e6 }),
    loss: defaults('length', 'm', 0, 'head lost in the penstock, such as `penstockLoss`', {
      minimum: 0,
      maximum: 2000,
      defaultSource: 'the head is taken as net',
    }),
    turbineEfficiency: needs('ratio', '', 'efficiency of the turbine at this flow', { minimum: 0, maximum: 1 }),
    generatorEfficiency: defaults('ratio', '', 1, 'efficiency of generator and rectifier', {
      minimum: 0,
      maximum: 1,
      defaultSource: 'power of the shaft',
    }),
  },
  result: 'power in W',
  worst: 'low',
  validity:
    'Fresh water (1000 kg/m³) in standard gravity. An efficiency holds near its own flow: at part flow that of propeller and Francis turbines falls steeply.',
  sources: ['P = ρ·g·Q·H·η: textbooks of hydraulics; standard gravity of ISO 80000-3'],
  examples: [
    {
      call: 'hydroPower(head: 50 m, flow: 5 L/s, turbineEfficiency: 50 %)',
      gives: '1226 W',
      source: 'data page on small turbines: 1250 W with g rounded to 10; 1226 W with 9.81',
    },
    {
      call: 'hydroPower(head: 50 m, flow: 5 L/s, loss: 5 m, turbineEfficiency: 50 %)',
      gives: '1103 W',
      source: 'the same with 45 m net: 1125 W with g rounded to 10; 1104 W with 9.81',
    },
    {
      call: 'hydroPower(head: 120 m, flow: 100 m3/s, loss: 35 m, turbineEfficiency: 80 %)',
      gives: '66.7 MW',
      source: 'text on fluid mechanics, example 5-13, answer from memory',
    },
    {
      call: 'hydroPower(head: 100 ft, flow: 150 gal/min, loss: 50 ft, turbineEfficiency: 53 %)',
      gives: '749 W',
      tolerance: 5e-3,
      source:
        'Masters, micro-hydro example, from memory: 750 W by the rule head (ft) times flow (gal/min) over 10, which is 53 % of all',
    },
  ],
  compute: ({ head, flow, loss, turbineEfficiency, generatorEfficiency }) =>
    read(
      HYDRO_POWER_OF_FLOW,
      'the turbine',
      new Map<Leaf, Derivation>([
        [HYDRO_FACTS.head, head],
        [GIVEN_FLOW, flow],
        [GIVEN_LOSS, loss],
        [HYDRO_FACTS.turbineEfficiency, turbineEfficiency],
        [HYDRO_FACTS.generatorEfficiency, generatorEfficiency],
      ]),
    ),
});
