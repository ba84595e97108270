import { afterAll } from 'vitest';
import { deleteTemporaryFolders } from './temporary-folders.js';

// Registered before all hooks of a file, so that it runs after them.
afterAll(deleteTemporaryFolders);
