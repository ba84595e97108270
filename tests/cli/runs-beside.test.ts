import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, test } from 'vitest';
import type { Analysis, AskForRuns, RunElsewhere } from '@wattwright/language';
import { finished } from '@wattwright/language';
import { type Team, runsBeside } from '../../server/src/cli/runs/team.js';
import type { SourceFile } from '../../server/src/cli/files.js';
import { Session } from '../../server/src/cli/session.js';
import { programFile, temporaryFolder } from './helpers/program.js';

// Runs differ by the hour at which the grid fails.
const TEXT = `
design Cabin {
  basis: iec
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  grid Mains { voltage: 230 V   rating: 16 A   betweenOutages: 60 h   outageTime: 8 h }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 6 mohm   cellTemperature: 25 degC }
  charger Rect { maximumCurrent: 30 A   maximumPower: 800 W   input: 230 V   powerFactor: 0.98   efficiency: 90 %   absorb: 28.4 V   float: 27.2 V }
  inverter Inv { rated: 1 kW   apparent: 1 kVA   voltage: 230 V   efficiency: 90 %   idle: 10 W   cutOff: 23 V   reconnect: 25.5 V }
  load Lamp { power: 200 W   voltage: 230 V   profile: always }
  run Post: Mains -> Rect.ac { }
  run Charge: Rect.dc -> Bank { }
  run Feed: Bank -> Inv.dc { }
  run Line: Inv.ac -> Lamp { }
  scenario Month { from: 2027-01-10   duration: 20 d   soc(Bank): 90 %   sun: none   runs: 12   seed: 7
    require p90(unserved) <= 500 kWh
    require timeBelow(soc(Bank), 30 %) <= 1000 h
  }
}
`;
const DAY = '2027-01-01';

interface Setting {
  readonly file: SourceFile;
  readonly team: Team;
}

async function setting(change: Partial<Team> = {}): Promise<Setting> {
  const folder = temporaryFolder({ 'cabin.watt': TEXT });
  const script = pathToFileURL(path.join(path.dirname(await programFile()), 'runs-thread.mjs'));
  const file = { path: path.join(folder, 'cabin.watt'), text: TEXT, isStandardInput: false, within: folder };
  return { file, team: { script, folders: [folder], today: DAY, threads: 2, ...change } };
}

/** What comes of the design, and how many runs came from elsewhere. */
async function playedBy({ file, team }: Setting): Promise<{ readonly told: unknown; readonly elsewhere: number }> {
  let elsewhere = 0;
  const ask: AskForRuns = (asked) => {
    const beside = runsBeside(team, file)(asked);
    if (!beside) return undefined;
    const waiting: RunElsewhere[] = [];
    let isFirst = true;
    return {
      take: () => {
        const run = beside.take();
        // So that others come to play at all: here a run takes less time than a thread needs to begin.
        for (let moment = 0; isFirst && waiting.length === 0 && moment < 500; moment += 1) {
          const arrived = beside.arrived(true);
          if (!arrived) break;
          waiting.push(...arrived);
        }
        isFirst = false;
        return run;
      },
      arrived: (waits) => {
        const arrived = waiting.length > 0 ? waiting.splice(0) : beside.arrived(waits);
        elsewhere += arrived?.filter(({ record }) => record).length ?? 0;
        return arrived;
      },
      end: () => beside.end(),
    };
  };
  const session = await Session.open([file]);
  const before = session.analyse(session.documents[0]!, DAY, 'leave', ask);
  return { told: toldBy(finished(before.unplayed!.play())), elsewhere };
}

const toldBy = ({ scenarios, requirements }: Analysis): unknown => ({
  totals: scenarios.map(({ played }) => (played.kind === 'played' ? played.result.totals : played)),
  requirements: requirements.map(({ holds, left, right }) => [holds, left, right]),
});

describe('runs of a scenario on further threads', () => {
  test('give the same to the last bit, and the threads play some of them', async () => {
    const { file, team } = await setting();
    const alone = await playedBy({ file, team: { ...team, script: undefined } });
    const together = await playedBy({ file, team });
    expect(together.elsewhere).toBeGreaterThan(0);
    expect(together.told).toEqual(alone.told);
  });

  test('a thread that reads another text plays nothing', async () => {
    const { file, team } = await setting();
    const other = { ...file, text: TEXT.replace('200 W', '210 W') };
    const ask: AskForRuns = (asked) => runsBeside(team, other)(asked);
    const session = await Session.open([file]);
    const before = session.analyse(session.documents[0]!, DAY, 'leave', ask);
    const alone = await playedBy({ file, team: { ...team, script: undefined } });
    expect(toldBy(finished(before.unplayed!.play()))).toEqual(alone.told);
  });

  test('a thread that cannot begin leaves all to the one that asked', async () => {
    const { file, team } = await setting({ patience: 300 });
    const broken = path.join(path.dirname(file.path), 'broken.mjs');
    writeFileSync(broken, 'throw new Error("no thread");\n');
    const alone = await playedBy({ file, team: { ...team, script: undefined } });
    const asked = await playedBy({ file, team: { ...team, script: pathToFileURL(broken) } });
    expect(asked).toEqual({ ...alone, elsewhere: 0 });
  });
});
