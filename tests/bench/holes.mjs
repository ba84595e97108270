// How long values for what a design leaves open take, beside one analysis of the same design, and how many texts are tried for them.
import { performance } from 'node:perf_hooks';
import { largeDesign } from './large-design.mjs';

/**
 * @param {number} open values that are left open in a design of about 100 lines: sizes and ratings, one after the other
 * @returns {Promise<{ milliseconds: number, analysis: number, trials: number }>}
 */
export async function holesFilled(open) {
  const language = await import('@wattwright/language');
  const { EmptyFileSystem, URI } = await import('langium');
  const services = language.createLanguageServices(EmptyFileSystem);
  language.offerLibrary(services);
  let left = open;
  // Faults need the resistance of the bank: without it the holes would be asked about, not filled.
  const whole = largeDesign(100).replace('chemistry: lfp', 'chemistry: lfp   resistance: 10 mohm');
  const text = whole.replace(/(size|rating): \d+(?:\/0)? (?:AWG|A)/g, (written, name) =>
    left-- > 0 ? `${name}: ?` : written,
  );
  const document = services.shared.workspace.LangiumDocumentFactory.fromString(
    text,
    URI.parse('file:///bench/holes.watt'),
  );
  services.shared.workspace.LangiumDocuments.addDocument(document);
  await services.shared.workspace.DocumentBuilder.build([document], { validation: false });
  const options = { today: '2027-01-01', scenarios: /** @type {const} */ ('leave') };
  const analysed = () => {
    const begun = performance.now();
    const analysis = language.analyse(document, services, options);
    return { analysis, milliseconds: performance.now() - begun };
  };
  for (let warm = 0; warm < 5; warm += 1) analysed();
  const { analysis, milliseconds: once } = analysed();
  const searched = () => {
    const begun = performance.now();
    const search = language.chosenFor(analysis, { document, services, options });
    let trials = 0;
    let step = search.next();
    for (; !step.done; step = search.next()) trials += 1;
    const filled = step.value[0]?.answers[0]?.values.size ?? 0;
    if (filled !== open) throw new Error(`${filled} of ${open} values were found`);
    return { milliseconds: performance.now() - begun, trials };
  };
  // As in an editor that has been open for a while: the library has been read.
  for (let warm = 0; warm < 3; warm += 1) searched();
  const all = Array.from({ length: 7 }, searched).sort((one, other) => one.milliseconds - other.milliseconds);
  return { ...all[3], analysis: once };
}
