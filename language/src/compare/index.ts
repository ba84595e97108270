export { type CompareOptions, compareRevisions, rankOf } from './compare.js';
export { bandName } from './margin-rules.js';
export { shareText, shown } from './shown.js';
export * from './types.js';
