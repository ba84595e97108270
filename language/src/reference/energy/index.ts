export * from './table.js';
export * from './chemistries.js';
export * from './hydro.js';
export * from './sources.js';
export * from './storage.js';
export * from './sun.js';
export * from './time-models.js';
