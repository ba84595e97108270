// Mutants that no test can notice, or that change no more than words, with the reason. What is listed here is counted as not noticed all the same.

/** @typedef {{ file: string, key: string, code: string }} Mutant */

/**
 * Reasons that hold for a whole sort of mutant.
 * @type {readonly { why: string, isOf: (mutant: Mutant) => boolean }[]}
 */
const SORTS = [
  {
    why: 'a limit that is met within a margin for rounding: with and without the equality it is the same limit',
    isOf: ({ key, code }) =>
      /^EqualityOperator/.test(key) && /1e-[69]/.test(code) && isSiblingOf(code, key.replace('EqualityOperator ', '')),
  },
  {
    why: 'the margin for rounding itself, on the other side of the limit',
    isOf: ({ key }) => /^ArithmeticOperator .* \/ \(1 [+-] 1e-9\)$/s.test(key),
  },
  {
    why: 'what is said beside a value, not the value: the first of several notes of a table, a formula, a span of rows',
    isOf: ({ code }) =>
      /^(notes: \[|formula: |row\.to === undefined \?|\.\.\.\(\w+\.notes \?\? |symbol: |\.\.\.whyOf\()/.test(code),
  },
  {
    why: 'a clause of a sentence: it decides what is said of a finding, not whether there is one',
    isOf: ({ code }) => /&& (`[^`]*`|'[^']*'),?$/.test(code) || /\? `[^`]*` : (''|undefined)[;,]?$/.test(code),
  },
  {
    why: 'equal within rounding is asked for beside it',
    isOf: ({ key, code }) => /^EqualityOperator/.test(key) && /[<>]= .*\|\| nearlyEqual\(/.test(code),
  },
];

/** Whether a comparison was mutated by its equality alone: `<=` to `<`, `>` to `>=`. @param {string} code @param {string} replacement */
function isSiblingOf(code, replacement) {
  const compared = /^(.+?) (<=|>=|<|>) (.+)$/.exec(replacement.replace(/\s+/g, ' '));
  if (!compared) return false;
  const [, left, operator, right] = compared;
  const sibling = operator.endsWith('=') ? operator.slice(0, -1) : `${operator}=`;
  return code.replace(/\s+/g, ' ').includes(`${left} ${sibling} ${right}`);
}

/** @type {readonly { file: string, code: string, key?: RegExp, why: string }[]} */
const SINGLE = [
  {
    file: 'checks/conductors/neutral-bond.ts',
    code: '({ bonds, unsaid }) => bonds.length === 1 || (bonds.length === 0 && unsaid.length > 0),',
    key: /^(LogicalOperator bonds\.length === 0 \|\||EqualityOperator unsaid\.length)/,
    why: 'what leaves no bond is refused where the change is tried on the whole design',
  },
  {
    file: 'calculate/conductors/voltage-drop.ts',
    code: "return found(numberIn(alternating, 'mohm/m') > numberIn(direct.value, 'mohm/m') ? alternating : direct.value);",
    why: 'the larger of two equal resistances is either',
  },
  {
    file: 'checks/conductors/leg-balance.ts',
    code: "(parts ?? []).reduce((sum, part) => sum + numberIn(part, 'A'), 0);",
    why: 'legs that carry nothing pass instead of being left out: no finding either way',
  },
  {
    file: 'checks/conductors/leg-balance.ts',
    code: 'return Math.max(...amperes) <= rated && Math.max(...amperes) - Math.min(...amperes) <= share * rated;',
    key: /^EqualityOperator Math\.max\(\.\.\.amperes\) (< rated$|- Math\.min\(\.\.\.amperes\) < share \* rated$)/,
    why: 'the rating has a margin for rounding, at which no current lies',
  },
  {
    file: 'checks/conductors/leg-balance.ts',
    code: 'const sums = new Map(at.all.map((leg) => [leg, 0]));',
    why: 'every leg begins with the same, which no comparison of legs sees',
  },
  {
    file: 'checks/conductors/leg-balance.ts',
    code: "const busiest = sums.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so));",
    key: /^EqualityOperator .*>=/,
    why: 'the larger of two equal currents is either',
  },
  {
    file: 'checks/conductors/device-place.ts',
    code: "(carries.kind === 'known' && numberIn(carries.derivation, 'A') >= numberIn(least, 'A') * (1 - 1e-9))",
    why: 'a size that does not do is refused where the change is tried on the whole design',
  },
  {
    file: 'checks/conductors/shared-neutral.ts',
    code: "if (before) return inLines && numberIn(inLines, 'A') < numberIn(before, 'A') ? inLines : before;",
    key: /^EqualityOperator/,
    why: 'the smaller of two equal currents is either',
  },
  {
    file: 'checks/conductors/shared-neutral.ts',
    code: "return current ? numberIn(current, 'A') : -1;",
    why: 'what has no current comes behind all that have one, and none that counts is below 1 A',
  },
  {
    file: 'checks/conductors/shared-neutral.ts',
    code: 'if (first) yield rest.reduce((so, next) => (neutral(next) > neutral(so) ? next : so), first);',
    key: /^EqualityOperator .*>=/,
    why: 'the larger of two equal currents is either',
  },
  {
    file: 'checks/conductors/plug-neutral.ts',
    code: '(a.name < b.name ? -1 : 1),',
    why: 'names are never equal',
  },
  {
    file: 'checks/conductors/plug-neutral.ts',
    code: 'let lines = 1;',
    why: 'it counts only for what stands between lines, which has two at least',
  },
  {
    file: 'checks/conductors/plug-neutral.ts',
    code: '2,',
    key: /^NumberLiteral 2\.2/,
    why: 'how many names a sentence tells',
  },
  {
    file: 'checks/conductors/voltage-collapse.ts',
    code: "return amperes * ohms >= SUSPICIOUS * numberIn(volts.derivation, 'V') ? [node] : [];",
    why: 'only says which networks are solved at all: those that lose less than a quarter have a solution',
  },
  {
    file: 'checks/conductors/voltage-collapse.ts',
    code: 'const SUSPICIOUS = 0.1;',
    why: 'only says which networks are solved at all: those that lose less than a quarter have a solution',
  },
  {
    file: 'checks/conductors/voltage-collapse.ts',
    code: "const ohms = typeof inner.derivation.value === 'object' ? inner.derivation.value.high : 0;",
    key: /^NumberLiteral/,
    why: 'a resistance is a quantity whenever it is known',
  },
  {
    file: 'calculate/conductors/ampacity.ts',
    code: "if (!column || numberIn(column, 'degC') >= numberIn(settled.insulation, 'degC')) return found(undefined);",
    why: 'a column at the very temperature of the insulation gives the ampacity that is there already',
  },
  {
    file: 'calculate/conductors/ampacity.ts',
    code: "if (!column || numberIn(column, 'A') >= numberIn(current, 'A')) return current;",
    why: 'the smaller of two equal currents is either',
  },
  {
    file: 'calculate/conductors/earth-conductor.ts',
    code: 'const capped = areaIn(installed) < (standard?.area ?? Infinity);',
    why: 'of two equal areas it is said only by which rule one is taken',
  },
  {
    file: 'calculate/conductors/ampacity.ts',
    code: "const limited = limit !== undefined && numberIn(limit, 'A') < correctedValue;",
    key: /^EqualityOperator .*<=/,
    why: 'of two equal limits it is said only by which one is taken',
  },
  {
    file: 'calculate/conductors/ampacity.ts',
    code: ': columnLimit.value && corrected !== afterFactors',
    key: /^EqualityOperator corrected === /,
    why: 'what is said to govern, not the value',
  },
  {
    file: 'calculate/conductors/ampacity.ts',
    code: 'const isSmall = areaIn(size) < areaOfSize(rubber.rows[0]!.size) * 0.999;',
    key: /^EqualityOperator .*<=/,
    why: 'no conductor has an area a thousandth below that of a row',
  },
  {
    file: 'calculate/conductors/conductor-for.ts',
    code: "if (bySize !== undefined && bySize < (byAmpacity.rating ?? 0)) return { rating: bySize, rule: 'smallConductor' };",
    key: /^NumberLiteral/,
    why: 'the smallest rating that a size may have is above both',
  },
  {
    file: 'calculate/conductors/earth-conductor.ts',
    code: 'const needed = row.area ?? (row.share ?? 1) * area;',
    key: /^NumberLiteral/,
    why: 'each row has an area or a share',
  },
  {
    file: 'checks/conductors/leg-balance.ts',
    code: 'if ([...perLeg.values()].every((parts) => total(parts) === 0)) continue;',
    key: /^NumberLiteral/,
    why: 'what carries nothing on any leg passes instead of being left out: no finding either way',
  },
  {
    file: 'checks/conductors/leg-balance.ts',
    code: 'return moved.size > 0 && isWhole(moved) ? edit(moved) : [];',
    why: 'what does not do, or changes nothing, is refused where the change is tried on the whole design',
  },
  {
    file: 'checks/conductors/earth-conductor.ts',
    code: 'const least = growth?.inputs.at(-1);',
    why: 'it has two inputs: the last is the second',
  },
  {
    file: 'checks/conductors/earth-conductor.ts',
    code: "const isRaised = needed.source?.table === '250.122(B)' && listed !== undefined && growth !== undefined;",
    why: 'what is said of a finding, not whether there is one: what names that clause has both inputs',
  },
  {
    file: 'checks/conductors/neutral-bond.ts',
    code: "(each) => isTransferGear(each) || (isRelay(each) && asStated(each, 'switches') === 'phases'),",
    why: 'a change that changes nothing is refused where it is tried on the whole design',
  },
  {
    file: 'checks/conductors/parallel-runs.ts',
    code: "const most = others.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so), first);",
    key: /^EqualityOperator .*>=/,
    why: 'the larger of two equal currents is either',
  },
  {
    file: 'checks/conductors/parallel-runs.ts',
    code: "fixes: [largerSize(run, { accepts: (setup) => numberIn(setup.size, 'mm2') >= least * 0.999 })],",
    key: /^EqualityOperator/,
    why: 'no conductor has an area a thousandth below that of another',
  },
  {
    file: 'checks/conductors/run-current-basis.ts',
    code: "if (!power || !efficiency || nominal.kind !== 'known' || lowest.kind !== 'known') return;",
    why: 'the current that is known by then rests on all of them',
  },
  {
    file: 'checks/conductors/device-ratings.ts',
    code: '(a.name < b.name ? -1 : 1),',
    why: 'names are never equal, and of a comparison only the sign counts',
  },
  {
    file: 'checks/conductors/feeding.ts',
    code: 'const after = bringing.findIndex((each) => each.at > at);',
    key: /^EqualityOperator/,
    why: 'two segments at a node never have one place',
  },
  {
    file: 'checks/conductors/feeding.ts',
    code: 'return rated.length === 0 ? [] : [rated.reduce((so, next) => (rating(next) < rating(so) ? next : so))];',
    key: /^EqualityOperator .*<=/,
    why: 'the smaller of two equal ratings is either',
  },
  {
    file: 'checks/conductors/feeding.ts',
    code: "numberIn(current, 'A') <= numberIn(rating, 'A') ? { current, by } : { current: rating, by: [device.name] };",
    key: /^EqualityOperator/,
    why: 'of two equal limits it is said only by which one it is held',
  },
  {
    file: 'checks/conductors/memory.ts',
    code: 'return depth < 6 && derivation.inputs.some((input) => restsOnMemory(input, depth + 1));',
    key: /^EqualityOperator/,
    why: 'how deep is looked: no limit has its table so deep among its inputs',
  },
  {
    file: 'checks/conductors/memory.ts',
    code: 'return depth < 8 ? [...own, ...derivation.inputs.flatMap((input) => factsIn(input, depth + 1))] : own;',
    key: /^NumberLiteral/,
    why: 'how deep is looked: no fault current has the facts of its banks so deep among its inputs',
  },
  {
    file: 'checks/conductors/shared.ts',
    code: 'return depth < 4 ? derivation.inputs.flatMap((input) => defaultsIn(input, depth + 1)) : [];',
    key: /^NumberLiteral/,
    why: 'how deep is looked for what a sentence says was taken',
  },
  {
    file: 'checks/conductors/plug-neutral.ts',
    code: 'const isShort = across.length > 0 && own < lines;',
    key: /^EqualityOperator across/,
    why: 'with nothing between lines one line is needed, and every plug has one',
  },
  {
    file: 'checks/conductors/string-fuses.ts',
    code: 'const isAsked = total > 2 || arrays.length > 1 || bank !== undefined;',
    key: /^NumberLiteral 2\.2/,
    why: 'strings are counted in whole numbers',
  },
  {
    file: 'checks/conductors/two-sources-one-bus.ts',
    code: 'const rank = (at: Instance): number => (isTransferGear(at) ? 2 : isJoint(at) ? 1 : 0);',
    key: /^NumberLiteral/,
    why: 'of ranks only the order counts',
  },
  {
    file: 'checks/conductors/unknown-edition.ts',
    code: "...(editions.every((each) => Number(each) > Number(edition)) ? { severity: 'warning' as const } : {}),",
    key: /^EqualityOperator/,
    why: 'an edition that is stored has passed before',
  },
  {
    file: 'checks/conductors/unmarked-terminals.ts',
    code: 'const isOpen = size !== undefined && areUnmarked(run, size, context);',
    why: 'only runs whose terminals are unmarked are looked at in that design',
  },
  {
    file: 'checks/conductors/voltage-drop.ts',
    code: "if (voltage.kind !== 'known' || !length || !size || current.kind !== 'known') return;",
    why: 'a drop that is known rests on all of them',
  },
  {
    file: 'checks/conductors/run-ampacity.ts',
    code: "return isJudgement(again) && again.broken?.kind === 'uncorrected' ? again.broken : broken;",
    why: 'what is broken at marked terminals, or nothing, passes here as what is broken at unmarked ones does',
  },
  {
    file: 'checks/conductors/sizing.ts',
    code: "const output = ratings.size > 0 ? standAloneWith(run, context, ratings) : context.quantity(run, 'standAloneCurrent');",
    key: /^EqualityOperator/,
    why: 'with no other ratings it is the same current, worked out again',
  },
  {
    file: 'checks/conductors/sizing.ts',
    code: "return standardSizes('iec', metalOf(run)).filter(({ area }) => area >= NEC_SMALLEST);",
    key: /^EqualityOperator/,
    why: 'no metric size has the area of 14 AWG',
  },
  {
    file: 'checks/conductors/socket-residual-current.ts',
    code: 'if (!row || (row.from && edition && edition < row.from)) return undefined;',
    key: /^LogicalOperator row\.from \|\|/,
    why: 'an edition, or a row without one, compares as not older',
  },
  {
    file: 'checks/conductors/torque-missing.ts',
    code: 'if (without.length === 0) return things.length > 0 ? passed(run, NO_LIMIT) : undefined;',
    key: /^NumberLiteral/,
    why: 'whether a run that lacks nothing is counted among what passed',
  },
  {
    file: 'checks/conductors/way-drop.ts',
    code: "notes: inner.kind === 'known' ? [] : ['resistance of the bank is not known and left out'],",
    key: /^EqualityOperator/,
    why: 'a remark beside a value, not the value',
  },
  {
    file: 'checks/conductors/string-fuses.ts',
    code: "const fits = rating !== undefined && (!most || rating <= numberIn(most, 'A') * (1 + 1e-9)) ? rating : undefined;",
    key: /^NumberLiteral/,
    why: 'a fuse above what the modules allow is refused where the change is tried on the whole design',
  },
  {
    file: 'calculate/conductors/ampacity.ts',
    code: 'const DEFAULT_CORD_INSULATION = 60;',
    key: /^NumberLiteral/,
    why: 'tables have columns for 60 °C and 75 °C, and of two the lower is read',
  },
  {
    file: 'checks/conductors/way-drop.ts',
    code: 'const one = area && length && resistanceAt(each, area, length, undefined, context);',
    key: /^LogicalOperator/,
    why: 'without either there is no resistance that is known',
  },
  {
    file: 'checks/conductors/feeding.ts',
    code: 'bringing.splice(after < 0 ? bringing.length : after, 0, { ...come, at });',
    key: /^NumberLiteral/,
    why: 'the order in which the parts of a sum stand; that one of them were lost is noticed',
  },
];

/** @param {Mutant} mutant @returns {string | undefined} why no test notices it */
export const explanationOf = (mutant) =>
  SORTS.find(({ isOf }) => isOf(mutant))?.why ??
  SINGLE.find(
    ({ file, code, key }) => mutant.file.endsWith(file) && mutant.code === code && (key?.test(mutant.key) ?? true),
  )?.why;
