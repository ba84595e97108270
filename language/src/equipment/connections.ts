import {
  COMMON,
  type KindDefinition,
  SMALLEST_SIZE,
  flagOf,
  partOf,
  quantityOf,
  textOf,
  wordOf,
  wordsOf,
} from './define.js';
import { LEGS } from './legs.js';
import { lugHole } from './terminations.js';

export const RUN = {
  kind: 'run',
  group: 'connection',
  doc: 'The conductors of one path, from its source end through gear in series to one or more far ends.',
  properties: [
    quantityOf('size', 'area', 'mm2', 'Size of one current-carrying conductor.', {
      minimum: 0,
      seek: SMALLEST_SIZE,
    }),
    partOf('type', ['conductor', 'cord'], 'Conductor or cord type, which states insulation, metal and stranding.'),
    quantityOf('length', 'length', 'm', 'Length one way; the loop is worked out.', {
      minimum: 0,
      maximum: 100000,
      seek: { best: 'largest', among: { step: 0.5, from: 0.5, to: 100 } },
    }),
    quantityOf('parallel', 'ratio', '', 'Conductors in parallel per pole.', {
      minimum: 1,
      maximum: 20,
      whole: true,
      default: '1',
      note: 'one conductor per pole',
      seek: { best: 'smallest', among: { step: 1, from: 1, to: 4 } },
    }),
    wordOf(
      'metal',
      { copper: 'copper', aluminium: 'aluminium or copper-clad aluminium' },
      'Conductor metal; that of the type when not said.',
    ),
    quantityOf(
      'insulation',
      'temperature',
      'degC',
      'Temperature rating of the insulation; that of the type when not said.',
      { minimum: 40, maximum: 250 },
    ),
    quantityOf(
      'terminals',
      'temperature',
      'degC',
      'Lowest temperature rating of the terminals at its ends; under nec, where neither it nor the gear says, 60 °C up to 100 A and 75 °C above (110.14(C)).',
      { minimum: 40, maximum: 150 },
    ),
    quantityOf('ambient', 'temperature', 'degC', 'Temperature around it; the highest of the site when not said.', {
      minimum: -60,
      maximum: 120,
      ranges: true,
    }),
    quantityOf(
      'conductors',
      'ratio',
      '',
      'Current-carrying conductors that lie together, in one raceway, cable or bundle; with several in parallel, in one run or side by side, all of them where not said.',
      { minimum: 1, maximum: 200, whole: true },
    ),
    quantityOf(
      'circuits',
      'ratio',
      '',
      'Circuits grouped together (iec); conductors in parallel count as so many where not said.',
      { minimum: 1, maximum: 50, whole: true },
    ),
    wordOf(
      'method',
      {
        A1: 'insulated conductors in conduit in an insulated wall',
        A2: 'cable in conduit in an insulated wall',
        B1: 'insulated conductors in conduit on a wall',
        B2: 'cable in conduit on a wall',
        C: 'cable on a wall',
        D1: 'cable in ducts in the ground',
        D2: 'cable direct in the ground',
        E: 'multi-core cable in free air',
        F: 'single-core cables touching in free air',
        G: 'single-core cables spaced in free air',
      },
      'Reference method of installation (IEC 60364-5-52).',
    ),
    flagOf('enclosed', 'Whether it is sheathed or enclosed in conduit over its unprotected length.'),
    flagOf(
      'outdoors',
      'Whether it lies outdoors but for where it ends, at a disconnect outside or next to where it comes in (NEC 240.21(B)(5)).',
    ),
    flagOf(
      'dwelling',
      'Whether it is the service or feeder that supplies the entire load of a dwelling: its ampacity is 83 % of its device at the least (NEC 310.12).',
    ),
    flagOf(
      'shortCircuitProof',
      'Whether it is laid so that no short circuit is to be expected along it: single cores with double insulation or apart, away from what burns (IEC 60364-4-43 434.3).',
    ),
    wordOf(
      'protection',
      { unknown: 'an existing cable whose fuse or breaker nobody has found out yet' },
      'What is known of its fuse or breaker where none is drawn.',
    ),
    flagOf('engineSpace', 'Whether it passes an engine space (craft).'),
    quantityOf('earth', 'area', 'mm2', 'Size of the equipment earthing conductor that runs with it.', {
      minimum: 0,
      seek: SMALLEST_SIZE,
    }),
    flagOf('metalRaceway', 'Whether it lies in metal raceway or armour that serves as its earthing conductor.'),
    wordOf(
      'raceway',
      {
        none: 'no raceway: a cable, a cord, or in air',
        pvc: 'conduit of PVC or another plastic',
        aluminium: 'aluminium conduit',
        steel: 'steel conduit or trunking',
      },
      'What it lies in, which its impedance to alternating current depends on (nec).',
    ),
    quantityOf('dropLimit', 'ratio', '%', 'Largest voltage drop allowed on this run, of nominal.', {
      minimum: 0,
      maximum: 0.5,
    }),
    wordsOf('legs', LEGS, 'The legs or phases it carries; those of its supply when not said.'),
    quantityOf('torque', 'energy', 'Nm', 'Tightening torque of its terminals.', { minimum: 0 }),
    wordOf(
      'ends',
      {
        bare: 'stripped strands',
        ferrule: 'ferrules that the terminals accept',
        lug: 'crimped lugs or pins made for its strand class',
      },
      'How its ends are prepared.',
    ),
    lugHole('Stud that the lugs at its ends are made for: 8 mm for M8, 0.375 in for 3/8 in.'),
    textOf('label', 'Marking on the conductor.'),
    textOf('colour', 'Colours of its conductors, in their order: `"brown, blue, green-yellow"`.'),
    textOf('number', 'Number of the cable or wire, as it is marked at both ends.'),
    ...COMMON,
  ],
} as const satisfies KindDefinition;

export const LINK = {
  kind: 'link',
  group: 'connection',
  doc: 'A communication line or start contact between two things.',
  properties: [
    wordOf(
      'medium',
      {
        rs485: 'TIA-485 pair',
        can: 'controller area network (ISO 11898)',
        contact: 'dry contact',
        ethernet: 'Ethernet',
        wireless: 'radio',
      },
      'What carries the signal.',
    ),
    quantityOf('length', 'length', 'm', 'Length of the line.', { minimum: 0 }),
    textOf('protocol', 'Protocol spoken on it.'),
    quantityOf('rate', 'bitRate', 'kbit/s', 'Bit rate on it.', { minimum: 0 }),
    textOf('pins', 'Pins of its connectors, near end first: `"4, 5 to 1, 2"`.'),
    quantityOf('address', 'ratio', '', 'Address of the far end.', { minimum: 0, maximum: 65535, whole: true }),
    quantityOf('terminators', 'ratio', '', 'Terminating resistors fitted.', { minimum: 0, maximum: 10, whole: true }),
    textOf('line', 'Name of the line it is a stretch of, where several links make up one line.'),
    wordOf(
      'cable',
      {
        twisted: 'twisted pair',
        screened: 'twisted pair with a screen',
        plain: 'conductors side by side, such as loudspeaker or mains cable',
      },
      'Conductors it goes over.',
    ),
    flagOf('common', 'Whether a conductor for the common goes with the pair.'),
    quantityOf('branch', 'length', 'm', 'Longest branch connected to it.', { minimum: 0 }),
    quantityOf('timeOut', 'time', 's', 'Silence after which the link counts as lost.', { minimum: 0 }),
    ...COMMON,
  ],
} as const satisfies KindDefinition;
