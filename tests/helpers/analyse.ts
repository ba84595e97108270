import { EmptyFileSystem, URI, type LangiumDocument } from 'langium';
import {
  type Analysis,
  type Answer,
  type Finding,
  type Fix,
  type LanguageServices,
  Proposer,
  ScenarioCache,
  addLibrary,
  analyse,
  createLanguageServices,
  displayValue,
  finished,
} from '../../language/src/index.js';

/** The day all tests live in, so that dates in fixtures never run out. */
export const TODAY = '2027-01-01';

/** Services with the standard library loaded and linked, shared by the tests of one file. */
export async function createTestServices(): Promise<LanguageServices> {
  const services = createLanguageServices(EmptyFileSystem);
  const library = addLibrary(services.shared);
  await services.shared.workspace.DocumentBuilder.build(library, { validation: false });
  return services;
}

export { finished };

let shared: Promise<LanguageServices> | undefined;
let count = 0;

/** Plays by all that they rest on: a text that is looked at again, or tried with a change elsewhere, is not played again. */
const cache = new ScenarioCache();

/** A finding with what is proposed for it, worked out when a test looks. */
export interface TestedFinding extends Finding {
  readonly answer: Answer;
  readonly fixes: readonly Fix[];
  /** Everything it says, field after field, with the quantities that decided. */
  readonly told: string;
}

export interface TestedAnalysis extends Analysis {
  readonly findings: readonly TestedFinding[];
}

/**
 * Everything a finding says, for tests that look for a figure or a name wherever it stands. Sentences are the matter of
 * `wording.test.ts`: elsewhere a test asks for the check, the thing, the use of the limit and the figures.
 */
export function toldOf(finding: Finding): string {
  const { headline, why, rule, assumes, consequence, advice, numbers, trace = [] } = finding;
  const steps = trace.map(({ event }) => event);
  const figures = Object.entries(numbers).map(([name, each]) => `${name} ${displayValue(each)}`);
  return [headline, why, rule, ...assumes, consequence, advice, ...steps, ...figures].filter(Boolean).join('; ');
}

/** Findings that find what is proposed for them when they are asked. */
function tested(
  analysis: Analysis,
  documents: readonly LangiumDocument[],
  services: LanguageServices,
  today: string,
): TestedAnalysis {
  const { LangiumDocuments } = services.shared.workspace;
  const answers = new Map<Finding, Answer>();
  let proposer: Proposer | undefined;
  const answerTo = (finding: Finding): Answer => {
    const kept = answers.get(finding);
    if (kept) return kept;
    proposer ??= new Proposer(analysis, { document: documents[0]!, services, options: { today, cache } });
    for (const document of documents) LangiumDocuments.addDocument(document);
    try {
      const answer = finished(proposer.answer(finding));
      answers.set(finding, answer);
      return answer;
    } finally {
      for (const document of documents) LangiumDocuments.deleteDocument(document.uri);
    }
  };
  const findings = analysis.findings.map((finding): TestedFinding => ({
    ...finding,
    told: toldOf(finding),
    get answer() {
      return answerTo(finding);
    },
    get fixes() {
      return answerTo(finding).proposals;
    },
  }));
  return { ...analysis, findings };
}

/** Analyses a text, or several files of one folder by name (the first is the one asked about). */
export async function analyseText(
  text: string | Readonly<Record<string, string>>,
  today = TODAY,
): Promise<TestedAnalysis> {
  const services = await (shared ??= createTestServices());
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = services.shared.workspace;
  const folder = `file:///workspace/${(count += 1)}`;
  const files = typeof text === 'string' ? { 'design.watt': text } : text;
  const documents: LangiumDocument[] = Object.entries(files).map(([name, content]) => {
    const document = LangiumDocumentFactory.fromString(content, URI.parse(`${folder}/${name}`));
    LangiumDocuments.addDocument(document);
    return document;
  });
  await DocumentBuilder.build(documents, { validation: false });
  try {
    return tested(analyse(documents[0]!, services, { today, cache }), documents, services, today);
  } finally {
    for (const document of documents) LangiumDocuments.deleteDocument(document.uri);
  }
}

/** The findings of one check. */
export const findingsOf = <F extends Finding>({ findings }: { readonly findings: readonly F[] }, check: string): F[] =>
  findings.filter((finding) => finding.check === check && !finding.accepted);

/** The facts a check asks for, over all its subjects. */
export const askedBy = (analysis: Analysis, check: string): string[] =>
  analysis.questions.filter((question) => question.check === check).flatMap(({ missing }) => missing);

/** A text with the edits of a fix applied. */
export function applyFix(text: string, fix: Fix): string {
  const edits = [...fix.edits].sort((a, b) => b.place.offset - a.place.offset);
  return edits.reduce((so, edit) => so.slice(0, edit.place.offset) + edit.text + so.slice(edit.place.end), text);
}

/** What stands after a fix of a finding: whether the finding is gone, and findings (errors and warnings) that were not there before. */
export async function afterFix(text: string, check: string, fix: Fix): Promise<{ left: string[]; fresh: string[] }> {
  const told = (analysis: Analysis): string[] =>
    analysis.findings
      .filter(({ severity, accepted }) => severity !== 'info' && !accepted)
      .map(({ check: id, subject }) => `${id} ${subject}`);
  const before = told(await analyseText(text));
  const after = await analyseText(applyFix(text, fix));
  return {
    left: findingsOf(after, check).map(({ message }) => message),
    fresh: told(after).filter((each) => !before.includes(each)),
  };
}

/** Units as findings write them, so that a test may write them as the language does. */
const UNITS =
  'A2s|kA2s|A²s|kA²s|kWh|Wh|Ah|kVA|VA|kW|MW|W|kA|mA|A|mV|V|mohm|ohm|mΩ|Ω|mm2|mm²|cm2|cm²|m3/h|m³/h|L/h|L/s|L|mm|cm|km|m|ms|s|min|h|d|degC|°C|K|%|AWG|kcmil|Nm|N·m|Hz|C';
const FIGURE = new RegExp(`(?<![\\w.])[−-]?\\d+(?:\\.\\d+)?(?: (?:${UNITS})(?![\\w/]))?`, 'gu');
/** Words with a capital letter that begin sentences and name nothing. */
const STARTERS = new Set(
  'With The It Its Take Put A An In At No Each Nothing How What Of On Only Set Use Run Rule Cannot By As Here Neutral'.split(
    ' ',
  ),
);

const normalised = (text: string): string =>
  text
    .replace(/(?<=\d )degC/g, '°C')
    .replace(/(?<=\d )(m?)ohm/g, '$1Ω')
    .replace(/(?<=\d )(mm|cm)2/g, '$1²')
    .replace(/m3\/h/g, 'm³/h')
    .replace(/A2s/g, 'A²s')
    .replace(/–/g, ' to ');

/**
 * What of an expected text a finding does not tell: its figures with their units, the names and the code in it. How the sentence runs is the
 * matter of `wording.test.ts`. A text without any of these has to stand there as it is.
 */
export function lacking(told: string | undefined, expected: string | RegExp): string[] {
  const source = typeof expected === 'string' ? expected : expected.source.replace(/\\([.()[\]/$^*+?|])/g, '$1');
  const text = normalised(told ?? '');
  if (typeof expected === 'string' ? (told ?? '').includes(expected) : expected.test(told ?? '')) return [];
  // Digits beside those that a pattern leaves open are no figure by themselves.
  const plain = normalised(source)
    .replace(/\\[dwsSDW][+*?]?|\.[*+]\??/g, ' § ')
    .replace(/\d*(?: § [.\d]*)+/g, ' § ');
  const code = [...plain.matchAll(/`[^`§]+`/g)].map(([each]) => each);
  const rest = plain.replace(/`[^`]*`/g, ' ');
  const figures = [...rest.matchAll(FIGURE)].map(([each]) => each);
  const names = [...rest.matchAll(/\b[A-Z][A-Za-z]+\w*\b/g)]
    .map(([each]) => each)
    .filter((each) => !STARTERS.has(each));
  const tokens = [...new Set([...code, ...figures, ...names])];
  if (tokens.length === 0) return [source];
  // Each stands for itself: `3 A` is not told by `13 A`, `3 Ah` or `3.5 A`, and what is expected twice is told twice.
  const stands = (token: string): boolean => {
    const alone = new RegExp(`(?<![\\w.])${token.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')}(?![\\w²³]|\\.\\d)`, 'gu');
    const expectedTimes = [...plain.matchAll(alone)].length;
    return [...text.matchAll(alone)].length >= Math.max(1, expectedTimes);
  };
  return tokens.filter((token) => !stands(token));
}
