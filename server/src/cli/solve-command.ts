import { InvalidArgumentError } from 'commander';
import type { SolveOptions } from './commands/solve.js';
import type { Adding } from './review-commands.js';

/** Answers at most that one call may ask for. */
const MOST_ANSWERS = 20;

function isCount(text: string): number {
  const count = Number(text);
  if (Number.isInteger(count) && count >= 1 && count <= MOST_ANSWERS) return count;
  throw new InvalidArgumentError(`It must be a whole number from 1 to ${MOST_ANSWERS}.`);
}

/** The command that finds values for what a design leaves open. */
export function addSolveCommand({ command, format, examples, isDate, color, finish }: Adding): void {
  command('solve', 'find values for every `?` of a design, with what holds each of them')
    .argument('<file>', 'design file, or - for standard input')
    .addOption(format('pretty', 'json'))
    .option('--write', 'write the best values into the file')
    .option('--top <number>', 'how many answers, the best first', isCount, 1)
    .option('--design <name>', 'only this design')
    .option('--variant <name>', 'only this variant')
    .option('-q, --quiet', 'no cautions')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText(
      'after',
      examples(
        'solve site.watt',
        'solve site.watt --top 5',
        'solve site.watt --write',
        'solve site.watt --format json',
      ),
    )
    .action(async (file: string, options: SolveOptions) => {
      const { solve } = await import('./commands/solve.js');
      finish(await solve(file, { ...options, ...color(options) }));
    });
}
