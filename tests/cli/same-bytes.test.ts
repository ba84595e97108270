import { describe, expect, test } from 'vitest';
import { STARTER_FILES } from '../../server/src/cli/starter.js';
import { call, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';
import { sunnyHut } from './helpers/sunny-hut.js';

const [starter] = STARTER_FILES;
const cwd = temporaryFolder({
  'cabin.watt': starter!.text,
  'hut.watt': sunnyHut('sun.csv').replace('weather: "sun.csv"', 'sun: clear'),
  'wrong.watt':
    'design Wrong { load Işık { powr: 40 W } load iris { power: 5 V } accept voltage-drop on iris because "x" until 2027-01-15 }\n',
});

/** Zones at both ends of the calendar, and languages whose letters, numbers and order of words differ from English. */
const SURROUNDINGS = [
  { TZ: 'UTC', LC_ALL: 'C', LANG: 'C' },
  { TZ: 'Pacific/Kiritimati', LC_ALL: 'tr_TR.UTF-8', LANG: 'tr_TR.UTF-8' },
  { TZ: 'Pacific/Pago_Pago', LC_ALL: 'de_DE.UTF-8', LANG: 'de_DE.UTF-8' },
  { TZ: 'Asia/Kathmandu', LC_ALL: 'ar_EG.UTF-8', LANG: 'ar_EG.UTF-8' },
];

describe('the same input gives the same bytes', () => {
  test.each([
    ['check', '--today', '2027-01-15', '--questions'],
    ['check', '--today', '2027-01-15', '--format', 'json'],
    ['check', '--format', 'sarif'],
    ['calc', 'cabin.watt', '--format', 'json'],
    ['simulate', 'hut.watt'],
    ['simulate', 'hut.watt', '--csv', '/dev/stdout', '--every', '3600', '-q'],
    ['eval', 'sunrise(latitude: 45 deg, longitude: 15 deg, day: 15, offset: 1 h)', '--format', 'md'],
    ['fmt', '--check'],
  ])('over time zones and languages: %s %s %s', async (...args) => {
    const outcomes = await Promise.all(
      SURROUNDINGS.map((environment) => call(args.filter(Boolean), { cwd, environment })),
    );
    expect(outcomes[0]!.stderr.replace(/^wrote .*\n/, '')).toBe('');
    expect(outcomes[0]!.stdout).not.toBe('');
    for (const outcome of outcomes) expect(outcome).toEqual(outcomes[0]);
  });

  test('how long it took is told only where it is asked for', async () => {
    const [without, asked] = await Promise.all(
      [[], ['--timing']].map((more) => call(['check', '--format', 'json', ...more], { cwd })),
    );
    expect(without!.stdout).not.toMatch(/"ms"/);
    const json = JSON.parse(asked!.stdout) as { summary: { ms: unknown } };
    expect(json.summary.ms).toEqual(expect.any(Number));
    expect(againstSchema('check', json)).toEqual([]);
    expect(againstSchema('check', JSON.parse(without!.stdout))).toEqual([]);
    expect((await call(['check', '--timing'], { cwd })).stdout).toMatch(/; \d+ ms\n/);
  });
});
