import { VERSION } from '../../version.js';
import type { CommandFacts, OptionFacts } from '../commands/completion.js';

/** Text of a page: a backslash and a minus are marks of roff, and a line must not begin with a dot or a quote. */
const text = (plain: string): string =>
  plain
    .replaceAll('\\', '\\e')
    .replaceAll('-', '\\-')
    .split('\n')
    .map((line) => (/^[.']/.test(line) ? `\\&${line}` : line))
    .join('\n');

function option({ short, long, value, description, choices }: OptionFacts): string {
  const flags = [...(short ? [short] : []), long].map((flag) => `\\fB${text(flag)}\\fR`).join(', ');
  const named = value === undefined ? '' : ` \\fI${text(value)}\\fR`;
  const among = choices.length > 0 ? ` One of ${choices.join(', ')}.` : '';
  return `.TP\n${flags}${named}\n${text(`${description}.${among}`)}`;
}

/** The man page of the program, in roff, from the same facts as its help. */
export function manPage(description: string, commands: readonly CommandFacts[]): string {
  const sections = commands.map(
    ({ name, description: does, usage, options }) =>
      `.SS ${name}\n${text(`${does}.`)}\n.PP\n.B ${text(`wattwright ${name}`)}\n${text(usage)}\n${options.map(option).join('\n')}`,
  );
  return `.TH WATTWRIGHT 1 "" "wattwright ${VERSION}" "User commands"
.SH NAME
wattwright \\- checks and calculates small power systems written as text
.SH SYNOPSIS
.B wattwright
.I command
[options] [file ...]
.SH DESCRIPTION
${text(description)}
.SH COMMANDS
${sections.join('\n')}
.SH EXIT STATUS
.TP
.B 0
Nothing to report.
.TP
.B 1
Findings at or above the severity or class that is asked for.
.TP
.B 2
The call or a file could not be used; one line on standard error says why.
.SH ENVIRONMENT
.TP
.B NO_COLOR
Set and not empty: no colour.
.TP
.B SOURCE_DATE_EPOCH
Seconds since 1970 whose day stands for today.
.SH CAUTION
${text('Calculated results support the work of people who know the trade; they replace neither local codes nor licensed practice.')}
`;
}
