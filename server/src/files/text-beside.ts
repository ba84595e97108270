import type { UnreadText } from '@wattwright/language';
import { Unreadable, readText } from './read-text.js';

/** The text of a file that a design names beside itself; why it cannot be read where it is there; undefined where there is none. */
export function textBeside(file: string): string | UnreadText | undefined {
  try {
    return readText(file);
  } catch (error) {
    const unread = reasonOf(error);
    return unread === undefined ? undefined : { unread };
  }
}

/** Why a file that is there cannot be read, in words that follow on its name. */
export function unreadBecause(file: string): string | undefined {
  const text = textBeside(file);
  return typeof text === 'object' ? text.unread : undefined;
}

function reasonOf(error: unknown): string | undefined {
  if (error instanceof Unreadable) return error.message;
  switch ((error as NodeJS.ErrnoException).code) {
    case 'EACCES':
    case 'EPERM':
      return 'is there, and permission to read it was refused';
    case 'ELOOP':
      return 'is a link that leads in a circle';
    default:
      return undefined;
  }
}
