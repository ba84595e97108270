import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { temporaryFolder } from './temporary-folders.js';

/** A git repository of a test's own, with commits whose dates and authors never differ. */
export class ScratchRepository {
  private seconds = 1_796_000_000;

  private constructor(readonly folder: string) {}

  static create(): ScratchRepository {
    const repository = new ScratchRepository(temporaryFolder());
    repository.git('init', '--quiet', '--initial-branch=main');
    return repository;
  }

  /** Runs git, without the settings of whoever runs the tests. */
  git(...args: readonly string[]): string {
    return execFileSync('git', [...args], {
      cwd: this.folder,
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'pipe'],
      env: {
        ...process.env,
        GIT_CONFIG_GLOBAL: '/dev/null',
        GIT_CONFIG_SYSTEM: '/dev/null',
        GIT_AUTHOR_NAME: 'A. Tester',
        GIT_AUTHOR_EMAIL: 'tester@example.org',
        GIT_COMMITTER_NAME: 'A. Tester',
        GIT_COMMITTER_EMAIL: 'tester@example.org',
        GIT_AUTHOR_DATE: `${this.seconds} +0000`,
        GIT_COMMITTER_DATE: `${this.seconds} +0000`,
      },
    }).trim();
  }

  /** Writes files; one that is undefined is deleted. */
  write(files: Readonly<Record<string, string | undefined>>): void {
    for (const [name, text] of Object.entries(files)) {
      const file = path.join(this.folder, name);
      if (text === undefined) rmSync(file);
      else {
        mkdirSync(path.dirname(file), { recursive: true });
        writeFileSync(file, text);
      }
    }
  }

  /** Writes files and commits everything. Gives the commit. */
  commit(message: string, files: Readonly<Record<string, string | undefined>> = {}): string {
    this.write(files);
    this.seconds += 3600;
    this.git('add', '--all');
    this.git('commit', '--quiet', '--allow-empty', '--message', message);
    return this.git('rev-parse', 'HEAD');
  }
}

/** The parts of the growing design, invented. */
export const CABIN_PARTS = `// Invented parts. No product is meant.
part inverter CabinInverter2k { rated: 2 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 42..60 V   idle: 12 W   price: 700 EUR   mass: 9 kg }
part inverter CabinInverter3k extends CabinInverter2k { rated: 3 kW   idle: 20 W   price: 1100 EUR   mass: 12 kg }
`;

/** What of the growing design differs between its commits. */
export interface CabinFacts {
  readonly size: string;
  readonly fuse: string;
  readonly inverter: string;
  readonly length: string;
  readonly lamp: string;
  readonly more: string;
}

const FIRST: CabinFacts = {
  size: '4 AWG',
  fuse: '70 A',
  inverter: 'CabinInverter2k',
  length: '2 m',
  lamp: 'Lamp',
  more: '',
};

export const cabin = (facts: Partial<CabinFacts> = {}): string => {
  const { size, fuse, inverter, length, lamp, more } = { ...FIRST, ...facts };
  return `use "parts.watt"

design Cabin "An invented cabin" {
  basis: nec 2023
  site { altitude: 100 m   ambient: 0..25 degC }
  battery Bank : Lfp48V100Ah
  inverter Inv : ${inverter} { cutOff: 46 V }
  fuse F1 { class: T   rating: ${fuse}   terminals: 75 degC }
  breaker B1 { class: UL489-AC   rating: 20 A   poles: 1   terminals: 75 degC }
  load ${lamp} { power: 200 W   voltage: 120 V }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: ${size}   type: THWN-2   length: ${length}   terminals: 75 degC }
  run Line: Inv.ac -> B1 -> ${lamp} { size: 12 AWG   type: THWN-2   length: 8 m   conductors: 2   earth: 12 AWG }
${more}}
`;
};

/** A dozen commits of a design that grows: names of the revisions, oldest first. */
export function growingCabin(): { readonly repository: ScratchRepository; readonly commits: readonly string[] } {
  const repository = ScratchRepository.create();
  const required = '  require Feed.voltageDrop <= 1 V because "the lamp flickers"\n';
  const fan = `${required}  load Fan { power: 60 W   voltage: 120 V }
  run FanLine: Inv.ac -> Fan { size: 14 AWG   type: THWN-2   length: 5 m   conductors: 2   earth: 14 AWG }
`;
  const states: readonly (readonly [string, Readonly<Record<string, string | undefined>>])[] = [
    ['A cabin', { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS }],
    ['Layout and units only', { 'cabin.watt': cabin().replace('200 W', '0.2 kW').replaceAll('   ', ' ') }],
    ['What it must do', { 'cabin.watt': cabin({ more: required }) }],
    ['A larger inverter', { 'cabin.watt': cabin({ more: required, inverter: 'CabinInverter3k' }) }],
    [
      'Conductor and fuse to go with it',
      { 'cabin.watt': cabin({ more: required, inverter: 'CabinInverter3k', size: '2 AWG', fuse: '100 A' }) },
    ],
    [
      'The lamp gets its name',
      {
        'cabin.watt': cabin({
          more: required,
          inverter: 'CabinInverter3k',
          size: '2 AWG',
          fuse: '100 A',
          lamp: 'ReadingLamp',
        }),
      },
    ],
    [
      'A fan',
      {
        'cabin.watt': cabin({
          more: fan,
          inverter: 'CabinInverter3k',
          size: '2 AWG',
          fuse: '100 A',
          lamp: 'ReadingLamp',
        }),
      },
    ],
    [
      'Farther away, by guess',
      {
        'cabin.watt': cabin({
          more: fan,
          inverter: 'CabinInverter3k',
          size: '2 AWG',
          fuse: '100 A',
          lamp: 'ReadingLamp',
          length: 'assumed 5 m',
        }),
      },
    ],
    [
      'The requirement goes',
      {
        'cabin.watt': cabin({
          more: fan.replace(required, ''),
          inverter: 'CabinInverter3k',
          size: '2 AWG',
          fuse: '100 A',
          lamp: 'ReadingLamp',
          length: 'assumed 5 m',
        }),
      },
    ],
    [
      'Into a folder',
      {
        'site/cabin.watt': cabin({
          more: fan.replace(required, ''),
          inverter: 'CabinInverter3k',
          size: '2 AWG',
          fuse: '100 A',
          lamp: 'ReadingLamp',
          length: 'assumed 5 m',
        }),
        'site/parts.watt': CABIN_PARTS,
        'cabin.watt': undefined,
        'parts.watt': undefined,
      },
    ],
    [
      'The data sheet is read again',
      { 'site/parts.watt': CABIN_PARTS.replace('efficiency: 90 %', 'efficiency: 85 %') },
    ],
    [
      'A slip of the pen',
      { 'site/cabin.watt': cabin({ inverter: 'CabinInverter3k' }).replace('run Feed:', 'run Feed') },
    ],
  ];
  return { repository, commits: states.map(([message, files]) => repository.commit(message, files)) };
}
