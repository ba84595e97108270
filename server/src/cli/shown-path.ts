import path from 'node:path';

/** The name of a path as output shows it: relative to the working folder, with `/`. */
export function shownPath(absolute: string, cwd = process.cwd()): string {
  const relative = path.relative(cwd, absolute);
  return (relative === '' ? '.' : relative).split(path.sep).join('/');
}
