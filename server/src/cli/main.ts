import '../runtime-fill.js';
import * as nodeModule from 'node:module';
import { optimizeLate } from './late-optimizing.js';
import { endOnFailingOutput } from './output/failing-output.js';

// First of all: code that was kept under other switches is not taken. Who asks for the version or for help alone runs too little of it.
if (/^[a-z]/.test(process.argv[2] ?? '')) optimizeLate();

// Keeps compiled code between runs where Node can (22.8 and later); without it the program only starts a little slower.
(nodeModule as { enableCompileCache?: () => void }).enableCompileCache?.();

endOnFailingOutput();

const { run } = await import('./program.js');
process.exitCode = await run(process.argv.slice(2), { runsThread: new URL('runs-thread.mjs', import.meta.url) });
