import {
  type AnsweredFinding,
  type Check,
  type Finding,
  type Place,
  type Severity,
  checkMarkdown,
  messageWithVariant,
  ruleText,
  sourceText,
} from '@wattwright/language';
import { URI } from 'langium';
import { createHash } from 'node:crypto';
import { pathToFileURL } from 'node:url';
import type { ArtifactLocation, Fix as SarifFix, Location, Log, Region, ReportingDescriptor, Result } from 'sarif';
import { isInside } from '../../files/inside.js';
import { VERSION } from '../../version.js';
import type { CheckReport } from '../report.js';
import { useJson } from './json.js';
import { fileName } from '../session.js';

/** Address of the schema of SARIF 2.1.0. Source: OASIS SARIF 2.1.0 plus errata 01. */
const SCHEMA = 'https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json';
const BASE = '%SRCROOT%';

const levelOf = (severity: Severity): 'error' | 'warning' | 'note' => (severity === 'info' ? 'note' : severity);

/** Text of a design must not become a link in a viewer: SARIF reads `[text](target)` in messages as one (section 3.11.6). */
const plain = (text: string): string => text.replaceAll('](', '] (');

/**
 * Files in the working folder are relative to it, so that a log can be read elsewhere. Others are given by their whole address: a
 * relative one may not lead out of its base (section 3.14.14).
 */
function artifact(uri: string): ArtifactLocation {
  const parsed = URI.parse(uri);
  if (parsed.scheme === 'file' && isInside(process.cwd(), parsed.fsPath)) {
    // Through bytes, so that half of a surrogate pair, which no address can hold, becomes U+FFFD.
    const relative = encodeURI(Buffer.from(fileName(uri)).toString()).replace(/[?#]/g, encodeURIComponent);
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

const physical = (place: Place): Location['physicalLocation'] => ({
  artifactLocation: artifact(place.uri),
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
    properties: { tags: [check.group], since: check.since },
  };
}

function fixOf({ title, edits }: AnsweredFinding['fixes'][number]): SarifFix {
  const uris = [...new Set(edits.map((edit) => edit.place.uri))];
  return {
    description: { text: plain(title) },
    artifactChanges: uris.map((uri) => ({
      artifactLocation: artifact(uri),
      replacements: edits
        .filter((edit) => edit.place.uri === uri)
        .map((edit) => ({ deletedRegion: regionOf(edit.place), insertedContent: { text: edit.text } })),
    })),
  };
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

/** Stays the same when lines move: the check, the subject and the file decide. `nth` tells apart findings that share all three. */
const fingerprint = (finding: Finding, nth: number): string =>
  createHash('sha256')
    .update([finding.check, finding.subject, fileName(finding.place.uri), String(nth)].join('\n'))
    .digest('hex')
    .slice(0, 32);

/** `check --format sarif`: SARIF 2.1.0 with every check as a rule. Accepted findings are results with a suppression. */
export function reportSarif(report: CheckReport, checks: readonly Check[]): Log {
  const findings = [...report.findings, ...report.accepted];
  const documented = new Map(checks.map((check) => [check.id, check]));
  const undocumented = [...new Set(findings.map((finding) => finding.check))]
    .filter((id) => !documented.has(id))
    .sort();
  const rules = [...checks.map(ruleOf), ...undocumented.map((id): ReportingDescriptor => ({ id }))];
  const indexOf = new Map(rules.map((rule, index) => [rule.id, index]));
  const seen = new Map<string, number>();
  const resultOf = (finding: AnsweredFinding): Result => {
    const key = [finding.check, finding.subject, finding.place.uri].join('\n');
    const nth = seen.get(key) ?? 0;
    seen.set(key, nth + 1);
    return {
      ruleId: finding.check,
      ruleIndex: indexOf.get(finding.check)!,
      level: levelOf(finding.severity),
      message: { text: plain(messageWithVariant(finding)) },
      properties: propertiesOf(finding),
      locations: [
        {
          physicalLocation: physical(finding.place),
          ...(finding.subject ? { logicalLocations: [{ fullyQualifiedName: finding.subject }] } : {}),
        },
      ],
      ...(finding.related.length > 0
        ? {
            relatedLocations: finding.related.map(({ place, text }, id) => ({
              id,
              physicalLocation: physical(place),
              message: { text: plain(text) },
            })),
          }
        : {}),
      ...(finding.fixes.length > 0 ? { fixes: finding.fixes.filter(({ edits }) => edits.length > 0).map(fixOf) } : {}),
      ...(finding.accepted
        ? { suppressions: [{ kind: 'inSource', status: 'accepted', justification: finding.accepted.reason }] }
        : {}),
      partialFingerprints: { 'checkAndSubject/v1': fingerprint(finding, nth) },
    };
  };
  return {
    $schema: SCHEMA,
    version: '2.1.0',
    runs: [
      {
        tool: { driver: { name: 'wattwright', version: VERSION, semanticVersion: VERSION, rules } },
        columnKind: 'utf16CodeUnits',
        originalUriBaseIds: { [BASE]: { description: { text: 'The folder the program was started in.' } } },
        invocations: [{ executionSuccessful: true }],
        results: findings.map(resultOf),
      },
    ],
  };
}
