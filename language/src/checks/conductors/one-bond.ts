import type { DesignContext } from '../../model/context.js';
import type { SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf } from '../verdicts.js';
import { type NeutralRegion, neutralRegions } from './neutral.js';

const RULES: Readonly<Record<string, string>> = {
  nec: 'NEC 250.24(A)(5), 250.30 and 250.34',
  iec: 'IEC 60364-1 and 60364-5-55 551',
  craft: 'small-craft practice (ISO 13297, ABYC E-11)',
};

const isPortable = (region: NeutralRegion): boolean =>
  region.sources.some((source) => source.kind === 'generator') &&
  !region.nodes.some(({ instance }) => instance.kind === 'bus' || instance.kind === 'transfer');

function fixesForTwo(region: NeutralRegion): Fix[] {
  const transfer = region.nodes.map(({ instance }) => instance).find((instance) => instance.kind === 'transfer');
  const generator = region.bonds.find((instance) => instance.kind === 'generator' || instance.kind === 'vehicle');
  const inverter = region.bonds.find((instance) => instance.kind === 'inverter');
  const fixes: Fix[] = [];
  if (transfer && transfer.properties.get('switches')?.value.type === 'word' && region.bonds.length === 2) {
    fixes.push(
      propose(
        `Let ${transfer.name} switch the neutral too`,
        [setProperty(transfer, 'switches', 'phases-and-neutral')],
        true,
      ),
    );
  }
  if (generator && region.bonds.length === 2)
    fixes.push(
      propose(`Float the neutral of ${generator.name} (only where its maker allows it)`, [
        setProperty(generator, 'neutralBond', 'floating'),
      ]),
    );
  if (inverter && region.bonds.length === 2)
    fixes.push(
      propose(
        `Bond ${inverter.name} only while it inverts`,
        [setProperty(inverter, 'neutralBond', 'switched')],
        fixes.length === 0,
      ),
    );
  return fixes;
}

function fixesForNone(region: NeutralRegion): Fix[] {
  const inverter = region.sources.find((source) => source.kind === 'inverter');
  if (inverter)
    return [
      propose(`Bond ${inverter.name} while it inverts`, [setProperty(inverter, 'neutralBond', 'switched')], true),
    ];
  const generator = region.sources.find((source) => source.kind === 'generator' || source.kind === 'grid');
  return generator ? [propose(`Bond ${generator.name}`, [setProperty(generator, 'neutralBond', 'bonded')], true)] : [];
}

const named = (things: readonly Instance[]): string => things.map(({ name }) => name).join(' and ');

function judgeRegion(region: NeutralRegion, state: SourceState, context: DesignContext): Verdict {
  const [first] = region.sources;
  const subject = first ?? region.nodes[0]!.instance;
  // Two bonds are wrong whatever the silent ones do; one or none can still be right.
  if (region.unsaid.length > 0 && region.bonds.length < 2) {
    return notChecked(subject, { kind: 'missing', missing: region.unsaid.map(({ name }) => `neutralBond of ${name}`) });
  }
  if (region.bonds.length === 1) return passed(subject);
  const rule = `${RULES[context.system.basis.practice]} (${basisText(context.system.basis)})`;
  const when = context.states.length > 1 ? `With ${state.title}` : 'Here';
  if (region.bonds.length === 0) {
    const portable = isPortable(region);
    return {
      verdict: 'failed',
      subject: subject.path,
      place: placeOf(subject, 'neutralBond'),
      ...(portable ? { severity: 'warning' as const } : {}),
      message: `${when}, the neutral fed by ${named(region.sources)} is bonded to earth nowhere: an earth fault does not trip a breaker and earth-fault protection may not work. ${portable ? 'A set that feeds only cord-connected equipment may float where its maker and the local rules allow it; anything fixed needs one bond.' : 'Exactly one bond is needed in every source state.'} Rule: ${rule}.`,
      fixes: fixesForNone(region),
    };
  }
  const transfer = region.nodes.map(({ instance }) => instance).find((instance) => instance.kind === 'transfer');
  return {
    verdict: 'failed',
    subject: subject.path,
    place: placeOf(region.bonds[1]!, 'neutralBond'),
    message: `${when}, the neutral is bonded to earth ${region.bonds.length === 2 ? 'twice' : `${region.bonds.length} times`}: at ${named(region.bonds)}. Neutral current then also flows over earth conductors and earth-fault protection trips without a fault. ${transfer ? `${transfer.name} leaves the neutral joined; let it switch the neutral too, or float one of the bonds.` : 'Keep one bond.'} Rule: ${rule}.`,
    related: region.bonds.map((bond) => ({
      place: placeOf(bond, 'neutralBond'),
      text: `${bond.name} bonds neutral to earth`,
    })),
    fixes: fixesForTwo(region),
  };
}

function* judge(context: DesignContext): Generator<Verdict> {
  const failed = new Set<string>();
  const open = new Set<string>();
  for (const { state, circuit } of context.circuitStates) {
    for (const region of neutralRegions(circuit, context)) {
      const verdict = judgeRegion(region, state, context);
      // The same bonds in another state are the same mistake.
      const joined = (things: readonly Instance[]): string =>
        things
          .map(({ name }) => name)
          .sort()
          .join();
      const key = region.bonds.length === 0 ? `none ${joined(region.sources)}` : joined(region.bonds);
      if (verdict.verdict === 'failed' && failed.has(key)) continue;
      if (verdict.verdict === 'failed') failed.add(key);
      if (verdict.verdict === 'not-checked') {
        const facts = verdict.missing.join();
        if (open.has(facts)) continue;
        open.add(facts);
      }
      yield verdict;
    }
  }
}

export const oneBond = defineCheck({
  id: 'one-bond',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A neutral is not bonded to earth at exactly one point in some source state.',
    guards:
      'No bond: an earth fault leaves the frame live and trips nothing. Two bonds: neutral current on earth conductors and metalwork, and earth-fault protection that trips for no fault.',
    how: 'For each source state the AC nodes whose neutrals are joined are followed through busbars, through transfer gear (all sides when it switches phases only, the chosen side when it switches the neutral too) and through inverters that pass a supply; every bond among sources, inverters (`switched` bonds only while inverting) and panels is counted. A generator that feeds only cord-connected equipment may float: no bond is then a warning.',
    sources: [
      {
        standard: 'NEC',
        edition: '2017-2023',
        table: '250.24(A)(5), 250.30, 250.34, 445.20',
        provenance: 'from memory',
      },
      { standard: 'IEC 60364-5-55', table: '551.4', provenance: 'from memory' },
    ],
    failing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: bonded }
  transfer Ats { switches: phases   rating: 100 A }
  bus Panel { rating: 100 A }
  load House { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run ToPanel: Ats.out -> Panel { size: 3 AWG   length: 3 m }
  run Line: Panel -> House { size: 10 AWG   length: 10 m }
}
`,
    passing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 100 A }
  bus Panel { rating: 100 A }
  load House { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run ToPanel: Ats.out -> Panel { size: 3 AWG   length: 3 m }
  run Line: Panel -> House { size: 10 AWG   length: 10 m }
}
`,
  },
  judge,
});
