export * from './quantity/index.js';
export * from './derivation/index.js';
export * from './calculate/index.js';
export * as ast from './grammar/generated/ast.js';
export * from './syntax/module.js';
export * from './explain/index.js';
