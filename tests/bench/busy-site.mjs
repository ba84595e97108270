// Plays a year of an invented busy site: two unequal banks on one bus, three chargers, two sets, two arrays, a grid and ten loads.
// Beside it a bare loop over typed arrays of the same physics, as the yardstick. Alone: `node tests/bench/busy-site.mjs [days]`.
import { restAt } from './rest-voltage.mjs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const PROFILES = [
  'always',
  '{ 06:00..22:00: 50 % }',
  '{ 07:00..09:00: 100 %, 17:00..23:00: 60 % }',
  '{ 12:00..13:00: 100 % }',
  '{ 00:00..24:00: 30 % }',
];

/** @param {number} days */
export function busySite(days) {
  const loads = Array.from(
    { length: 10 },
    (_, at) =>
      `load Use${at} { power: ${80 + 40 * at} W   voltage: 230 V   profile: ${PROFILES[at % PROFILES.length]} }`,
  );
  const names = loads.map((_, at) => `Use${at}`).join(', ');
  const months = Array.from({ length: 12 }, (_, month) => `${month + 1}: 0.45`).join(', ');
  return `
design Busy {
  site { altitude: 300 m   ambient: 15 degC   latitude: 47 deg   longitude: 9 deg   timeZone: "Europe/Zurich"   clearness: { ${months} } }
  battery One { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 5 mohm   cellTemperature: 20 degC }
  battery Two { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 120 Ah   resistance: 14 mohm   cellTemperature: 20 degC }
  inverter Inv {
    rated: 5 kW   apparent: 5 kVA   surge: 10 kW   voltage: 230 V   efficiency: 92 %   idle: 20 W   cutOff: 44 V   reconnect: 50 V
  }
  generator Left { rated: 6 kW   apparent: 6 kVA   voltage: 230 V   fuel: diesel   powerFactor: 1   burn: { 0 %: 0.5 L/h, 100 %: 2.4 L/h } }
  generator Right { rated: 4 kW   apparent: 4 kVA   voltage: 230 V   fuel: diesel   powerFactor: 1   burn: { 0 %: 0.4 L/h, 100 %: 1.7 L/h } }
  grid Mains { voltage: 230 V   rating: 16 A   betweenOutages: 60 h   outageTime: 40 h }
  charger A { currentLimit: 40 A   absorb: 56.8 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   input: 180..264 V }
  charger B { currentLimit: 30 A   absorb: 56.8 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   input: 180..264 V }
  charger C { currentLimit: 15 A   absorb: 56.4 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   input: 180..264 V }
  solar East {
    power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   series: 3   parallel: 2   tilt: 40 deg   azimuth: 120 deg
  }
  solar West {
    power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   series: 3   parallel: 2   tilt: 40 deg   azimuth: 240 deg
  }
  chargeController East1 { tracking: mppt   currentLimit: 50 A   absorb: 56.8 V   float: 54 V   efficiency: 97 % }
  chargeController West1 { tracking: mppt   currentLimit: 50 A   absorb: 56.8 V   float: 54 V   efficiency: 97 % }
  ${loads.join('\n  ')}
  bus Bar { rating: 400 A }
  run OneRun: One -> Bar { size: 50 mm2   type: FineStranded90   length: 1 m }
  run TwoRun: Two -> Bar { size: 50 mm2   type: FineStranded90   length: 2 m }
  run InvRun: Bar -> Inv.dc { }
  run ARun: A.dc -> Bar { size: 16 mm2   type: FineStranded90   length: 2 m }
  run BRun: B.dc -> Bar { size: 16 mm2   type: FineStranded90   length: 2 m }
  run CRun: C.dc -> Bar { size: 16 mm2   type: FineStranded90   length: 2 m }
  run EastOut: East1.dc -> Bar { }
  run WestOut: West1.dc -> Bar { }
  run EastIn: East -> East1.solar { }
  run WestIn: West -> West1.solar { }
  run LeftRun: Left -> A.ac { }
  run RightRun: Right -> B.ac { }
  run MainsRun: Mains -> C.ac { }
  run UseRun: Inv.ac -> ${names} { }
  control StartLeft of Left { start when soc(One) < 30 %   stop when soc(One) > 80 %   minimumRun: 1 h }
  control StartRight of Right { start when soc(Two) < 25 %   stop when soc(Two) > 80 %   minimumRun: 1 h }
  scenario Play { from: 2027-01-01   duration: ${days} d   soc(One): 80 %   soc(Two): 70 %   sun: months   seed: 5 }
}
`;
}

/** The busy site, ready to be played for days. @param {number} days */
export async function playOfBusySite(days) {
  const { addLibrary, analyse, createLanguageServices, playScenario } = await import('@wattwright/language');
  const { EmptyFileSystem, URI } = await import('langium');
  const services = createLanguageServices(EmptyFileSystem);
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = services.shared.workspace;
  const document = LangiumDocumentFactory.fromString(busySite(days), URI.parse('file:///bench/busy.watt'));
  LangiumDocuments.addDocument(document);
  await DocumentBuilder.build([...addLibrary(services.shared), document], { validation: false });
  const { designs } = analyse(document, services, { today: '2027-01-01', scenarios: 'leave' });
  const { context, system } = designs[0];
  return () => {
    const played = playScenario(context, system.scenarios[0], {});
    if (played.kind !== 'played') throw new Error(JSON.stringify(played));
    return played.result;
  };
}

/** Steps of the yardstick: a year, one each minute. */
const BARE_STEPS = 525_600;
/**
 * A bare loop over typed arrays: two banks behind their resistance on one bus, ten loads, power by the minute, the voltage of the bus in
 * closed form at each step. It looks at no limit, no rule and no event, and is only a measure of the machine. Answers coulombs.
 */
export function bareYear() {
  const [first, second] = [0.0055, 0.0105];
  const capacity = Float64Array.of(720_000, 360_000);
  const charge = Float64Array.of(576_000, 288_000);
  const loads = new Float64Array(10).fill(100);
  const sums = new Float64Array(14);
  const step = 60;
  const siemens = 1 / first + 1 / second;
  for (let at = 0; at < BARE_STEPS; at++) {
    const [one, two] = [restAt(charge[0] / capacity[0]), restAt(charge[1] / capacity[1])];
    let power = (at % 1440) * 0.8 - 180;
    for (let load = 0; load < 10; load++) {
      power -= loads[load] * 0.4;
      sums[load] += loads[load] * step;
    }
    const short = one / first + two / second;
    const volts = (short + Math.sqrt(Math.max(0, short * short + 4 * siemens * power))) / (2 * siemens);
    const [into, other] = [(volts - one) / first, (volts - two) / second];
    charge[0] = Math.min(capacity[0], Math.max(0, charge[0] + into * step));
    charge[1] = Math.min(capacity[1], Math.max(0, charge[1] + other * step));
    sums[10] += volts * into * step;
    sums[11] += volts * other * step;
    sums[12] += power * step;
  }
  return charge[0] + sums[12];
}

if (import.meta.url === pathToFileURL(path.resolve(process.argv[1] ?? '')).href) {
  const days = Number(process.argv[2] ?? 365);
  const cpu = (/** @type {() => unknown} */ what) => {
    const begun = process.cpuUsage();
    const found = what();
    const { user, system } = process.cpuUsage(begun);
    return { milliseconds: (user + system) / 1000, found };
  };
  for (let warm = 0; warm < 3; warm++) bareYear();
  const bare = cpu(bareYear).milliseconds;
  const play = await playOfBusySite(days);
  const { milliseconds, found } = cpu(play);
  const { totals, series } = found;
  console.log(
    `${days} days: ${milliseconds.toFixed(0)} ms, ${(milliseconds / bare).toFixed(1)} × a bare year (${bare.toFixed(0)} ms), ${totals[0].steps} steps, ${series.time.length} rows, ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB`,
  );
  const end = (/** @type {string} */ name) => series.columns.find((column) => column.name === name)?.values.at(-1);
  console.log(end('soc(One)'), end('soc(Two)'), totals[0].balance.residual, totals[0].starts);
}
