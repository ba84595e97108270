import {
  type Analysis,
  type Derivation,
  governingText,
  type Fix,
  type LanguageServices,
  type Place,
  type Result,
  CHECKS,
  LIBRARY_SCHEME,
  Proposer,
  addLibrary,
  analyse,
  createLanguageServices,
  displayValue,
  formatText,
} from '@wattwright/language';
import { EmptyFileSystem, type LangiumDocument, URI } from 'langium';
import { parentPort } from 'node:worker_threads';
import { reportJson } from '../../server/src/cli/output/json.js';
import { gather } from '../../server/src/cli/report.js';

/*
 * Examines texts in a thread of its own, so that one that never ends can be given up. Each text must keep these promises, whatever
 * stands in it: nothing is thrown; there is a tree and a list of errors; every place lies inside its text; no number that is none gets
 * out; the same text gives the same bytes; every fix applies and leaves no syntax error behind; layout is stable.
 */

export interface Question {
  readonly id: number;
  /** Texts of one folder by file name; the first is the one asked about. */
  readonly files: Readonly<Record<string, string>>;
  /** Whether the fixes of the findings are applied and what they give is analysed. */
  readonly fixes: boolean;
}

export interface Answer {
  readonly id: number;
  /** Broken promises, in words. */
  readonly faults: readonly string[];
  readonly findings: readonly FoundFinding[];
  readonly milliseconds: number;
}

export interface FoundFinding {
  readonly check: string;
  readonly subject: string;
  readonly severity: string;
  readonly message: string;
}

const TODAY = '2027-01-01';
const TEXT_CHECKS = new Set(CHECKS.filter(({ group }) => group === 'text').map(({ id }) => id));
/** Fixes beyond this number are not tried: faulty texts repeat themselves. */
const MOST_FIXES = 8;
/** Words that betray a value that is none. A text that contains one itself may be quoted. */
const BETRAYING = /\bNaN\b|\bInfinity\b|∞|\bundefined\b|\[object |\bnull\b|\[native code\]/;

class Examination {
  readonly faults: string[] = [];
  private readonly texts: ReadonlyMap<string, LangiumDocument>;
  private readonly quotes: boolean;

  constructor(
    private readonly services: LanguageServices,
    files: Readonly<Record<string, string>>,
    documents: readonly LangiumDocument[],
  ) {
    this.texts = new Map(documents.map((document) => [document.uri.toString(), document]));
    this.quotes = Object.entries(files).some(([name, text]) => BETRAYING.test(text) || BETRAYING.test(name));
  }

  private fault(text: string): void {
    if (this.faults.length < 10) this.faults.push(text.slice(0, 600));
  }

  words(what: string, text: unknown): void {
    if (typeof text !== 'string') this.fault(`${what} is no text: ${typeof text}`);
    else if (!this.quotes && BETRAYING.test(text)) this.fault(`${what}: ${text}`);
  }

  /** Positions as the text itself counts them. */
  place(what: string, place: Place): void {
    const document =
      this.texts.get(place.uri) ?? this.services.shared.workspace.LangiumDocuments.getDocument(URI.parse(place.uri));
    if (!document) return this.fault(`${what} lies in an unknown text ${place.uri}`);
    const { textDocument } = document;
    const { length } = textDocument.getText();
    const { offset, end, line, character, endLine, endCharacter } = place;
    if (!(offset >= 0 && offset <= end && end <= length))
      return this.fault(`${what} lies outside its text: ${offset}..${end} of ${length}`);
    const start = textDocument.positionAt(offset);
    const stop = textDocument.positionAt(end);
    if (
      start.line !== line ||
      start.character !== character ||
      stop.line !== endLine ||
      stop.character !== endCharacter
    )
      this.fault(
        `${what} says ${line}:${character}..${endLine}:${endCharacter}, its text counts ` +
          `${start.line}:${start.character}..${stop.line}:${stop.character}`,
      );
  }

  private readonly seen = new Set<Derivation>();

  derivation(what: string, derivation: Derivation): void {
    const queue = [derivation];
    for (let next = queue.pop(); next; next = queue.pop()) {
      if (this.seen.has(next)) continue;
      this.seen.add(next);
      if (typeof next !== 'object' || typeof next.name !== 'string' || !Array.isArray(next.inputs)) {
        this.fault(`${what} rests on what is no derivation: ${String(next)}`);
        continue;
      }
      const { value } = next;
      if (typeof value === 'object') {
        if (![value.value, value.low, value.high].every(Number.isFinite))
          this.fault(`${what}: ${next.name} is ${value.low}..${value.value}..${value.high}`);
        else if (value.low > value.value || value.value > value.high)
          this.fault(`${what}: ${next.name} lies outside its own range ${value.low}..${value.value}..${value.high}`);
      } else if (typeof value !== 'boolean' && typeof value !== 'string')
        this.fault(`${what}: ${next.name} is ${value}`);
      this.words(`the value of ${what}`, displayValue(next));
      for (const text of [next.name, next.unit, ...next.notes]) this.words(what, text);
      for (const text of [next.formula, governingText(next), next.symbol])
        if (text !== undefined) this.words(what, text);
      if (next.place) this.place(`${next.name} in ${what}`, next.place);
      queue.push(...next.inputs, ...Object.values(next.parts));
    }
  }

  result(what: string, result: Result): void {
    if (result.kind === 'known') this.derivation(what, result.derivation);
    else if (result.kind === 'missing')
      for (const fact of result.missing) this.words(`a fact missing for ${what}`, fact);
    else this.words(`why there is no ${what}`, result.reason);
  }

  analysis(analysis: Analysis): void {
    for (const finding of analysis.findings) {
      const what = `finding ${finding.check} on ${finding.subject}`;
      this.words(what, finding.message);
      this.words(what, finding.subject);
      this.place(what, finding.place);
      if (!this.texts.has(finding.place.uri))
        this.fault(`${what} lies in a text not asked about: ${finding.place.uri}`);
      if (finding.message.trim() === '') this.fault(`${what} says nothing`);
      for (const related of finding.related) {
        this.words(what, related.text);
        this.place(`a place beside ${what}`, related.place);
      }
      for (const [name, number] of Object.entries(finding.numbers)) this.derivation(`${name} of ${what}`, number);
    }
    for (const requirement of analysis.requirements) {
      this.words('a requirement', requirement.text);
      if (requirement.undecided !== undefined) this.words('why a requirement is open', requirement.undecided);
      this.place('a requirement', requirement.place);
      for (const side of [requirement.left, requirement.right])
        if (side) this.derivation(`a side of ${requirement.text}`, side);
    }
    this.plays(analysis);
    for (const question of analysis.questions) {
      this.place(`a question of ${question.check}`, question.place);
      for (const fact of question.missing) this.words(`a question of ${question.check}`, fact);
    }
    for (const { system, context } of analysis.designs) {
      for (const thing of [...system.instances, ...system.runs, ...system.links, ...system.controls])
        for (const name of context.quantityNames(thing))
          this.result(`${name} of ${thing.path}`, context.quantity(thing, name));
    }
  }

  /** What is played is sound, and only what is played decides. */
  private plays({ scenarios, requirements, findings }: Analysis): void {
    for (const { design, scenario, played } of scenarios) {
      const what = `the play of ${scenario.path}`;
      if (played.kind === 'refused') this.words(`why there is no ${what}`, played.reason);
      if (played.kind === 'missing') for (const fact of played.missing) this.words(`a fact missing for ${what}`, fact);
      const decided = requirements.filter((each) => each.design === design && each.scenario === scenario.name);
      if (played.kind !== 'played') {
        // What asks the scenario for nothing needs no play.
        const bold = decided.find(({ holds, text }) => holds !== undefined && /soc|unserved|runTime|starts/.test(text));
        if (bold) this.fault(`${what} is ${played.kind}, and yet ${bold.text} is decided`);
        continue;
      }
      const fault = findings.find(({ severity, subject }) => severity === 'error' && subject === scenario.path);
      if (fault && TEXT_CHECKS.has(fault.check)) this.fault(`${what} has come about in spite of: ${fault.message}`);
      const { duration, series, totals } = played.result;
      if (!(duration > 0)) this.fault(`${what} lasts ${duration} s`);
      for (const [index, time] of series.time.entries())
        if (!(time >= (series.time[index - 1] ?? 0))) return this.fault(`${what} goes back in time at ${time} s`);
      for (const { name, values } of series.columns)
        if (!values.every(Number.isFinite)) this.fault(`${what}: ${name} is not finite`);
      for (const { name, signal, values } of series.columns)
        if (signal === 'soc' && !values.every((value) => value > -1e-6 && value < 1 + 1e-6))
          this.fault(`${what}: ${name} leaves 0 % to 100 %`);
      for (const total of totals)
        for (const map of [total.energy, total.runTime, total.curtailed])
          for (const [name, value] of map)
            if (!Number.isFinite(value)) this.fault(`${what}: total of ${name} is ${value}`);
    }
  }

  fix(what: string, fix: Fix): void {
    this.words(`a fix of ${what}`, fix.title);
    if (fix.edits.length === 0) this.fault(`a fix of ${what} changes nothing: ${fix.title}`);
    const edits = [...fix.edits].sort((a, b) => a.place.offset - b.place.offset);
    for (const [index, edit] of edits.entries()) {
      this.words(`a fix of ${what}`, edit.text);
      this.place(`a fix of ${what}`, edit.place);
      const before = edits[index - 1];
      if (before && before.place.uri === edit.place.uri && before.place.end > edit.place.offset)
        this.fault(`edits of the fix “${fix.title}” of ${what} overlap`);
      if (edit.place.uri.startsWith(`${LIBRARY_SCHEME}:`)) this.fault(`a fix of ${what} changes the standard library`);
    }
  }
}

const bytesOf = (analysis: Analysis): string =>
  JSON.stringify(reportJson(gather([analysis], {}, { elsewhere: [], fixed: [] })));

class Examiner {
  private constructor(private readonly services: LanguageServices) {}

  static async create(): Promise<Examiner> {
    const services = createLanguageServices(EmptyFileSystem);
    await services.shared.workspace.DocumentBuilder.build(addLibrary(services.shared), { validation: false });
    return new Examiner(services);
  }

  async examine({ id, files, fixes }: Question): Promise<Answer> {
    const begun = performance.now();
    try {
      const { faults, findings } = await this.promises(files, fixes);
      return { id, faults, findings, milliseconds: performance.now() - begun };
    } catch (error) {
      const text = error instanceof Error ? (error.stack ?? error.message) : String(error);
      return { id, faults: [`thrown: ${text.slice(0, 1500)}`], findings: [], milliseconds: performance.now() - begun };
    }
  }

  private async promises(
    files: Readonly<Record<string, string>>,
    fixes: boolean,
  ): Promise<{ faults: string[]; findings: FoundFinding[] }> {
    return this.loaded(files, async (documents) => {
      const faults: string[] = [];
      const examination = new Examination(this.services, files, documents);
      const [document] = documents as [LangiumDocument, ...LangiumDocument[]];
      const { value, lexerErrors, parserErrors } = document.parseResult;
      if (value?.$type !== 'File') faults.push(`the tree begins with ${String(value?.$type)}`);
      if (!Array.isArray(lexerErrors) || !Array.isArray(parserErrors)) faults.push('there is no list of errors');
      const analysis = this.analyse(document);
      examination.analysis(analysis);
      const bytes = bytesOf(analysis);
      examination.words('the JSON report', bytes.replaceAll('"holds":null', '"holds":0'));
      faults.push(...examination.faults);

      const again = await this.loaded(files, async ([fresh]) => bytesOf(this.analyse(fresh!)));
      if (again !== bytes) faults.push(`the same text gave two reports: ${firstDifference(bytes, again)}`);
      faults.push(...this.layout(document.textDocument.getText()));
      if (fixes) faults.push(...(await this.fixes(files, analysis, document, examination)));
      return {
        faults,
        findings: analysis.findings.map(({ check, subject, severity, message }) => ({
          check,
          subject,
          severity,
          message,
        })),
      };
    });
  }

  private analyse(document: LangiumDocument): Analysis {
    return analyse(document, this.services, { today: TODAY });
  }

  /** Runs `work` with the files parsed and linked, and takes them out again. */
  private async loaded<T>(
    files: Readonly<Record<string, string>>,
    work: (documents: readonly LangiumDocument[]) => Promise<T>,
  ): Promise<T> {
    const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = this.services.shared.workspace;
    const before = LangiumDocuments.all.filter(({ uri }) => uri.scheme === 'file').toArray();
    for (const { uri } of before) LangiumDocuments.deleteDocument(uri);
    const documents: LangiumDocument[] = [];
    try {
      for (const [name, text] of Object.entries(files)) {
        const document = LangiumDocumentFactory.fromString(
          text,
          URI.parse('file:///workspace').with({ path: `/workspace/${name}` }),
        );
        LangiumDocuments.addDocument(document);
        documents.push(document);
      }
      await DocumentBuilder.build(documents, { validation: false });
      return await work(documents);
    } finally {
      for (const { uri } of documents) LangiumDocuments.deleteDocument(uri);
      for (const document of before) LangiumDocuments.addDocument(document);
    }
  }

  /** Laying out what is laid out changes nothing. */
  private layout(text: string): string[] {
    const once = formatText(text, this.services.wattwright);
    if (once.kind === 'left-alone') return once.text === text ? [] : ['a text left alone was changed'];
    const twice = formatText(once.text, this.services.wattwright);
    return twice.text === once.text ? [] : [`layout is not stable: ${firstDifference(once.text, twice.text)}`];
  }

  private async fixes(
    files: Readonly<Record<string, string>>,
    analysis: Analysis,
    document: LangiumDocument,
    examination: Examination,
  ): Promise<string[]> {
    const faults: string[] = [];
    const [name] = Object.keys(files) as [string];
    const errorsBefore = syntaxErrors(document);
    const proposer = new Proposer(analysis, { document, services: this.services, options: { today: TODAY } });
    const mendable = analysis.findings.filter(({ ways, accepted }) => ways.length > 0 && !accepted);
    const own = spread(mendable, MOST_FIXES).flatMap((finding) =>
      finished(proposer.answer(finding)).proposals.map((fix) => ({ check: finding.check, fix })),
    );
    examination.faults.length = 0;
    for (const { check, fix } of own) examination.fix(`finding ${check}`, fix);
    faults.push(...examination.faults);
    for (const { check, fix } of spread(own, MOST_FIXES)) {
      const text = apply(files[name]!, fix);
      await this.loaded({ ...files, [name]: text }, async ([document]) => {
        const errors = syntaxErrors(document!);
        // Where the text is faulty already, what a fix writes may be read as part of the fault.
        if (errorsBefore === 0 && errors > 0) faults.push(`the fix “${fix.title}” of ${check} leaves a syntax error`);
        this.analyse(document!);
      });
    }
    return faults;
  }
}

/** The end of work that is done in steps. */
function finished<T>(work: Generator<unknown, T>): T {
  for (;;) {
    const step = work.next();
    if (step.done) return step.value;
  }
}

const syntaxErrors = ({ parseResult }: LangiumDocument): number =>
  parseResult.lexerErrors.length + parseResult.parserErrors.length;

/** At most `most` of the items, from the whole length. */
function spread<T>(items: readonly T[], most: number): T[] {
  const step = Math.max(1, items.length / most);
  return Array.from({ length: Math.min(most, items.length) }, (_, index) => items[Math.floor(index * step)]!);
}

function apply(text: string, fix: Fix): string {
  const edits = [...fix.edits].sort((a, b) => b.place.offset - a.place.offset);
  return edits.reduce((so, { place, text: by }) => so.slice(0, place.offset) + by + so.slice(place.end), text);
}

function firstDifference(left: string, right: string): string {
  let at = 0;
  while (at < left.length && left[at] === right[at]) at += 1;
  const from = Math.max(0, at - 60);
  return `${JSON.stringify(left.slice(from, at + 100))} / ${JSON.stringify(right.slice(from, at + 100))}`;
}

const examiner = Examiner.create();
parentPort?.on('message', (question: Question) => {
  void examiner.then((ready) => ready.examine(question)).then((answer) => parentPort?.postMessage(answer));
});
