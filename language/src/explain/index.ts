export * from './cautions.js';
export * from './checks-page.js';
export * from './functions-page.js';
export * from './kinds-page.js';
export { code as codeSpan, commentMarkdown, escapeMarkdown, fenced } from './markdown.js';
export { type Outcome, readingOutcome, requirementOutcome } from './outcomes.js';
export * from './pages.js';
export * from './units-page.js';
export * from './worked.js';
