// Plays one year of the ridge station with random weather at one-minute resolution. Alone: `node tests/bench/year.mjs`.
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';

const folder = path.join(root, 'examples/ridge-station');
const read = (/** @type {string} */ name) => readFileSync(path.join(folder, name), 'utf8');

/** Replaces what must be there, so that a changed example is noticed. @param {string} text @param {RegExp} what @param {string} by */
function replaced(text, what, by) {
  if (!what.test(text)) throw new Error(`the ridge station no longer holds ${what}`);
  return text.replace(what, by);
}

/** The design and its scenario over a year, ready to be played. */
export async function yearOfRidgeStation() {
  const { addLibrary, analyse, createLanguageServices, playScenario } = await import('@wattwright/language');
  const { EmptyFileSystem, URI } = await import('langium');
  const services = createLanguageServices(EmptyFileSystem);
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = services.shared.workspace;
  const months = Array.from({ length: 12 }, (_, month) => `${month + 1}: 0.45`).join(', ');
  const timed = replaced(read('station.watt'), /duration: 5 d\s+sun: none/, 'duration: 365 d   sun: months');
  const texts = {
    'station.watt': replaced(timed, /timeZone:/, `clearness: { ${months} }   timeZone:`),
    'parts.watt': read('parts.watt'),
  };
  const documents = Object.entries(texts).map(([name, text]) => {
    const document = LangiumDocumentFactory.fromString(text, URI.parse(`file:///bench/${name}`));
    LangiumDocuments.addDocument(document);
    return document;
  });
  await DocumentBuilder.build([...addLibrary(services.shared), ...documents], { validation: false });
  const { designs } = analyse(documents[0], services, { today: '2027-01-01', scenarios: 'leave' });
  const { context, system } = designs[0];
  return () => {
    const played = playScenario(context, system.scenarios[0], {});
    if (played.kind !== 'played') throw new Error(JSON.stringify(played));
    return played.result;
  };
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const play = await yearOfRidgeStation();
  for (let time = 0; time < 5; time++) {
    const begun = performance.now();
    const { totals, series } = play();
    const elapsed = performance.now() - begun;
    console.log(`${elapsed.toFixed(0)} ms, ${totals[0].steps} steps, ${series.time.length} rows`);
  }
}
