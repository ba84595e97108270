// Plays one year of the ridge station with random weather. Beside it a bare loop over typed arrays of the same physics, minute by minute,
// as the yardstick. Alone: `node tests/bench/year.mjs`.
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

const MINUTES = 365 * 1440;
const [SOC, VOLTS] = [
  Float64Array.of(0, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 1),
  Float64Array.of(45, 51.2, 51.8, 52.4, 52.8, 53.2, 53.4, 53.6, 55),
];

/** @param {number} soc */
function restAt(soc) {
  let at = 0;
  while (at < 7 && soc > SOC[at + 1]) at++;
  return VOLTS[at] + ((VOLTS[at + 1] - VOLTS[at]) * (soc - SOC[at])) / (SOC[at + 1] - SOC[at]);
}

/**
 * A bare loop over typed arrays: where the sun stands and what a tilted array gives, four loads by their hours, an inverter with its
 * losses, a set started and stopped by the charge, and a bank behind its resistance, each minute in closed form. It looks at no limit,
 * no event and no wiring, and is only a measure of the machine. Answers joules and litres.
 */
export function bareYearOfRidgeStation() {
  const radians = Math.PI / 180;
  const [latitude, tilt] = [46.4 * radians, 60 * radians];
  const [capacity, resistance, step] = [1_440_000, 0.0075, 60];
  const loads = Float64Array.of(350, 300, 750, 120);
  const sums = new Float64Array(12);
  let charge = 0.8 * capacity;
  let isRunning = false;
  let [flat, swing, flatOnPlane, swingOnPlane] = [0, 0, 0, 0];
  for (let at = 0; at < MINUTES; at++) {
    const minute = at % 1440;
    if (minute === 0) {
      const declination = 23.45 * radians * Math.sin((2 * Math.PI * (284 + at / 1440)) / 365);
      [flat, swing] = [Math.sin(latitude) * Math.sin(declination), Math.cos(latitude) * Math.cos(declination)];
      flatOnPlane = Math.sin(latitude - tilt) * Math.sin(declination);
      swingOnPlane = Math.cos(latitude - tilt) * Math.cos(declination);
    }
    const cosine = Math.cos(((minute - 720) / 4) * radians);
    const height = flat + swing * cosine;
    let sun = 0;
    if (height > 0) {
      const onPlane = flatOnPlane + swingOnPlane * cosine;
      const irradiance = 500 * (height * 0.4 + Math.max(0, onPlane) * 0.6);
      sun = Math.min(1550, 1200 * (irradiance / 1000) * (1 - 0.0035 * (irradiance * 0.03 - 10)) * 0.97);
      sums[0] += sun * step;
    }
    const isUsed = (minute >= 390 && minute < 480) || (minute >= 1080 && minute < 1320);
    const isPumped = (minute >= 420 && minute < 450) || (minute >= 1140 && minute < 1170);
    const use = loads[0] + (isUsed ? loads[1] : 0) + (isPumped ? loads[2] : 0) + loads[3];
    for (let load = 0; load < 4; load++) sums[1 + load] += loads[load] * step;
    const input = use + 25 + use * (0.04 + 1e-5 * use);
    if (charge < 0.35 * capacity) isRunning = true;
    else if (charge > 0.9 * capacity) isRunning = false;
    const rest = restAt(charge / capacity);
    const power = sun - input + (isRunning ? 3900 : 0);
    const volts = (rest + Math.sqrt(rest * rest + 4 * resistance * power)) / 2;
    const amperes = power / volts;
    charge = Math.min(capacity, Math.max(0, charge + (amperes > 0 ? 0.995 * amperes : amperes) * step));
    if (isRunning) {
      sums[5] += (0.9 + 1.6 * (3900 / 6000)) * (step / 3600);
      sums[6] += 3900 * step;
      sums[7] += step;
    }
    sums[8] += amperes * amperes * resistance * step;
    sums[9] += (input - use) * step;
    sums[10] += amperes < 0 ? -amperes * step : 0;
  }
  return charge + sums[0] + sums[5] + sums[8];
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const play = await yearOfRidgeStation();
  const cpu = (/** @type {() => unknown} */ what) => {
    const begun = process.cpuUsage();
    what();
    const { user, system } = process.cpuUsage(begun);
    return (user + system) / 1000;
  };
  const least = (/** @type {() => unknown} */ what) => Math.min(...Array.from({ length: 9 }, () => cpu(what)));
  const [bare, year] = [least(bareYearOfRidgeStation), least(play)];
  const { totals } = play();
  console.log(
    `${year.toFixed(0)} ms, ${(year / bare).toFixed(1)} × a bare year (${bare.toFixed(0)} ms), ${totals[0].steps} steps`,
  );
}
