/*
 * What findings, questions and verdicts are said of: a design by its name, or a thing in it by the path from there, `Site.Feed`.
 */

/** Whether something is said of a design or of a thing in it. */
export const isOfDesign = (subject: string, design: string): boolean =>
  subject === design || subject.startsWith(`${design}.`);

/** A thing without the name of its design, the same for a variant and its base; empty for the design itself. */
export const withoutDesign = (subject: string): string => subject.split('.').slice(1).join('.');
