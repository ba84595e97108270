export * from './table.js';
export * from './nec.js';
export * from './iec.js';
export * from './craft.js';
export * from './materials.js';
export * from './plugs.js';
export * from './rules.js';
export * from './standards.js';
