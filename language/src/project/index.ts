export * from './read.js';
export * from './schema.js';
export { PROJECT_FILE, PROJECT_SCHEMA, type PartFolder, type ProjectSettings } from './settings.js';
