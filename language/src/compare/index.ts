export { type CompareOptions, compareRevisions } from './compare.js';
export { rankOf } from './ranking.js';
export { bandName } from './margin-rules.js';
export { shareText, shown } from './shown.js';
export * from './types.js';
