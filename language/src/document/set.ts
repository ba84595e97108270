import type { Analysis, AnalysedDesign } from '../analyse/types.js';
import type { System } from '../model/types.js';
import type { LaidOutDrawing, Stamp } from '../draw/index.js';
import { findingsOf } from '../draw/model/findings.js';
import { basisOf, titleOf } from '../draw/model/build.js';
import { Cells } from './cells.js';
import type { LeftOpen, SheetInput } from './input.js';
import { type Sheet, type SheetName } from './sheet.js';
import { commissioningSheet } from './sheets/commissioning.js';
import { derivationsSheet } from './sheets/derivations.js';
import { diagramSheet } from './sheets/diagram.js';
import { linksSheet } from './sheets/links.js';
import { loadsSheet } from './sheets/loads.js';
import { ownerSheet } from './sheets/owner.js';
import { partsSheet } from './sheets/parts.js';
import { planSheet } from './sheets/plan.js';
import { protectionSheet } from './sheets/protection.js';
import { settingsSheet } from './sheets/settings.js';
import { summarySheet } from './sheets/summary.js';
import { wiresSheet } from './sheets/wires.js';
import { spokenSheet } from './spoken.js';

/** Every sheet, in the order in which they are bound. The derivations come last, since they collect what the others show. */
const MAKERS: Readonly<Record<SheetName, (input: SheetInput) => Sheet>> = {
  summary: summarySheet,
  loads: loadsSheet,
  diagram: diagramSheet,
  wires: wiresSheet,
  protection: protectionSheet,
  parts: partsSheet,
  settings: settingsSheet,
  links: linksSheet,
  plan: planSheet,
  commissioning: commissioningSheet,
  owner: ownerSheet,
  derivations: derivationsSheet,
};

/** The hand-over set of one design, as data. */
export interface HandoverSet {
  readonly design: string;
  readonly variantOf?: string;
  readonly title: string;
  readonly practice: string;
  /** Words that stand on every page. */
  readonly stamp: string;
  /** Whether errors were found that nobody accepted: every page says so. */
  readonly hasErrors: boolean;
  readonly sheets: readonly Sheet[];
}

export interface HandoverOptions {
  readonly drawn: LaidOutDrawing;
  readonly stamp: Stamp;
  /** Only these sheets. The derivations are then those of these. */
  readonly only?: readonly SheetName[];
  /** What the text of the design leaves open. */
  readonly leftOpen?: readonly LeftOpen[];
}

/** What the design itself says: names and labels of its things, its comments and notes. */
function ownWords({
  label,
  doc,
  instances,
  runs,
  links,
  controls,
  scenarios,
  readings,
  outcomes,
}: System): ReadonlySet<string> {
  const things = [...instances, ...runs, ...links, ...controls];
  const parts = instances.flatMap(({ part }) => part ?? []);
  return new Set(
    [
      label,
      doc,
      ...[...things, ...parts].flatMap((each) => [each.name, each.label, each.doc]),
      ...scenarios.map((each) => each.label),
      ...[...readings, ...outcomes].map(({ note }) => note),
    ].flatMap((each) => each ?? []),
  );
}

/** Makes the sheets of one design. Its scenarios must have been played. */
export function handoverSet(
  analysis: Analysis,
  design: AnalysedDesign,
  { drawn, stamp, only, leftOpen = [] }: HandoverOptions,
): HandoverSet {
  const { system, context } = design;
  const cells = new Cells(context);
  const input: SheetInput = { analysis, design, system, context, drawn, stamp, cells, leftOpen };
  const names = (Object.keys(MAKERS) as SheetName[]).filter((name) => only === undefined || only.includes(name));
  const own = ownWords(system);
  return {
    design: system.name,
    ...(system.variantOf && system.variant ? { variantOf: system.variantOf } : {}),
    title: titleOf(system),
    practice: system.basis.practice,
    stamp: [
      system.name,
      ...(stamp.commit ? [`${stamp.commit}${stamp.isChanged ? ' with uncommitted changes' : ''}`] : []),
      ...(stamp.date ? [stamp.date] : []),
      basisOf(system),
      stamp.tool,
    ].join(' · '),
    hasErrors: findingsOf(analysis, system).some(({ severity, accepted }) => severity === 'error' && !accepted),
    sheets: names.map((name) => spokenSheet(MAKERS[name](input), system.basis.practice, own)),
  };
}
