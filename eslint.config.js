import js from '@eslint/js';
import tseslint from 'typescript-eslint';
import { KIND_NAMES } from './eslint.kinds.js';

export default tseslint.config(
  {
    ignores: [
      '**/node_modules/**',
      '**/out/**',
      '**/dist/**',
      '**/generated/**',
      'out-editor/**',
      'extension/syntaxes/**',
      'extension/schemas/**',
    ],
  },
  js.configs.recommended,
  ...tseslint.configs.recommended,
  {
    rules: {
      eqeqeq: 'error',
      'no-console': 'off',
      '@typescript-eslint/consistent-type-imports': ['error', { fixStyle: 'inline-type-imports' }],
      '@typescript-eslint/no-explicit-any': 'error',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
    },
  },
  {
    // Invariant: the language package does no input or output and runs in a browser as it is.
    files: ['language/src/**/*.ts'],
    rules: {
      'no-restricted-globals': [
        'error',
        'process',
        'Buffer',
        'require',
        '__dirname',
        '__filename',
        'window',
        'document',
      ],
      'no-restricted-imports': [
        'error',
        {
          patterns: [
            {
              group: ['node:*', 'fs', 'path', 'vscode', 'langium/node', '@wattwright/server*'],
              message: 'language/ knows no Node and no editor.',
            },
          ],
        },
      ],
    },
  },
  {
    // Invariant: outside equipment/ nothing asks for the name of a kind where it means what the thing can do. What stands below equipment/
    // knows no things, and its words are those of published tables.
    files: ['language/src/**/*.ts', 'server/src/**/*.ts', 'extension/src/**/*.ts'],
    ignores: ['language/src/{equipment,calculate,reference,quantity,derivation,solve}/**'],
    rules: { 'no-restricted-syntax': ['error', ...KIND_NAMES] },
  },
  {
    files: ['**/*.cjs'],
    languageOptions: { sourceType: 'commonjs' },
    rules: { '@typescript-eslint/no-require-imports': 'off' },
  },
  {
    files: ['**/*.mjs', '**/*.cjs'],
    languageOptions: {
      globals: {
        process: 'readonly',
        console: 'readonly',
        fetch: 'readonly',
        setTimeout: 'readonly',
        clearTimeout: 'readonly',
        URL: 'readonly',
        Buffer: 'readonly',
        performance: 'readonly',
        require: 'readonly',
        module: 'writable',
        exports: 'writable',
        __dirname: 'readonly',
      },
    },
  },
);
