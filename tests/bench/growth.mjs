// How the time to judge a design grows with its text: processor time for a line of a large design over that for a line of a small one.
import { GROWN } from './grown-designs.mjs';

const FEW = 1000;
const MANY = 6000;

/** @param {string} text @returns {Promise<number>} milliseconds of processor time to read and judge it, for each line */
async function timePerLine(text) {
  const language = await import('@wattwright/language');
  const { EmptyFileSystem, URI } = await import('langium');
  const services = language.createLanguageServices(EmptyFileSystem);
  language.offerLibrary(services);
  const begun = process.cpuUsage();
  const document = services.shared.workspace.LangiumDocumentFactory.fromString(
    text,
    URI.parse('file:///bench/grown.watt'),
  );
  services.shared.workspace.LangiumDocuments.addDocument(document);
  await services.shared.workspace.DocumentBuilder.build([document], { validation: false, eagerLinking: false });
  language.analyse(document, services, { today: '2027-01-01', scenarios: 'leave' });
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 1000 / text.split('\n').length;
}

/**
 * @returns {Promise<readonly { shape: string, few: number, many: number, growth: number }[]>} for each shape of design the lines compared
 * and how many times as long a line takes in the large one; 1 is in proportion to the text
 */
export async function growthOfJudging() {
  const grown = [];
  for (const [shape, design] of Object.entries(GROWN)) {
    const [small, large] = [design(FEW), design(MANY)];
    for (let warm = 0; warm < 4; warm += 1) await timePerLine(small);
    const pairs = [];
    for (let pair = 0; pair < 3; pair += 1) pairs.push((await timePerLine(large)) / (await timePerLine(small)));
    grown.push({ shape, few: FEW, many: MANY, growth: pairs.sort((one, other) => one - other)[1] });
  }
  return grown;
}
