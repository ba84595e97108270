import { Argument, type Command, InvalidArgumentError, Option } from 'commander';
import type { DiffOptions } from './commands/diff.js';
import type { MergeOptions } from './commands/merge.js';
import type { PartsOptions } from './commands/parts.js';
import { SHELLS, type Shell } from './shells.js';

/** What the building of the program lends to those who add commands to it. */
export interface Adding {
  readonly program: Command;
  readonly command: (name: string, description: string) => Command;
  readonly format: (...choices: readonly string[]) => Option;
  readonly examples: (...lines: readonly string[]) => string;
  readonly isDate: (text: string) => string;
  readonly color: (own: { color?: boolean }) => { color?: boolean };
  readonly finish: (code: number) => void;
}

function isAddress(text: string): string {
  if (/^https?:\/\/[^\s()<>|]+$/.test(text)) return text;
  throw new InvalidArgumentError('It must be an address as in https://forge.example/owner/name/blob/COMMIT.');
}

/** The values of an option that may be given several times. */
export const collected = (value: string, before: readonly string[] = []): readonly string[] => [...before, value];

/** Commands for whoever reviews changes, or runs checks for others: `diff` and `merge`. */
export function addReviewCommands(
  { command, format, examples, isDate, color, finish }: Adding,
  pathsBehindDashes: readonly string[],
): void {
  command('merge', 'put the reports of the parts of a check together')
    .argument('<file...>', 'reports of one format: json, sarif, gitlab or rdjson')
    .addOption(
      new Option('--fail-on <severity>', 'lowest severity that ends with exit code 1')
        .choices(['error', 'warning', 'info'])
        .default('error'),
    )
    .option('-o, --output <file>', 'write it to a file instead of standard output')
    .addHelpText('after', examples('merge part-*.json', 'merge part-1.sarif part-2.sarif -o findings.sarif'))
    .action(async (files: string[], options: MergeOptions) => {
      const { merge } = await import('./commands/merge.js');
      finish(await merge(files, options));
    });

  command('diff', 'say what a change does to the designs of a git repository')
    .argument('[revision...]', 'one revision against the working folder, or two; A..B, A...B; without it HEAD')
    .usage('[options] [revision [revision]] [-- path...]')
    .addOption(format('pretty', 'json', 'md'))
    .addOption(
      new Option(
        '--fail-on <class>',
        'exit code 1 for a change of this class or a worse one; without it never',
      ).choices(['fails', 'less', 'trust']),
    )
    .option('--all', 'also every number that has changed, and what is folded')
    .option('--design <name>', 'only this design')
    .option(
      '--rename <old=new>',
      'a thing that was renamed, where it is not found by itself; may be given again',
      collected,
    )
    .option('--svg <file>', 'also draw the change of one design: what is new, changed and removed')
    .option('--link-base <address>', 'with md: what stands before a path in a link', isAddress)
    .option('--marker <name>', 'with md: name in the hidden first line, to find the comment again')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText(
      'after',
      examples(
        'diff',
        'diff main',
        'diff main...HEAD --format md > comment.md',
        'diff v1.0 v1.1 -- site/station.watt',
        'diff main --fail-on fails',
        'diff main --design RidgeStation --svg change.svg',
      ),
    )
    .action(async (revisions: string[], options: DiffOptions) => {
      const { diff } = await import('./commands/diff.js');
      finish(await diff(revisions, pathsBehindDashes, { ...options, ...color(options) }));
    });
}

/** A command for whoever looks for a part. */
export function addPartsCommand({ command, format, examples, color, finish }: Adding): void {
  command(
    'parts',
    'list the parts that designs can use, with their ratings: of the project, of its parts folders, of the library',
  )
    .argument('[filter...]', "a kind (battery), a rating ('capacity>=100 Ah', chemistry=lfp), a word of the name")
    .addOption(format('pretty', 'json'))
    .option('--in <path>', 'file or folder whose parts, and whose project, count', '.')
    .option('--own', 'without the parts of the standard library')
    .addHelpText(
      'after',
      `${examples('parts battery', "parts battery chemistry=lfp 'capacity>=100 Ah'", "parts inverter 'rated>2 kW' 'idle<=20 W' --own", 'parts fuse --format json')}
Several filters narrow one another. A rating that is a range fits where all of it does. Exit code 1 where no part fits.`,
    )
    .action(async (filters: string[], options: PartsOptions) => {
      const { parts } = await import('./commands/parts.js');
      finish(await parts(filters, { ...options, ...color(options) }));
    });
}

/** Commands for whoever installs the program. */
export function addInstallCommands({ program, command, examples, finish }: Adding): void {
  command('completion', 'write the completions for a shell')
    .addArgument(new Argument('<shell>', 'the shell').choices(SHELLS))
    .addHelpText(
      'after',
      examples('completion bash >> ~/.bashrc', 'completion fish > ~/.config/fish/completions/wattwright.fish'),
    )
    .action(async (shell: Shell) => {
      const { completion } = await import('./commands/completion.js');
      finish(completion(shell, program));
    });

  program.command('man-page', { hidden: true }).action(async () => {
    const { printManPage } = await import('./commands/completion.js');
    finish(printManPage(program));
  });
}
