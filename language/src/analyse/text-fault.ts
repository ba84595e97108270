import { findCheck } from '../checks/index.js';
import type { System } from '../model/types.js';
import { isOfDesign } from './subjects.js';
import type { Analysis, Finding } from './types.js';

/**
 * The first error in the text of a design, or in the file around it: what is drawn, simulated or handed over is then not the design that is
 * meant. What a variant takes over is told of its base.
 */
export const textFault = ({ findings }: Analysis, { name, variant }: System): Finding | undefined =>
  findings.find(
    ({ check, severity, subject }) =>
      severity === 'error' &&
      findCheck(check)?.group === 'text' &&
      (subject === '' || variant !== undefined || isOfDesign(subject, name)),
  );
