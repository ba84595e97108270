import type { CommandFacts, OptionFacts } from '../commands/completion.js';
import type { Shell } from '../shells.js';

/** Commands whose first argument is the name of a check or a function, and those that take design files. */
const NAMED = 'explain';
const WITHOUT_FILES: ReadonlySet<string> = new Set(['explain', 'eval', 'lsp', 'help', 'completion']);

/** A text between single quotes of a shell. */
const quoted = (text: string): string => `'${text.replaceAll("'", `'\\''`)}'`;

const flagsOf = ({ short, long }: OptionFacts): string[] => [long, ...(short ? [short] : [])];

/** A completion script: static text, so that a key press starts no program. */
export function completionScript(shell: Shell, commands: readonly CommandFacts[], checks: readonly string[]): string {
  switch (shell) {
    case 'bash':
      return bash(commands, checks);
    case 'zsh':
      return zsh(commands, checks);
    case 'fish':
      return fish(commands, checks);
  }
}

function bash(commands: readonly CommandFacts[], checks: readonly string[]): string {
  const cases = commands.map(({ name, options }) => {
    const choices = options
      .filter((option) => option.choices.length > 0)
      .map(
        (option) =>
          `      ${flagsOf(option).join('|')}) COMPREPLY=($(compgen -W ${quoted(option.choices.join(' '))} -- "$word")); return ;;`,
      );
    const values = options
      .filter((option) => option.value !== undefined && option.choices.length === 0)
      .flatMap(flagsOf);
    return [
      `  ${name})`,
      '    case "$before" in',
      ...choices,
      ...(values.length > 0 ? [`      ${values.join('|')}) COMPREPLY=($(compgen -f -- "$word")); return ;;`] : []),
      '    esac',
      `    options=${quoted(options.flatMap(flagsOf).join(' '))}`,
      `    names=${quoted(name === NAMED ? checks.join(' ') : name === 'completion' ? 'bash zsh fish' : '')}`,
      `    files=${WITHOUT_FILES.has(name) ? 'no' : 'yes'}`,
      '    ;;',
    ].join('\n');
  });
  return `# Completion of wattwright for bash: put \`source <(wattwright completion bash)\` into ~/.bashrc
_wattwright() {
  local word="\${COMP_WORDS[COMP_CWORD]}" before="\${COMP_WORDS[COMP_CWORD-1]}" command="\${COMP_WORDS[1]}"
  local options='' names='' files='no'
  COMPREPLY=()
  if [ "$COMP_CWORD" -eq 1 ]; then
    COMPREPLY=($(compgen -W ${quoted(commands.map(({ name }) => name).join(' '))} -- "$word"))
    return
  fi
  case "$command" in
${cases.join('\n')}
  esac
  if [ "\${word:0:1}" = '-' ]; then
    COMPREPLY=($(compgen -W "$options" -- "$word"))
  elif [ -n "$names" ]; then
    COMPREPLY=($(compgen -W "$names" -- "$word"))
  elif [ "$files" = 'yes' ]; then
    local each
    while IFS= read -r each; do COMPREPLY+=("$each"); done < <(compgen -f -X '!*.watt' -- "$word"; compgen -d -- "$word")
  fi
}
complete -o filenames -F _wattwright wattwright
`;
}

function zsh(commands: readonly CommandFacts[], checks: readonly string[]): string {
  /** Text of a specification of \`_arguments\`: brackets and colons end its parts. */
  const plain = (text: string): string => text.replace(/[[\]:\\]/g, (mark) => `\\${mark}`);
  const specification = (option: OptionFacts): string[] =>
    flagsOf(option).map((flag) => {
      const value =
        option.value === undefined
          ? ''
          : `:${plain(option.value)}:${option.choices.length > 0 ? `(${option.choices.join(' ')})` : '_files'}`;
      return `        ${quoted(`${flag}[${plain(option.description)}]${value}`)}`;
    });
  const rest = (name: string): string =>
    name === NAMED
      ? quoted(`*:check:(${checks.join(' ')})`)
      : name === 'completion'
        ? quoted('*:shell:(bash zsh fish)')
        : WITHOUT_FILES.has(name)
          ? quoted('*::')
          : quoted('*:design:_files -g "*.watt(-.)" -/');
  const cases = commands.map(
    ({ name, options }) =>
      `    ${name})\n      _arguments -s \\\n${[...options.flatMap(specification), `        ${rest(name)}`].join(' \\\n')}\n      ;;`,
  );
  return `#compdef wattwright
# Completion of wattwright for zsh: save it as _wattwright in a folder of $fpath
_wattwright() {
  local -a commands
  commands=(
${commands.map(({ name, description }) => `    ${quoted(`${name}:${plain(description)}`)}`).join('\n')}
  )
  if (( CURRENT == 2 )); then
    _describe 'command' commands
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
${cases.join('\n')}
  esac
}
compdef _wattwright wattwright
`;
}

function fish(commands: readonly CommandFacts[], checks: readonly string[]): string {
  const within = (name: string): string => quoted(`__fish_seen_subcommand_from ${name}`);
  const lines = commands.flatMap(({ name, description, options }) => [
    `complete -c wattwright -f -n __fish_use_subcommand -a ${name} -d ${quoted(description)}`,
    ...options.map((option) => {
      const value =
        option.value === undefined
          ? ''
          : option.choices.length > 0
            ? ` -x -a ${quoted(option.choices.join(' '))}`
            : ' -r -F';
      const short = option.short ? ` -s ${option.short.replace(/^-/, '')}` : '';
      return `complete -c wattwright -n ${within(name)}${short} -l ${option.long.replace(/^--/, '')}${value} -d ${quoted(option.description)}`;
    }),
    name === NAMED
      ? `complete -c wattwright -f -n ${within(name)} -a ${quoted(checks.join(' '))}`
      : name === 'completion'
        ? `complete -c wattwright -f -n ${within(name)} -a 'bash zsh fish'`
        : WITHOUT_FILES.has(name)
          ? `complete -c wattwright -f -n ${within(name)}`
          : `complete -c wattwright -n ${within(name)} -F`,
  ]);
  return `# Completion of wattwright for fish: save it as ~/.config/fish/completions/wattwright.fish\n${lines.join('\n')}\n`;
}
