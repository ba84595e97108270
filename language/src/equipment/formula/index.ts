export * from './bounded.js';
export * from './fast.js';
export * from './term.js';
export * from './worked.js';
