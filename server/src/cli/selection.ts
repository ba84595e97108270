import { type AnalysedDesign, nearest } from '@wattwright/language';
import { CallError } from './call-error.js';
import type { Selection } from './report.js';

/** Refuses a name that is not there, with the nearest one or the names there are. */
export function requireName(what: string, wanted: string, present: readonly string[]): void {
  if (present.includes(wanted)) return;
  const near = nearest(wanted, present)[0];
  const help = near
    ? `did you mean ${near}?`
    : present.length > 0
      ? `there ${present.length === 1 ? 'is' : 'are'} ${present.slice(0, 8).join(', ')}`
      : `there is no ${what} in what was read`;
  throw new CallError(`no ${what} is named ${wanted}; ${help}`);
}

/** Refuses a design or variant that is not there. */
export function requireDesign(designs: readonly AnalysedDesign[], { design, variant }: Selection): void {
  const names = (variants: boolean): string[] => [
    ...new Set(
      designs.filter(({ system }) => (system.variant !== undefined) === variants).map(({ system }) => system.name),
    ),
  ];
  if (design !== undefined && names(true).includes(design))
    throw new CallError(`${design} is a variant; say --variant ${design}`);
  if (design !== undefined) requireName('design', design, names(false));
  if (variant !== undefined) requireName('variant', variant, names(true));
}
