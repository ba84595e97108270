import { readFileSync } from 'node:fs';
import path from 'node:path';

const folder = path.resolve(import.meta.dirname, '../../examples/ridge-station');
const read = (file: string): string => readFileSync(path.join(folder, file), 'utf8');

/** Each replaced text must be there: an example that changes is told here, not passed over. */
function edited(text: string, ...edits: readonly (readonly [from: string, to: string])[]): string {
  return edits.reduce((so, [from, to]) => {
    if (!so.includes(from)) throw new Error(`the example no longer says ${from}`);
    return so.replaceAll(from, to);
  }, text);
}

/** The example as it is. */
export const STATION = read('station.watt');
export const STATION_PARTS = read('parts.watt');

/** Seven edits of the example, as somebody with a growing station would make them in one go. */
export const afterSevenEdits = (station = STATION): Readonly<Record<string, string>> => ({
  'station.watt': edited(
    station,
    ['currentLimit: 75 A', 'currentLimit: 80 A'],
    ['Inv : RidgeInverter6k', 'Inv : RidgeInverter8k'],
    ['MastHeater', 'AntennaHeater'],
    ['type: SOOW   length: 15 m', 'type: SOOW   length: assumed 40 m'],
    ['size: 2 AWG   type: FineStranded90', 'size: 3 AWG   type: FineStranded90'],
    ['start when soc(Bank) < 35 %', 'start when soc(Bank) < 15 %'],
    [
      '  accept voltage-drop on MastLine',
      '  accept voltage-drop on GenCord because "the charger takes down to 180 V" until 2028-06-30\n  accept voltage-drop on MastLine',
    ],
  ),
  'parts.watt': `${STATION_PARTS}
/** Invented inverter, 8 kW, split phase. */
part inverter RidgeInverter8k extends RidgeInverter6k {
  rated: 8 kW   apparent: 8 kVA   surge: 16 kW   efficiency: 94 %   idle: 60 W   inputCapacitance: 18 mF
  price: 3300 EUR   mass: 46 kg
}
`,
});
