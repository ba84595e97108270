import {
  type AnsweredFinding,
  type Check,
  type Place,
  type Severity,
  checkMarkdown,
  messageWithVariant,
  ruleText,
  sourceText,
} from '@wattwright/language';
import { URI } from 'langium';
import { pathToFileURL } from 'node:url';
import type {
  ArtifactLocation,
  Fix as SarifFix,
  Location,
  Log,
  Notification,
  Region,
  ReportingDescriptor,
  Result,
  ThreadFlowLocation,
} from 'sarif';
import { VERSION } from '../../version.js';
import type { CheckReport } from '../report.js';
import { fingerprints, pathFrom, rootOf } from './identity.js';
import { useJson } from './json.js';

/** Address of the schema of SARIF 2.1.0. Source: OASIS SARIF 2.1.0 plus errata 01. */
const SCHEMA = 'https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json';
const BASE = '%SRCROOT%';

const levelOf = (severity: Severity): 'error' | 'warning' | 'note' => (severity === 'info' ? 'note' : severity);

/** Text of a design must not become a link in a viewer: SARIF reads `[text](target)` in messages as one (section 3.11.6). */
const plain = (text: string): string => text.replaceAll('](', '] (');

/** A text between the brackets of a link of SARIF (section 3.11.6). */
const linkText = (text: string): string => text.replace(/[\\[\]]/g, (mark) => `\\${mark}`).replace(/\s+/g, ' ');

/**
 * Files below the root are relative to it, so that a log can be read elsewhere, and from every folder it is the same. Others are given by
 * their whole address: a relative one may not lead out of its base (section 3.14.14).
 */
function artifact(uri: string, root: string): ArtifactLocation {
  const parsed = URI.parse(uri);
  const inside = pathFrom(root, uri);
  if (inside !== undefined) {
    // Through bytes, so that half of a surrogate pair, which no address can hold, becomes U+FFFD.
    const relative = encodeURI(Buffer.from(inside).toString()).replace(/[?#]/g, encodeURIComponent);
    // A colon in the first step would read as a scheme (RFC 3986, section 4.2).
    return { uri: /^[^/]*:/.test(relative) ? `./${relative}` : relative, uriBaseId: BASE };
  }
  return { uri: parsed.scheme === 'file' ? pathToFileURL(parsed.fsPath).href : parsed.toString() };
}

const regionOf = (place: Place): Region => ({
  startLine: place.line + 1,
  startColumn: place.character + 1,
  endLine: place.endLine + 1,
  endColumn: place.endCharacter + 1,
});

const physical = (place: Place, root: string): Location['physicalLocation'] => ({
  artifactLocation: artifact(place.uri, root),
  region: regionOf(place),
});

function ruleOf(check: Check): ReportingDescriptor {
  return {
    id: check.id,
    name: check.id.replace(/(?:^|-)(\w)/g, (_, letter: string) => letter.toUpperCase()),
    shortDescription: { text: plain(check.docs.finds) },
    fullDescription: { text: plain(`${check.docs.finds} ${check.docs.guards}`) },
    help: {
      text: plain([check.docs.guards, check.docs.how, ...check.docs.sources.map(sourceText)].join('\n')),
      markdown: checkMarkdown(check),
    },
    defaultConfiguration: { level: levelOf(check.severity) },
    properties: {
      tags: [check.group],
      since: check.since,
      'problem.severity': check.severity === 'info' ? 'recommendation' : check.severity,
      // What rests on a value from memory is less sure than what a table says.
      precision: check.docs.sources.some(({ provenance }) => provenance === 'from memory') ? 'medium' : 'high',
    },
  };
}

function fixOf({ title, edits }: AnsweredFinding['fixes'][number], root: string): SarifFix {
  const uris = [...new Set(edits.map((edit) => edit.place.uri))];
  return {
    description: { text: plain(title) },
    artifactChanges: uris.map((uri) => ({
      artifactLocation: artifact(uri, root),
      replacements: edits
        .filter((edit) => edit.place.uri === uri)
        .map((edit) => ({ deletedRegion: regionOf(edit.place), insertedContent: { text: edit.text } })),
    })),
  };
}

/** Steps of the way that shows a fault of rules. A step has no place of its own: it takes that of the finding, so that it can be shown. */
function codeFlowsOf(finding: AnsweredFinding, root: string): Pick<Result, 'codeFlows'> {
  const { trace, place } = finding;
  if (!trace || trace.length === 0) return {};
  const locations = trace.map(({ event, state }, index): ThreadFlowLocation => ({
    executionOrder: index + 1,
    importance: 'essential',
    location: { physicalLocation: physical(place, root), message: { text: plain(event) } },
    state: Object.fromEntries(Object.entries(state).map(([name, value]) => [name, { text: plain(value) }])),
  }));
  return { codeFlows: [{ message: { text: 'Shortest way of states that shows it' }, threadFlows: [{ locations }] }] };
}

/** The fields of a finding beside its message, as in JSON output. */
function propertiesOf(finding: AnsweredFinding): NonNullable<Result['properties']> {
  const { headline, why, assumes, consequence, advice, use, cause, formerly, sources } = finding;
  const rule = ruleText(finding);
  return {
    headline,
    ...(why ? { why } : {}),
    ...(rule ? { rule } : {}),
    ...(assumes.length > 0 ? { assumes } : {}),
    ...(consequence ? { consequence } : {}),
    ...(advice ? { advice } : {}),
    ...(use ? { use: useJson(use) } : {}),
    ...(cause ? { cause } : {}),
    ...(formerly ? { formerly } : {}),
    ...(sources.length > 0 ? { sources: [...new Set(sources.map(sourceText))] } : {}),
  };
}

export interface SarifOptions {
  /** Folder that paths start at. */
  readonly root?: string;
  /** Whether accepted findings are results with a suppression. Code scanning takes those for open alerts, so that they are left out unless asked for. */
  readonly withAccepted?: boolean;
  /** Whether missing facts are results; else they are notifications of the run. */
  readonly withMissingFacts?: boolean;
  readonly exitCode?: number;
}

const MISSING_FACT = 'missing-fact';

/** `check --format sarif`: SARIF 2.1.0 with every check as a rule. */
export function reportSarif(report: CheckReport, checks: readonly Check[], options: SarifOptions = {}): Log {
  const root = options.root ?? rootOf();
  const isResult = ({ check }: AnsweredFinding): boolean => options.withMissingFacts === true || check !== MISSING_FACT;
  const findings = [...report.findings.filter(isResult), ...(options.withAccepted ? report.accepted : [])];
  const documented = new Map(checks.map((check) => [check.id, check]));
  const undocumented = [...new Set(findings.map((finding) => finding.check))]
    .filter((id) => !documented.has(id))
    .sort();
  const rules = [...checks.map(ruleOf), ...undocumented.map((id): ReportingDescriptor => ({ id }))];
  const indexOf = new Map(rules.map((rule, index) => [rule.id, index]));
  const prints = fingerprints(findings, report.requirements, root);
  const sources = [...new Set(findings.flatMap((finding) => finding.sources.map(sourceText)))].sort();
  const resultOf = (finding: AnsweredFinding): Result => {
    const own = [...new Set(finding.sources.map(sourceText))];
    const links = finding.related.map(({ text }, id) => `[${linkText(text)}](${id})`);
    // Viewers show only those related places that the message links.
    const see = links.length > 0 ? ` See ${links.join(', ')}.` : '';
    return {
      ruleId: finding.check,
      ruleIndex: indexOf.get(finding.check)!,
      level: levelOf(finding.severity),
      message: { text: `${plain(messageWithVariant(finding))}${see}` },
      properties: propertiesOf(finding),
      ...(own.length > 0
        ? { taxa: own.map((id) => ({ id, index: sources.indexOf(id), toolComponent: { index: 0 } })) }
        : {}),
      locations: [
        {
          physicalLocation: physical(finding.place, root),
          ...(finding.subject ? { logicalLocations: [{ fullyQualifiedName: finding.subject }] } : {}),
        },
      ],
      ...(finding.related.length > 0
        ? {
            relatedLocations: finding.related.map(({ place, text }, id) => ({
              id,
              physicalLocation: physical(place, root),
              message: { text: plain(text) },
            })),
          }
        : {}),
      ...codeFlowsOf(finding, root),
      ...(finding.fixes.length > 0
        ? { fixes: finding.fixes.filter(({ edits }) => edits.length > 0).map((fix) => fixOf(fix, root)) }
        : {}),
      ...(finding.accepted
        ? { suppressions: [{ kind: 'inSource', status: 'accepted', justification: finding.accepted.reason }] }
        : {}),
      partialFingerprints: { 'checkAndSubject/v2': prints.get(finding)! },
    };
  };
  const notifications = report.findings
    .filter((finding) => !isResult(finding))
    .map((finding): Notification => ({
      level: 'note',
      message: { text: plain(`${finding.subject}: ${messageWithVariant(finding)}`) },
      descriptor: { id: finding.check },
      locations: [{ physicalLocation: physical(finding.place, root) }],
    }));
  return {
    $schema: SCHEMA,
    version: '2.1.0',
    runs: [
      {
        tool: {
          driver: {
            name: 'wattwright',
            version: VERSION,
            semanticVersion: VERSION,
            rules,
            ...(sources.length > 0 ? { supportedTaxonomies: [{ name: 'sources', index: 0 }] } : {}),
          },
        },
        ...(sources.length > 0
          ? {
              taxonomies: [
                {
                  name: 'sources',
                  shortDescription: { text: 'Standards, tables and practices that findings rest on' },
                  taxa: sources.map((id) => ({ id, shortDescription: { text: plain(id) } })),
                },
              ],
            }
          : {}),
        automationDetails: { id: 'wattwright/' },
        columnKind: 'utf16CodeUnits',
        originalUriBaseIds: {
          [BASE]: { description: { text: 'The top of the repository, else the folder the program was started in.' } },
        },
        invocations: [
          {
            executionSuccessful: true,
            ...(options.exitCode === undefined ? {} : { exitCode: options.exitCode }),
            ...(notifications.length > 0 ? { toolExecutionNotifications: notifications } : {}),
          },
        ],
        results: findings.map(resultOf),
      },
    ],
  };
}
