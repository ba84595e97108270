import { type AnalysedDesign, nearest } from '@wattwright/language';
import { CallError } from './call-error.js';
import type { Selection } from './report.js';

/** Refuses a design or variant that is not there, with the nearest name. */
export function requireDesign(designs: readonly AnalysedDesign[], { design, variant }: Selection): void {
  const names = (variants: boolean): string[] => [
    ...new Set(
      designs.filter(({ system }) => (system.variant !== undefined) === variants).map(({ system }) => system.name),
    ),
  ];
  const require = (what: string, wanted: string | undefined, present: readonly string[]): void => {
    if (wanted === undefined || present.includes(wanted)) return;
    const near = nearest(wanted, present)[0];
    const help = near
      ? `did you mean ${near}?`
      : present.length > 0
        ? `there ${present.length === 1 ? 'is' : 'are'} ${present.slice(0, 8).join(', ')}`
        : `there is no ${what} in these files`;
    throw new CallError(`no ${what} is named ${wanted}; ${help}`);
  };
  require('design', design, names(false));
  require('variant', variant, names(true));
}
