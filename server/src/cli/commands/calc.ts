import type { AnalysedDesign, Derivation, Thing } from '@wattwright/language';
import { EXIT } from '../call-error.js';
import { sourceFiles } from '../files.js';
import { type NotComputed, jsonText, quantitiesJson } from '../output/json.js';
import { quantitiesMarkdown } from '../output/markdown.js';
import { prettyCaution, prettyDerivation, prettyQuantity } from '../output/pretty.js';
import { peopleText } from '../output/people-text.js';
import { type Terminal, terminalOf } from '../output/terminal.js';
import { requireDesign } from '../selection.js';
import { Session } from '../session.js';
import { today } from '../today.js';

export interface CalcOptions {
  readonly format: 'pretty' | 'json' | 'md';
  readonly design?: string;
  readonly variant?: string;
  readonly worked?: boolean;
  readonly quiet?: boolean;
  readonly stdinName: string;
  readonly today?: string;
  readonly color?: boolean;
}

interface Computed {
  readonly path: string;
  readonly derivation: Derivation;
}

/** `wattwright calc`. */
export async function calc(file: string, options: CalcOptions): Promise<number> {
  const session = await Session.open(await sourceFiles([file], { standardInputName: options.stdinName }));
  const day = options.today ?? today();
  const designs = session.documents.flatMap((document) => session.analyse(document, day).designs);
  requireDesign(designs, options);
  const wanted = options.variant ?? options.design;
  const computed: Computed[] = [];
  const notComputed: NotComputed[] = [];
  for (const design of designs) {
    if (wanted === undefined || design.system.name === wanted) compute(design, computed, notComputed);
  }
  process.stdout.write(
    options.format === 'json'
      ? jsonText(quantitiesJson(computed, notComputed))
      : options.format === 'md'
        ? quantitiesMarkdown(computed, notComputed)
        : pretty(computed, notComputed, options, terminalOf(options.color)),
  );
  return EXIT.clean;
}

function compute({ system, context }: AnalysedDesign, computed: Computed[], notComputed: NotComputed[]): void {
  const things: readonly Thing[] = [...system.instances, ...system.runs, ...system.links, ...system.controls];
  for (const thing of things) {
    for (const name of context.quantityNames(thing)) {
      const path = `${thing.path}.${name}`;
      const result = context.quantity(thing, name);
      if (result.kind === 'known') computed.push({ path, derivation: result.derivation });
      else if (result.kind === 'missing') notComputed.push({ path, missing: result.missing });
      else notComputed.push({ path, reason: result.reason });
    }
  }
}

function pretty(
  computed: readonly Computed[],
  notComputed: readonly NotComputed[],
  options: CalcOptions,
  terminal: Terminal,
): string {
  const { colors } = terminal;
  const blocks: string[] = [];
  if (!options.quiet) blocks.push(prettyCaution(terminal));
  if (options.worked)
    blocks.push(
      ...computed.map(
        ({ path, derivation }) => `${colors.bold(peopleText(path))}\n${prettyDerivation(derivation, terminal)}`,
      ),
    );
  else if (computed.length > 0)
    blocks.push(computed.map(({ path, derivation }) => `${prettyQuantity(path, derivation, terminal)}\n`).join(''));
  if (notComputed.length > 0 && !options.quiet)
    blocks.push(
      `${colors.bold('Not computed')}\n${notComputed
        .map(
          ({ path, missing, reason }) =>
            `  ${peopleText(path)}: ${peopleText(missing ? `missing ${missing.join(', ')}` : (reason ?? ''))}\n`,
        )
        .join('')}`,
    );
  return blocks.join('\n');
}
