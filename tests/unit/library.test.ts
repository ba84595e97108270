import { readdirSync } from 'node:fs';
import path from 'node:path';
import { type AstNode, EmptyFileSystem, type LangiumDocument, AstUtils, CstUtils, URI } from 'langium';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  DIMENSIONS,
  FORMER_PARTS,
  type LanguageServices,
  VisibleDocuments,
  addLibrary,
  analyse,
  ast,
  createLanguageServices,
  findUnit,
  offerLibrary,
} from '@wattwright/language';
import { libraryFiles } from '../../language/src/library/generated/library.js';
import { CATALOGUE_KINDS, INSTANCE_KINDS, type PropertyType, propertyOf } from '../../language/src/equipment/index.js';

const kinds = new Set([...INSTANCE_KINDS, ...CATALOGUE_KINDS].map(({ kind }) => kind));
let documents: LangiumDocument[] = [];
let parts: ast.Part[] = [];
let services: LanguageServices;

/** The part and everything it extends, nearest first. */
function family(part: ast.Part): ast.Part[] {
  const chain: ast.Part[] = [];
  for (let next: ast.Part | undefined = part; next && !chain.includes(next); next = next.base?.ref) chain.push(next);
  return chain;
}

const docComment = (node: AstNode): string | undefined => CstUtils.findCommentNode(node.$cstNode, ['ML_COMMENT'])?.text;

const statesSource = (text: string): boolean =>
  /published|from memory|common practice, no source|standard|chart|NEC|UL |IEC|ISO|EN |SAE|NEMA|CEE|BS /.test(text);

/** What is wrong with the value for a property of this type; undefined when nothing is. */
function fault(value: ast.Value, type: PropertyType): string | undefined {
  const leaves = [value, ...AstUtils.streamAllContents(value)];
  const word = value.$cstNode?.text ?? '';
  switch (type.type) {
    case 'word':
    case 'words':
      return type.words.some((allowed) => allowed.word === word) ? undefined : `${word} is not one of its words`;
    case 'flag':
      return word === 'yes' || word === 'no' ? undefined : `${word} is neither yes nor no`;
    case 'text':
      return ast.isTextLiteral(value) ? undefined : 'is no text';
    case 'part': {
      const target = ast.isPath(value) ? value.root.ref : undefined;
      return ast.isPart(target) && type.kinds.includes(target.kind)
        ? undefined
        : `${word} is no part of kind ${type.kinds.join(' or ')}`;
    }
    case 'quantity': {
      for (const leaf of leaves) {
        if (ast.isNumberLiteral(leaf) && !type.dimensions.includes('ratio') && !/\.\./.test(word))
          return `${leaf.text} lacks a unit`;
        if (!ast.isQuantityLiteral(leaf)) continue;
        const unit = findUnit(leaf.text.replace(/^[\d.]+(?:[eE][+-]?\d+)?\s*/, ''));
        if (!unit) return `${leaf.text} has an unknown unit`;
        if (!type.dimensions.some((name) => DIMENSIONS[name] === unit.dimension))
          return `${leaf.text} is of another dimension`;
      }
      return undefined;
    }
    default:
      return undefined;
  }
}

describe('the standard library', () => {
  beforeAll(async () => {
    services = createLanguageServices(EmptyFileSystem);
    const { shared } = services;
    documents = addLibrary(shared);
    await shared.workspace.DocumentBuilder.build(documents, { validation: false });
    parts = documents.flatMap((document) => (document.parseResult.value as ast.File).declarations.filter(ast.isPart));
  });

  it('is embedded as it stands in the folder', () => {
    const folder = path.resolve(import.meta.dirname, '../../language/library');
    const onDisk = readdirSync(folder)
      .filter((name) => name.endsWith('.watt'))
      .sort();
    expect(libraryFiles.map(({ name }) => name)).toEqual(onDisk);
    expect(parts.length).toBeGreaterThan(200);
  });

  it('parses and links without a complaint', () => {
    for (const { uri, parseResult, references } of documents) {
      expect(
        parseResult.lexerErrors.map(({ message }) => message),
        uri.toString(),
      ).toEqual([]);
      expect(
        parseResult.parserErrors.map(({ message }) => message),
        uri.toString(),
      ).toEqual([]);
      // Plain words such as `petrol` are paths whose name resolves to nothing; the names of parts must resolve.
      const dangling = references.filter(
        (reference) => reference.error && reference.$refNode?.container?.astNode.$type === 'Part',
      );
      expect(
        dangling.map((reference) => reference.$refText),
        uri.toString(),
      ).toEqual([]);
    }
  });

  it('names every part once', () => {
    const names = parts.map(({ name }) => name);
    expect(names.filter((name, index) => names.indexOf(name) !== index)).toEqual([]);
  });

  it('uses only kinds and properties of the catalogue, with values of their types', () => {
    const faults = parts.flatMap((part) => {
      if (!kinds.has(part.kind)) return [`${part.name}: no kind ${part.kind}`];
      return part.body.properties.flatMap((property) => {
        const definition = propertyOf(part.kind, property.name);
        if (!definition) return [`${part.name}: no property ${property.name} of ${part.kind}`];
        return [property.value, ...property.more].flatMap((value) => {
          const wrong = fault(value, definition.type);
          return wrong ? [`${part.name}.${property.name}: ${wrong}`] : [];
        });
      });
    });
    expect(faults).toEqual([]);
  });

  it('draws no finding from the checks of text and values', () => {
    const findings = documents.flatMap((document) => analyse(document, services, { today: '2027-01-01' }).findings);
    expect(findings.map(({ check, message }) => `${check}: ${message}`)).toEqual([]);
  });

  it('extends only parts of the same kind', () => {
    const odd = parts.filter((part) => part.base && part.base.ref?.kind !== part.kind);
    expect(odd.map(({ name }) => name)).toEqual([]);
  });

  it('gives every part a doc comment and says where its data come from', () => {
    const undocumented = parts.filter((part) => !docComment(part)?.startsWith('/**'));
    expect(undocumented.map(({ name }) => name)).toEqual([]);
    const unsourced = parts.filter(
      (part) =>
        !family(part).some(({ body }) =>
          body.properties.some(
            ({ name, value }) =>
              (name === 'dataSheet' || name === 'note') && ast.isTextLiteral(value) && statesSource(value.value),
          ),
        ),
    );
    expect(unsourced.map(({ name }) => name)).toEqual([]);
  });

  // Designs of former versions name them; what is proposed are the classes that replace them.
  it('keeps former names, which nothing proposes', async () => {
    const former = parts.filter((part) => AstUtils.getDocument(part).uri.toString() === FORMER_PARTS);
    expect(former.length).toBeGreaterThan(20);
    expect(former.filter((part) => !docComment(part)?.includes('Former ')).map(({ name }) => name)).toEqual([]);
    const old = URI.parse('file:///workspace/old.watt');
    const document = services.shared.workspace.LangiumDocumentFactory.fromString(
      'design Old {\n  battery Bank : Flooded6V225Ah\n  generator Genset : PropaneSet12k\n}\n',
      old,
    );
    services.shared.workspace.LangiumDocuments.addDocument(document);
    await services.shared.workspace.DocumentBuilder.build([document], { validation: false });
    const { designs } = analyse(document, services, { today: '2027-01-01' });
    services.shared.workspace.LangiumDocuments.deleteDocument(old);
    const [{ context, system }] = designs as [(typeof designs)[number]];
    const [bank, generator] = system.instances;
    expect(context.maybe(bank!, 'capacity')?.value).toMatchObject({ value: 225 * 3600 });
    expect(context.maybe(generator!, 'rated')?.value).toMatchObject({ value: 12_000 });
    const offered = ['battery', 'generator', 'inverter', 'deviceClass', 'chargeController'].flatMap((kind) =>
      context.parts(kind).map(({ name }) => name),
    );
    expect(offered).toContain('Flooded6V200Ah');
    expect(former.filter(({ name }) => offered.includes(name)).map(({ name }) => name)).toEqual([]);
  });

  // Of what states no curve of its own, what burns at any load lies on one straight line: no table of one data sheet.
  it('burns along a straight line in petrol and propane generators', () => {
    const burning = parts.filter(
      (part) =>
        AstUtils.getDocument(part).uri.toString() !== FORMER_PARTS &&
        family(part).some(({ name }) =>
          ['ConventionalPetrol', 'InverterPetrol', 'ConventionalPropane'].includes(name),
        ) &&
        part.body.properties.some(({ name }) => name === 'burn'),
    );
    expect(burning.length).toBeGreaterThan(12);
    const bent = burning.filter((part) => {
      const text = part.body.properties.find(({ name }) => name === 'burn')!.value.$cstNode!.text;
      const [a, b, c, d] = [...text.matchAll(/%: ([\d.]+) L\/h/g)].map(([, each]) => Number(each)) as number[];
      return ![b! - a!, c! - b!, d! - c!].every((step) => Math.abs(step - (d! - a!) / 3) <= 0.011);
    });
    expect(bent.map(({ name }) => name)).toEqual([]);
  });

  // From memory, as the head of inverters.watt says: 8 to 20 W for each kilowatt of rating.
  it('gives every inverter the idle draw its head names', () => {
    const figure = (part: ast.Part, name: string): number => {
      const text = family(part)
        .flatMap(({ body }) => body.properties)
        .find((property) => property.name === name)?.value.$cstNode?.text;
      return Number(/^[\d.]+(?= k?W$)/.exec(text ?? '')?.[0]);
    };
    const rated = parts.filter(
      (part) => part.kind === 'inverter' && part.body.properties.some(({ name }) => name === 'rated'),
    );
    expect(rated.length).toBeGreaterThan(30);
    const odd = rated.filter((part) => {
      const share = figure(part, 'idle') / figure(part, 'rated');
      return !(share >= 8 && share <= 20);
    });
    expect(odd.map(({ name }) => name)).toEqual([]);
  });

  it('covers what a first design needs', () => {
    const resolved = (part: ast.Part, name: string): string | undefined =>
      family(part)
        .flatMap(({ body }) => body.properties)
        .find((property) => property.name === name)?.value.$cstNode?.text;
    const of = (kind: string): ast.Part[] => parts.filter((part) => part.kind === kind);
    for (const fuel of ['petrol', 'diesel', 'propane'])
      expect(of('generator').some((part) => resolved(part, 'fuel') === fuel && resolved(part, 'rated'))).toBe(true);
    for (const waveform of ['conventional', 'inverter'])
      expect(of('generator').some((part) => resolved(part, 'waveform') === waveform && resolved(part, 'rated'))).toBe(
        true,
      );
    for (const corrected of ['yes', 'no'])
      for (const output of ['10.5..15 V', '21..30 V', '42..60 V'])
        expect(
          of('charger').some(
            (part) => resolved(part, 'powerFactorCorrection') === corrected && resolved(part, 'output') === output,
          ),
        ).toBe(true);
    for (const voltage of ['120 V', '120/240 V', '230 V'])
      expect(of('inverter').some((part) => resolved(part, 'voltage') === voltage)).toBe(true);
    for (const chemistry of ['lfp', 'agm', 'gel', 'flooded'])
      expect(
        of('battery').some((part) => resolved(part, 'chemistry') === chemistry && resolved(part, 'capacity')),
      ).toBe(true);
    for (const name of [
      'THWN-2',
      'H07V-K',
      'FineStranded105',
      'SOOW',
      'H07RN-F',
      'T',
      'gG',
      'L14-30',
      'NEMA-5-15',
      'IEC-60309-32',
    ])
      expect(
        parts.some((part) => part.name === name),
        name,
      ).toBe(true);
  });
});

describe('the library on demand', () => {
  it('gives every part as the whole library does: text, place and comment', async () => {
    const whole = createLanguageServices(EmptyFileSystem);
    const documents = addLibrary(whole.shared);
    await whole.shared.workspace.DocumentBuilder.build(documents, { validation: false });
    const asked = createLanguageServices(EmptyFileSystem);
    offerLibrary(asked);
    const onDemand = new VisibleDocuments(asked.shared);
    const reader = asked.shared.workspace.LangiumDocumentFactory.fromString(
      'design D { }',
      URI.parse('file:///d.watt'),
    );
    const [, library] = onDemand.tables(reader.parseResult.value);
    const told = (node: AstNode, { wattwright }: LanguageServices): unknown => ({
      text: node.$cstNode?.text,
      offset: node.$cstNode?.offset,
      line: node.$cstNode?.range.start,
      file: AstUtils.getDocument(node).uri.toString(),
      comment: wattwright.documentation.CommentProvider.getComment(node),
      base: (node as ast.Part).base?.ref?.name,
      // Where a base stands in its tree is another number in a tree of one part.
      tree: wattwright.serializer.JsonSerializer.serialize(node).replace(/#\/declarations@\d+/g, ''),
    });
    const parts = documents.flatMap(({ parseResult }) => (parseResult.value as ast.File).declarations);
    expect(parts.length).toBeGreaterThan(300);
    for (const part of parts) {
      const [found, ...rest] = library!.get((part as ast.Part).name) ?? [];
      expect(rest).toEqual([]);
      expect(told(found!, asked)).toEqual(told(part, whole));
    }
    expect([...library!.values()].flat()).toHaveLength(parts.length);
    expect(library!.get('NoSuchPart')).toBeUndefined();
  });
});
