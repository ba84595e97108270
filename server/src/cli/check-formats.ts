/** Formats of `check`, in a file of their own so that `--help` loads nothing else. */
export const CHECK_FORMATS = ['pretty', 'json', 'sarif', 'github', 'gitlab', 'junit', 'rdjson'] as const;

export type CheckFormat = (typeof CHECK_FORMATS)[number];
