import '../runtime-fill.js';
import * as nodeModule from 'node:module';

// Keeps compiled code between runs where Node can (22.8 and later); without it the program only starts a little slower.
(nodeModule as { enableCompileCache?: () => void }).enableCompileCache?.();

// A reader that has seen enough, such as `head`, closes the pipe: that is no failure of this program.
for (const stream of [process.stdout, process.stderr])
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit();
    throw error;
  });

const { run } = await import('./program.js');
process.exitCode = await run(process.argv.slice(2));
