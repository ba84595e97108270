import { Dice } from '../helpers/random.js';
import { type Answer, answersOf } from './answers.js';
import { type Class, type Comparison, movesAlike, shown, unlike } from './contract.js';
import { type Draft, type Question, type Thing, amount, changed, chargingIn, ofKind, stated, textOf } from './draft.js';
import { type DraftPlay, answerTo, chargePlay, chargeSpan, darkPlay, timeCarried, timeToCharge } from './plays.js';
import { SET } from './random-system.js';

/* ---- a fact that moves one moves the other ---- */

/** One fact of one thing, and by what it is multiplied. */
interface Change {
  readonly of: Thing;
  readonly fact: string;
  readonly factor: number;
}

const CHARGING = [
  ['currentLimit', 0.5],
  ['maximumCurrent', 0.5],
  ['maximumPower', 0.5],
  ['inputLimit', 0.5],
  ['maximumInputCurrent', 0.5],
  ['powerFactor', 0.6],
  ['efficiency', 0.7],
  ['chargeEfficiency', 0.7],
  ['rated', 0.5],
  ['rating', 0.5],
  ['maximumCharge', 0.4],
  ['capacity', 0.5],
  ['head', 0.6],
  ['designFlow', 0.5],
  ['turbineEfficiency', 0.7],
] as const;

const CARRYING = [
  ['power', 0.5],
  ['capacity', 0.5],
  ['reserve', 1.9],
  ['efficiency', 0.7],
  ['idle', 20],
] as const;

function changesOf(things: readonly Thing[], facts: readonly (readonly [string, number])[]): Change[] {
  return things.flatMap((of) =>
    facts.flatMap(([fact, factor]) => (stated(of, fact) === undefined ? [] : [{ of, fact, factor }])),
  );
}

function withChange(draft: Draft, { of, fact, factor }: Change): Draft {
  // Of banks all are changed, so that those of one type stay so.
  const alike = of.kind === 'battery' ? ofKind(draft, 'battery') : [of];
  return alike.reduce(
    (so, { name }) =>
      changed(so, name, (facts) => {
        const before = facts[fact];
        return typeof before === 'object' ? { ...facts, [fact]: amount(before.value * factor, before.unit) } : facts;
      }),
    draft,
  );
}

const ratio = (after: Answer, before: Answer): number =>
  'none' in before ? NaN : ('none' in after ? Infinity : after.value) / before.value;

function moved(
  before: DraftPlay,
  after: DraftPlay,
  change: Change,
  question: string,
  times: readonly number[],
): Comparison[] {
  const closed = ratio(answerTo(after, question), answerTo(before, question));
  const played = times[1]! / times[0]!;
  // What has no answer before the change is counted elsewhere.
  if (Number.isNaN(closed) || !Number.isFinite(times[0]!)) return [];
  const fault = movesAlike(closed, played);
  const { of, fact, factor } = change;
  return [
    {
      of: 'moves',
      seed: before.draft.seed,
      what: `${of.name}.${fact} times ${factor}, ${question}`,
      ...(fault === undefined ? {} : { fault }),
      text: after.text,
    },
  ];
}

/** Changes one fact on the way of charging and one on that of carrying the loads, and sees what each moves. */
export async function moves(charge: DraftPlay, dark: DraftPlay): Promise<Comparison[]> {
  const { draft } = charge;
  const dice = new Dice(draft.seed + 2e6);
  const supplying = new Set([
    ...chargingIn(draft).filter(({ kind }) => kind !== 'wind'),
    ...ofKind(draft, 'generator', 'grid', 'vehicle'),
  ]);
  const charging = changesOf([...supplying, ...ofKind(draft, 'battery')], CHARGING);
  const carrying = changesOf(ofKind(draft, 'load', 'battery', 'inverter'), CARRYING);
  const [one, other] = [dice.pick(charging), dice.pick(carrying)];
  const charged = await chargePlay(withChange(draft, one));
  const carried = await darkPlay(withChange(draft, other));
  return [
    ...moved(charge, charged, one, 'AskTime', [timeToCharge(charge), timeToCharge(charged)]),
    ...moved(dark, carried, other, 'AskAutonomy', [timeCarried(dark), timeCarried(carried)]),
  ];
}

/* ---- two writings of one design ---- */

const questionsOf = (draft: Draft): Question[] => {
  const { from, to } = chargeSpan(draft);
  return [
    { name: 'AskTime', expression: `chargeTime(A, ${from} %, ${to} %)`, unit: 's' },
    { name: 'AskNet', expression: 'netChargeCurrent(A)', unit: 'A' },
    { name: 'AskAutonomy', expression: 'A.autonomyTime', unit: 's' },
    ...(ofKind(draft, 'generator').length > 0
      ? [
          { name: 'AskRun', expression: `${SET}.dailyRunTime`, unit: 's' },
          { name: 'AskFuel', expression: `${SET}.dailyFuel`, unit: 'L' },
        ]
      : []),
  ];
};

async function sameAnswers(of: Class, one: Draft, other: Draft): Promise<Comparison[]> {
  const questions = questionsOf(one);
  const write = (draft: Draft): string =>
    textOf(
      draft,
      questions,
      '',
      `${ofKind(draft, 'solar').length > 0 ? 'sun: none   ' : ''}duration: 1 h   ${ofKind(draft, 'battery')
        .map(({ name }) => `soc(${name}): 50 %`)
        .join('   ')}`,
    );
  const text = write(other);
  const [first, second] = [await answersOf(write(one), questions), await answersOf(text, questions)];
  return questions.map(({ name, expression, unit }) => {
    const [a, b] = [first.get(name)!, second.get(name)!];
    const fault = unlike(a, b);
    return {
      of,
      seed: one.seed,
      what: `${expression}: ${shown(a)} and, written otherwise, ${shown(b)} ${unit}`,
      ...(fault === undefined ? {} : { fault }),
      text,
    };
  });
}

const withoutCables = (draft: Draft): Draft => ({
  ...draft,
  hasCables: false,
  runs: draft.runs.map((run) => ({ ...run, facts: {} })),
});

/** A bank of two strings, and the same as two banks. */
export function grouping(made: Draft): Promise<Comparison[]> {
  const draft = withoutCables(made);
  const { A, rest } = parted(draft);
  const string: Thing = { ...A, facts: { ...A.facts, parallel: amount(1, '') } };
  const pair: Thing = { ...A, facts: { ...A.facts, parallel: amount(2, '') } };
  const run = { name: 'ARun', path: 'A -> Bar', facts: {} };
  const runs = draft.runs.filter(
    ({ path }) => !ofKind(draft, 'battery').some(({ name }) => path.startsWith(`${name} `)),
  );
  // Written the same way as a bank that counts: the links of a charger go to A.
  const one: Draft = { ...draft, things: [...rest, pair], runs: [...runs, run] };
  const other: Draft = {
    ...draft,
    things: [...rest, string, { ...string, name: 'B' }],
    runs: [...runs, run, { ...run, name: 'BRun', path: 'B -> Bar' }],
  };
  return sameAnswers('grouping', one, other);
}

function parted(draft: Draft): { readonly A: Thing; readonly rest: readonly Thing[] } {
  const [A] = ofKind(draft, 'battery');
  return { A: A!, rest: draft.things.filter(({ kind }) => kind !== 'battery') };
}

/** One inverter, and two of half its size on the same panel; nothing for designs without an inverter alone. */
export async function feeding(made: Draft): Promise<Comparison[]> {
  const draft = withoutCables(made);
  const alone = draft.things.find(({ name }) => name === 'Inv');
  if (!alone) return [];
  const half = Object.fromEntries(
    Object.entries(alone.facts).map(([name, fact]) =>
      ['rated', 'apparent', 'idle'].includes(name) && typeof fact === 'object'
        ? [name, { ...fact, value: fact.value / 2 }]
        : [name, fact],
    ),
  );
  const pair = ['InvA', 'InvB'];
  const renamed = (path: string, name: string): string => path.replace(/\bInv\b/, name);
  const other: Draft = {
    ...draft,
    things: draft.things.flatMap((thing) =>
      thing === alone ? pair.map((name) => ({ ...thing, name, facts: half })) : [thing],
    ),
    runs: draft.runs.flatMap((run) =>
      /\bInv\b/.test(run.path)
        ? pair.map((name) => ({ ...run, name: run.name.replace('Inv', name), path: renamed(run.path, name) }))
        : [run],
    ),
  };
  return sameAnswers('feeding', draft, other);
}
