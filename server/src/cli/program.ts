import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import { VERSION } from '../version.js';
import { CallError, EXIT } from './call-error.js';
import type { CalcOptions } from './commands/calc.js';
import type { CheckOptions } from './commands/check.js';
import type { DrawOptions } from './commands/draw.js';
import type { EvalOptions } from './commands/eval.js';
import type { ExplainOptions } from './commands/explain.js';
import type { FormatOptions } from './commands/fmt.js';
import type { ReportOptions } from './commands/report.js';
import type { SimulateOptions } from './commands/simulate.js';
import { CHECK_FORMATS } from './check-formats.js';
import { safeLines, safeText } from './output/safe-text.js';
import { addSolveCommand } from './solve-command.js';
import { type Adding, addInstallCommands, addPartsCommand, addReviewCommands, collected } from './review-commands.js';

const COLOR = 'colour the output even where it is no terminal';
const NO_COLOR = 'never colour the output (so does NO_COLOR in the environment)';

const examples = (...lines: readonly string[]): string =>
  `\nExamples:\n${lines.map((line) => `  $ wattwright ${line}`).join('\n')}\n`;

function isDate(text: string): string {
  const date = new Date(`${text}T00:00:00Z`);
  if (/^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(date.getTime()) && date.toISOString().startsWith(text))
    return text;
  throw new InvalidArgumentError('It must be a date as in 2027-01-15.');
}

function isSeconds(text: string): number {
  const seconds = Number(text);
  if (text.trim() !== '' && seconds >= 1 && seconds <= 31_536_000) return seconds;
  throw new InvalidArgumentError('It must be a number of seconds, 1 or more.');
}

function isNumber(text: string): number {
  const value = Number(text);
  if (text.trim() !== '' && Number.isFinite(value)) return value;
  throw new InvalidArgumentError('It must be a number.');
}

const format = (...choices: readonly string[]): Option =>
  new Option('-f, --format <format>', 'how the output is written').choices(choices).default(choices[0]);

/** Files of the program that are started by themselves. */
export interface ProgramParts {
  /** Starts a thread that plays runs of a scenario; without it they are all played by the one thread of the call. */
  readonly runsThread?: URL;
}

/**
 * Builds the program. Each command loads its own code only when it is called, so that `--help` and a small command do not pay for
 * the others. `finish` receives the exit code.
 */
export function buildProgram(
  finish: (code: number) => void,
  pathsBehindDashes: readonly string[] = [],
  { runsThread }: ProgramParts = {},
): Command {
  const program = new Command('wattwright')
    .description(
      'Checks and calculates small power systems written in .watt files.\nNeeds no network; changes no file unless told to.',
    )
    .version(VERSION, '-V, --version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .helpCommand('help [command]', 'print the help of a command')
    .option('--color', COLOR)
    .option('--no-color', NO_COLOR)
    .addHelpText(
      'after',
      `${examples('check', 'check --format sarif site > findings.sarif', "eval 'ampacity(size: 10 AWG, type: THWN-2, ambient: 40 degC)'", 'explain run-ampacity', 'new my-design')}
Exit codes: 0 nothing to report, 1 findings at or above --fail-on, 2 the call or a file could not be used.`,
    );
  const command = (name: string, description: string): Command =>
    program
      .command(name)
      .description(description)
      .helpOption('-h, --help', 'print this help')
      .option('--color', COLOR)
      .option('--no-color', NO_COLOR);
  /** `--color` may stand before or after the command's name. */
  const color = (own: { color?: boolean }): { color?: boolean } => {
    const asked = own.color ?? program.opts<{ color?: boolean }>().color;
    return asked === undefined ? {} : { color: asked };
  };

  command('check', 'report every finding and requirement of every design')
    .argument('[path...]', 'design files, folders, or - for standard input', ['.'])
    .addOption(format(...CHECK_FORMATS))
    .option(
      '--output <format:file>',
      'also write a report to a file, as in sarif:findings.sarif; may be given again',
      collected,
    )
    .option('--fix', 'apply the fixes marked safe, and say which')
    .option('--unsafe', 'with --fix: also the preferred fix of each finding, until nothing changes')
    .addOption(
      new Option(
        '--fixes <how many>',
        'for how many findings fixes are worked out; some: the worst 20, within about a second a file',
      )
        .choices(['all', 'some', 'none'])
        .default('some'),
    )
    .addOption(
      new Option(
        '--fail-on <severity>',
        'lowest severity that ends with exit code 1: what wattwright.json says, or error',
      ).choices(['error', 'warning', 'info']),
    )
    .option('--exit-zero', 'end with exit code 0 whatever is found')
    .option('--baseline <revision>', 'only what is not found in this revision of the git repository')
    .option('--changed <revision>', 'only designs that have changed since this revision, or what they draw in')
    .option('--shard <nth/of>', 'only this part of the files, as in 2/8; put together again by `merge`')
    .addOption(
      new Option('--accepted <what>', 'with sarif: include accepted findings as suppressed results')
        .choices(['include', 'leave'])
        .default('leave'),
    )
    .option(
      '--root <folder>',
      'folder at which paths in reports for other programs start; without it the top of the repository',
    )
    .option('--junit-strict', 'with junit: without the file of each case, which some readers refuse')
    .option('--design <name>', 'only this design')
    .option('--variant <name>', 'only this variant')
    .option('--questions', 'list the facts that are missing, not only their number')
    .option('-q, --quiet', 'findings and nothing else')
    .option('--timing', 'say how long it took, which makes the output differ from run to run')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText(
      'after',
      examples(
        'check',
        'check site.watt --design RidgeStation --fail-on warning',
        'check --format sarif . > findings.sarif',
        'check --format github --output sarif:findings.sarif --output junit:tests.xml .',
        'check --baseline origin/main',
        'check - --stdin-name site.watt < site.watt',
        'check --fix site.watt',
        'check --fix --unsafe site.watt',
        'check --fixes none --quiet .',
      ),
    )
    .action(async (paths: string[], options: CheckOptions) => {
      const { check } = await import('./commands/check.js');
      finish(await check(paths, { ...options, ...color(options) }, runsThread));
    });

  command('eval', 'work out one expression and show how')
    .argument('<expression>', 'an expression of the language')
    .addOption(format('pretty', 'json', 'md'))
    .option('--in <file>', 'design file whose names the expression may use; - for standard input')
    .option('--design <name>', 'design in that file, where it has several')
    .option('--variant <name>', 'variant in that file')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .addHelpText(
      'after',
      examples(
        "eval 'ampacity(size: 10 AWG, type: THWN-2, ambient: 40 degC)'",
        "eval 'voltageDrop(current: 80 A, length: 1.8 m, size: 2 AWG, voltage: 51.2 V).ratio'",
        "eval 'RectFeed.current' --in site.watt --design RidgeStation",
        "eval 'chargeTime(Bank, 20 %, 90 %)' --in site.watt --variant BigBank",
      ),
    )
    .action(async (expression: string, options: EvalOptions) => {
      const { evaluate } = await import('./commands/eval.js');
      finish(await evaluate(expression, { ...options, ...color(options) }));
    });

  command('calc', 'list every computed quantity of every design with its derivation')
    .argument('<file>', 'design file, or - for standard input')
    .addOption(format('pretty', 'json', 'md'))
    .option('--design <name>', 'only this design')
    .option('--variant <name>', 'only this variant')
    .option('--worked', 'show each calculation step by step, not only its result')
    .option('-q, --quiet', 'quantities and nothing else')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText('after', examples('calc site.watt', 'calc site.watt --worked', 'calc site.watt --format json'))
    .action(async (file: string, options: CalcOptions) => {
      const { calc } = await import('./commands/calc.js');
      finish(await calc(file, { ...options, ...color(options) }));
    });

  command('simulate', 'simulate scenarios over time: summary, series and plot')
    .argument('<file>', 'design file, or - for standard input')
    .addOption(format('pretty', 'json'))
    .option('--scenario <name>', 'only this scenario')
    .option('--design <name>', 'only this design')
    .option('--variant <name>', 'only this variant')
    .option('--csv <file>', 'write the series of one scenario as comma-separated values')
    .option('--every <seconds>', 'seconds between the rows of the series', isSeconds, 60)
    .option('--svg, --plot <file>', 'write the plot of one scenario as SVG')
    .option(
      '--against <log.csv>',
      'hold a log of the site against one scenario: error figures, and the log in the plot',
    )
    .option('--log-ahead <seconds>', 'how far the clock of the logger runs ahead', isNumber, 0)
    .option('-q, --quiet', 'no cautions and no list of assumptions')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText(
      'after',
      examples(
        'simulate site.watt',
        'simulate site.watt --scenario FiveDark --plot five-dark.svg',
        'simulate site.watt --scenario FiveDark --csv five-dark.csv --every 900',
        'simulate site.watt --scenario Week --against logger.csv --plot compared.svg',
        'simulate site.watt --format json',
      ),
    )
    .action(async (file: string, options: SimulateOptions) => {
      const { simulate } = await import('./commands/simulate.js');
      finish(await simulate(file, { ...options, ...color(options) }, runsThread));
    });

  command('draw', 'draw the single-line diagram of the whole and of every source state, or the wiring views')
    .argument('<file>', 'design file, or - for standard input')
    .requiredOption('-o, --output <file>', 'SVG or PDF file to write')
    .addOption(new Option('--paper <size>', 'paper of a PDF').choices(['A3', 'A4', 'Letter']).default('A3'))
    .option('--state <id>', 'only the sheet of this source state; none: only the sheet of the whole', 'all')
    .option('--wiring', 'the wiring views instead: by enclosure, what is landed on which terminal')
    .option('--enclosure <name>', 'only the wiring view of this enclosure')
    .option('--design <name>', 'design in that file, where it has several')
    .option('--variant <name>', 'variant in that file')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText(
      'after',
      examples(
        'draw site.watt -o site.svg',
        'draw site.watt --paper A4 -o site.pdf',
        'draw site.watt --state Genset+sun -o running.svg',
        'draw site.watt --state none -o diagram.svg',
        'draw site.watt --variant BigBank -o big-bank.svg',
        'draw site.watt --wiring -o wiring.svg',
        'draw site.watt --enclosure board -o board.svg',
      ),
    )
    .action(async (file: string, options: DrawOptions) => {
      const { draw } = await import('./commands/draw.js');
      finish(await draw(file, options));
    });

  command('report', 'write the hand-over set: schedules, diagram, settings, commissioning, owner’s pages')
    .argument('<file>', 'design file, or - for standard input')
    .requiredOption('-o, --output <folder>', 'folder to write into; created if missing')
    .addOption(format('pretty', 'json'))
    .option('--design <name>', 'design in that file, where it has several')
    .option('--variant <name>', 'variant in that file')
    .option(
      '--sheet <name>',
      'only this sheet; may be given several times',
      (name, all: string[]) => [...all, name],
      [],
    )
    .addOption(
      new Option(
        '--fail-on <severity>',
        'write nothing and end with exit code 1 where anything at or above it is found',
      ).choices(['error', 'warning', 'info']),
    )
    .option('--commission', 'only the commissioning sheet, with what the design says was measured')
    .addOption(
      new Option('--paper <size>', 'paper to print on; default: Letter for nec, A4 elsewhere').choices([
        'A4',
        'Letter',
      ]),
    )
    .option('--no-pdf', 'write no PDF, for which a Chromium is needed')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .option('--today <date>', 'judge dates as of this day instead of today', isDate)
    .addHelpText(
      'after',
      examples(
        'report site.watt -o handover',
        'report site.watt -o handover --paper Letter',
        'report site.watt -o handover --variant BigBank --fail-on error',
        'report site.watt -o handover --sheet wires --sheet commissioning --no-pdf',
        'report site.watt -o handover --format json > handover.json',
      ),
    )
    .action(async (file: string, options: ReportOptions) => {
      const { report } = await import('./commands/report.js');
      finish(await report(file, options));
    });

  const adding: Adding = { program, command, format, examples, isDate, color, finish };
  addSolveCommand(adding);
  addReviewCommands(adding, pathsBehindDashes);

  command('explain', 'say what a check guards or what a function computes; alone, list them all')
    .argument('[name]', 'a check or a function')
    .addOption(format('pretty', 'json', 'md'))
    .addHelpText('after', examples('explain', 'explain run-ampacity', 'explain voltageDrop --format md'))
    .action(async (name: string | undefined, options: ExplainOptions) => {
      const { explain } = await import('./commands/explain.js');
      finish(explain(name, { ...options, ...color(options) }));
    });

  command('fmt', 'put design files into the one canonical layout')
    .argument('[path...]', 'design files, folders, or - for standard input', ['.'])
    .option('--check', 'change nothing; exit code 1 when a file is laid out otherwise')
    .option('-q, --quiet', 'say nothing of what was changed')
    .option('--stdin-name <name>', 'file name that stands for standard input', 'stdin.watt')
    .addHelpText('after', examples('fmt', 'fmt --check .', 'fmt - < site.watt'))
    .action(async (paths: string[], options: FormatOptions) => {
      const { formatFiles } = await import('./commands/fmt.js');
      finish(await formatFiles(paths, options));
    });

  command('new', 'write a starter design that checks clean into a new or empty folder')
    .argument('<dir>', 'the folder')
    .addHelpText('after', examples('new my-design'))
    .action(async (folder: string) => {
      const { writeStarter } = await import('./commands/new.js');
      finish(await writeStarter(folder));
    });

  addPartsCommand(adding);
  addInstallCommands(adding);

  command('lsp', 'run the language server, for any editor')
    .option('--stdio', 'talk over standard input and output')
    .allowUnknownOption()
    .allowExcessArguments()
    .addHelpText('after', examples('lsp --stdio'))
    .action(async (options: { stdio?: boolean }) => {
      const { serve } = await import('./commands/lsp.js');
      finish(await serve(options));
    });
  return program;
}

/** Commander reports on several lines; an unusable call is told on one. */
const oneLine = (text: string): string =>
  text
    .replace(/^error:\s*/, '')
    .trim()
    .replace(/\.?\s*\n\s*/g, ' ');

/** Runs one call and resolves with its exit code. */
export async function run(args: readonly string[], parts: ProgramParts = {}): Promise<number> {
  let code: number = EXIT.clean;
  // Behind `--` stand paths; before it `diff` takes revisions, and only here the two can still be told apart.
  const dashes = args[0] === 'diff' ? args.indexOf('--') : -1;
  const [given, paths] = dashes < 0 ? [args, []] : [args.slice(0, dashes), args.slice(dashes + 1)];
  const program = buildProgram(
    (result) => {
      code = result;
    },
    paths,
    parts,
  );
  const complain = (text: string): void => {
    process.stderr.write(`wattwright: ${safeText(text)}\n`);
  };
  for (const command of [program, ...program.commands]) {
    command
      .exitOverride()
      .configureOutput({ outputError: () => undefined })
      .showSuggestionAfterError(true);
  }
  if (args.length === 0) {
    program.outputHelp({ error: true });
    return EXIT.unusable;
  }
  try {
    await program.parseAsync(given, { from: 'user' });
    return code;
  } catch (error) {
    if (error instanceof CallError) complain(error.message);
    else if (error instanceof CommanderError) {
      if (error.exitCode === 0) return EXIT.clean;
      complain(misuse(error, args, program));
    } else {
      // Exit code 1 means findings, so that a defect must not end with it.
      complain(
        `this is a defect of the program, please report it: ${error instanceof Error ? error.message : String(error)}`,
      );
      if (error instanceof Error && error.stack) process.stderr.write(`${safeLines(error.stack)}\n`);
    }
    return EXIT.unusable;
  }
}

function misuse(error: CommanderError, args: readonly string[], program: Command): string {
  const text = oneLine(error.message);
  const first = args.find((arg) => !arg.startsWith('-')) ?? '';
  if (error.code !== 'commander.unknownCommand') {
    const command = program.commands.some((each) => each.name() === first) ? ` ${first}` : '';
    return `${text}; \`wattwright${command} --help\` shows what there is`;
  }
  if (first.endsWith('.watt')) return `${first} is no command; to check it say \`wattwright check ${first}\``;
  const commands = program.commands.map((command) => command.name()).join(', ');
  return `${text}; the commands are ${commands}`;
}
