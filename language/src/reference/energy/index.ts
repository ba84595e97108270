export * from './table.js';
export * from './chemistries.js';
export * from './hydro.js';
export * from './lead-voltage.js';
export * from './sources.js';
export * from './storage.js';
export * from './sun.js';
export * from './time-models.js';
