import path from 'node:path';

/** Whether a path lies below a folder, by its name alone. */
export function isInside(folder: string, file: string): boolean {
  const relative = path.relative(folder, file);
  return relative !== '' && !relative.startsWith(`..${path.sep}`) && relative !== '..' && !path.isAbsolute(relative);
}
