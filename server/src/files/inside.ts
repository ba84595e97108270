import { realpathSync } from 'node:fs';
import { isInside } from './inside-by-name.js';

export { isInside };

/** Whether a file lies inside a folder once links are followed. What cannot be followed to its end lies nowhere. */
export function isReallyInside(folder: string, file: string): boolean {
  if (!isInside(folder, file)) return false;
  try {
    return isInside(realpathSync(folder), realpathSync(file));
  } catch {
    return false;
  }
}
