/** A call or a file that cannot be used: ends the program with exit code 2 and one line that says what and how to mend it. */
export class CallError extends Error {}

export const EXIT = {
  /** Nothing at or above the severity asked for. */
  clean: 0,
  /** Findings at or above it. */
  findings: 1,
  /** The call or a file could not be used. */
  unusable: 2,
} as const;

/** The system's reason in plain words: `no such file or directory`. */
export function reason(error: unknown): string {
  const code = (error as NodeJS.ErrnoException | undefined)?.code;
  switch (code) {
    case 'ENOENT':
      return 'there is no such file or folder';
    case 'EACCES':
    case 'EPERM':
      return 'permission was refused';
    case 'EISDIR':
      return 'it is a folder';
    case 'ENOTDIR':
      return 'a part of the path is not a folder';
    case 'ENOSPC':
      return 'the disk is full';
    case 'EIO':
      return 'the device reports a fault';
    case 'EPIPE':
      return 'its reader has gone';
    case 'EFBIG':
    case 'EDQUOT':
      return 'no more may be written there';
    case 'ELOOP':
      return 'its links lead in a circle';
    case 'ENAMETOOLONG':
      return 'the name is too long';
    case 'ENXIO':
      return 'it is no regular file';
    case 'EROFS':
      return 'the disk is read-only';
    default:
      return error instanceof Error ? error.message : String(error);
  }
}
