import {
  type AnsweredFinding,
  type RequirementResult,
  saidValue,
  messageWithVariant,
  readingOutcome,
} from '@wattwright/language';
import type { CheckReport } from '../report.js';
import { shownFrom } from './identity.js';
import { UNSAFE } from './safe-text.js';

/** The check that holds readings against what is worked out. */
const READING_CHECK = 'reading-mismatch';

interface Case {
  readonly classname: string;
  readonly name: string;
  readonly file?: string;
  readonly failure?: { readonly type: string; readonly message: string; readonly text: string };
  readonly skipped?: string;
  readonly output?: string;
}

/** Text of an XML document: characters that XML 1.0 cannot hold are spelled out, the marks of XML are escaped. */
const xml = (text: string): string =>
  text
    .replace(UNSAFE, (character) =>
      character === '\n' || character === '\t' ? character : `\\u{${character.codePointAt(0)!.toString(16)}}`,
    )
    // Halves of a surrogate pair, and the two characters at the end of the plane.

    .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]|[\ufffe\uffff]/g, '\ufffd')
    .replace(/[&<>"]/g, (mark) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[mark]!);

const attribute = (text: string): string => xml(text.replace(/[\n\t]+/g, ' '));

const sidesText = ({ left, right }: RequirementResult): string =>
  left && right ? `${saidValue(left)} against ${saidValue(right)}` : '';

export interface JunitOptions {
  readonly root: string;
  /** Without the file of each case, which some readers refuse. */
  readonly strict: boolean;
}

/** `check --format junit`: requirements, readings and checks as test cases, one suite for each design. */
export function reportJunit(report: CheckReport, options: JunitOptions): string {
  const designs = [...new Set(casesOf(report, options).map(({ design }) => design))];
  const suites = designs.map((design) => {
    const cases = casesOf(report, options).filter((each) => each.design === design);
    return [
      `  <testsuite name="${attribute(design)}" ${counts(cases)}>`,
      ...cases.map((each) => caseXml(each, options)),
      '  </testsuite>',
    ].join('\n');
  });
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<testsuites name="wattwright" ${failing(casesOf(report, options))}>`,
    ...suites,
    '</testsuites>',
    '',
  ].join('\n');
}

/** Of all suites together: readers that hold a document to a schema know no count of skipped cases there. */
const failing = (cases: readonly Case[]): string =>
  `tests="${cases.length}" failures="${cases.filter(({ failure }) => failure).length}" errors="0"`;

const counts = (cases: readonly Case[]): string =>
  `${failing(cases)} skipped="${cases.filter(({ skipped }) => skipped !== undefined).length}"`;

type PlacedCase = Case & { readonly design: string };

/** Of two cases of one name only the first would count, so that the second gets a number. */
function casesOf(report: CheckReport, options: JunitOptions): PlacedCase[] {
  const seen = new Map<string, number>();
  return [...requirementCases(report, options), ...readingCases(report, options), ...checkCases(report, options)].map(
    (each) => {
      const key = `${each.classname}\n${each.name}`;
      const nth = (seen.get(key) ?? 0) + 1;
      seen.set(key, nth);
      return nth === 1 ? each : { ...each, name: `${each.name} (${nth})` };
    },
  );
}

function requirementCases({ requirements }: CheckReport, { root }: JunitOptions): PlacedCase[] {
  return requirements.map((requirement) => {
    const { design, scenario, text, holds, undecided, place, reason } = requirement;
    const file = shownFrom(root, place.uri);
    const at = `${file}:${place.line + 1}:${place.character + 1}`;
    return {
      design,
      classname: scenario ? `${design}.${scenario}` : design,
      name: text,
      file,
      ...(holds === false
        ? {
            failure: {
              type: 'requirement-failed',
              message: sidesText(requirement),
              text: [at, sidesText(requirement), reason ?? ''].filter(Boolean).join('\n'),
            },
          }
        : holds === undefined
          ? { skipped: `not checked: ${undecided ?? 'not decided'}` }
          : { output: sidesText(requirement) }),
    };
  });
}

function readingCases({ readings }: CheckReport, { root }: JunitOptions): PlacedCase[] {
  return readings.map((result) => {
    const { design, reading, holds, measured } = result;
    const file = shownFrom(root, reading.place.uri);
    const at = `${file}:${reading.place.line + 1}:${reading.place.character + 1}`;
    const text = `measured ${saidValue(measured)}`;
    return {
      design,
      classname: `${design}.readings`,
      name: `${reading.subject}${reading.date ? ` on ${reading.date}` : ''}`,
      file,
      ...(holds === false
        ? { failure: { type: READING_CHECK, message: readingOutcome(result).text, text: `${at}\n${text}` } }
        : holds === undefined
          ? { skipped: `not checked: ${text}` }
          : { output: text }),
    };
  });
}

/** Checks whose findings have cases of their own. */
const TOLD: ReadonlySet<string> = new Set(['requirement-failed', READING_CHECK, 'missing-fact']);

const designOf = (subject: string): string => subject.split('.')[0] || 'text';

/** One case for each check and design: its findings, what it left open, or that it passed. */
function checkCases(report: CheckReport, { root }: JunitOptions): PlacedCase[] {
  const cases = new Map<string, { readonly design: string; readonly check: string }>();
  const note = (check: string, subject: string): void => {
    if (!TOLD.has(check)) cases.set(`${designOf(subject)}\n${check}`, { design: designOf(subject), check });
  };
  for (const { check, subject } of [...report.findings, ...report.accepted, ...report.passes, ...report.questions])
    note(check, subject);
  const of = <T extends { readonly check: string; readonly subject: string }>(
    items: readonly T[],
    design: string,
    check: string,
  ): T[] => items.filter((each) => each.check === check && designOf(each.subject) === design);
  return [...cases.values()]
    .sort((a, b) => (a.design < b.design ? -1 : a.design > b.design ? 1 : a.check < b.check ? -1 : 1))
    .map(({ design, check }) => {
      const findings = of(report.findings, design, check);
      const accepted = of(report.accepted, design, check);
      const open = of(report.questions, design, check);
      const serious = findings.filter(({ severity }) => severity !== 'info');
      const first = findings[0] ?? accepted[0];
      const base = {
        design,
        classname: `${design}.checks`,
        name: check,
        ...(first ? { file: shownFrom(root, first.place.uri) } : {}),
      };
      if (serious.length > 0)
        return {
          ...base,
          failure: {
            type: serious[0]!.severity,
            message: messageWithVariant(serious[0]!),
            text: findings.map((finding) => `${placed(finding, root)}\n${messageWithVariant(finding)}`).join('\n'),
          },
        };
      const said = [
        ...accepted.map(({ subject, accepted: by }) => `accepted on ${subject}: ${by?.reason ?? ''}`),
        ...findings.map((finding) => messageWithVariant(finding)),
      ];
      const output = said.length > 0 ? { output: said.join('\n') } : {};
      if (open.length === 0) return { ...base, ...output };
      const missing = [...new Set(open.flatMap((question) => question.missing))].join(', ');
      return { ...base, skipped: `not checked: missing ${missing}`, ...output };
    });
}

const placed = ({ place }: AnsweredFinding, root: string): string =>
  `${shownFrom(root, place.uri)}:${place.line + 1}:${place.character + 1}`;

function caseXml({ classname, name, file, failure, skipped, output }: Case, { strict }: JunitOptions): string {
  const own = [
    `classname="${attribute(classname)}"`,
    `name="${attribute(name)}"`,
    ...(file === undefined || strict ? [] : [`file="${attribute(file)}"`]),
    'time="0"',
  ].join(' ');
  const inside = [
    ...(failure
      ? [
          `      <failure type="${attribute(failure.type)}" message="${attribute(failure.message)}">${xml(failure.text)}</failure>`,
        ]
      : []),
    ...(skipped === undefined ? [] : [`      <skipped message="${attribute(skipped)}"/>`]),
    ...(output ? [`      <system-out>${xml(output)}</system-out>`] : []),
  ];
  return inside.length === 0
    ? `    <testcase ${own}/>`
    : `    <testcase ${own}>\n${inside.join('\n')}\n    </testcase>`;
}
