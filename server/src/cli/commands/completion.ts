import type { Command, Option } from 'commander';
import { CHECKS } from '@wattwright/language';
import { EXIT } from '../call-error.js';
import { completionScript } from '../output/completion.js';
import type { Shell } from '../shells.js';
import { manPage } from '../output/man-page.js';

/** `wattwright completion SHELL`. */
export function completion(shell: Shell, program: Command): number {
  process.stdout.write(
    completionScript(
      shell,
      commandsOf(program),
      CHECKS.map(({ id }) => id),
    ),
  );
  return EXIT.clean;
}

/** `wattwright man-page`: for whoever packs the program. */
export function printManPage(program: Command): number {
  process.stdout.write(manPage(program.description(), commandsOf(program)));
  return EXIT.clean;
}

/** A command as completions and the man page tell of it. */
export interface CommandFacts {
  readonly name: string;
  readonly description: string;
  readonly usage: string;
  readonly options: readonly OptionFacts[];
}

export interface OptionFacts {
  readonly short?: string;
  readonly long: string;
  readonly description: string;
  readonly choices: readonly string[];
  /** Name of its value; absent where it takes none. */
  readonly value?: string;
}

const optionFacts = ({ short, long, flags, description, argChoices }: Option): OptionFacts => {
  const value = /[<[]([^>\]]+)[>\]]/.exec(flags)?.[1];
  return {
    ...(short ? { short } : {}),
    long: long ?? '',
    description,
    choices: argChoices ?? [],
    ...(value === undefined ? {} : { value }),
  };
};

const commandsOf = (program: Command): CommandFacts[] =>
  program
    .createHelp()
    .visibleCommands(program)
    .map((command) => ({
      name: command.name(),
      description: command.description(),
      usage: command.usage(),
      options: command
        .createHelp()
        .visibleOptions(command)
        .map(optionFacts)
        .filter(({ long }) => long !== ''),
    }));
