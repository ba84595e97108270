import { EmptyFileSystem, URI } from 'langium';
import {
  type Chosen,
  type ChosenDesign,
  type ChooseOptions,
  Effort,
  type LanguageServices,
  ScenarioCache,
  analyse,
  chosenFor,
  createLanguageServices,
  finished,
  offerLibrary,
} from '../../language/src/index.js';
import { TODAY } from './analyse.js';

let services: LanguageServices | undefined;
let count = 0;
const cache = new ScenarioCache();

/** Values for the holes of a text, of each of its designs. Scenarios are played unless they are to be left. */
export async function chooseText(
  text: string,
  options: ChooseOptions & { readonly scenarios?: 'leave' } = {},
): Promise<readonly ChosenDesign[]> {
  if (!services) offerLibrary((services = createLanguageServices(EmptyFileSystem)));
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = services.shared.workspace;
  const document = LangiumDocumentFactory.fromString(text, URI.parse(`file:///choose/${(count += 1)}/design.watt`));
  LangiumDocuments.addDocument(document);
  await DocumentBuilder.build([document], { validation: false });
  const { scenarios, ...rest } = options;
  const surroundings = { today: TODAY, cache, ...(scenarios ? { scenarios } : {}) };
  try {
    const analysis = analyse(document, services, { ...surroundings, scenarios: 'leave' });
    return finished(
      chosenFor(analysis, { document, services, options: surroundings }, { effort: new Effort(100_000), ...rest }),
    );
  } finally {
    LangiumDocuments.deleteDocument(document.uri);
  }
}

/** The values of an answer as an object, by path without the design. */
export const valuesOf = (answer: Chosen | undefined): Readonly<Record<string, string>> =>
  Object.fromEntries([...(answer?.values ?? [])].map(([path, text]) => [path.slice(path.indexOf('.') + 1), text]));

/** The best values of the only design of a text. */
export async function bestOf(
  text: string,
  options?: Parameters<typeof chooseText>[1],
): Promise<Record<string, string>> {
  const [design] = await chooseText(text, options);
  return { ...valuesOf(design?.answers[0]) };
}

/** A text with its holes, `?` with what narrows them, replaced one after the other. */
export function filled(text: string, values: readonly string[]): string {
  let index = 0;
  return text.replace(
    /\?(?: in [\w/. ]+?\.\.[\w/. ]+?(?=\s{2,}|\s*[}\n]))?(?: of [\w-]+\*?)?/g,
    () => values[index++] ?? '?',
  );
}
