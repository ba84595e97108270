import { realpathSync } from 'node:fs';
import path from 'node:path';

/** Whether a path lies below a folder, by its name alone. */
export function isInside(folder: string, file: string): boolean {
  const relative = path.relative(folder, file);
  return relative !== '' && !relative.startsWith(`..${path.sep}`) && relative !== '..' && !path.isAbsolute(relative);
}

/** Whether a file lies inside a folder once links are followed. What cannot be followed to its end lies nowhere. */
export function isReallyInside(folder: string, file: string): boolean {
  if (!isInside(folder, file)) return false;
  try {
    return isInside(realpathSync(folder), realpathSync(file));
  } catch {
    return false;
  }
}
