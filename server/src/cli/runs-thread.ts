import '../runtime-fill.js';
import * as nodeModule from 'node:module';

// A thread of the command line that plays runs of a scenario beside it.
(nodeModule as { enableCompileCache?: () => void }).enableCompileCache?.();
const { playRuns } = await import('./runs/thread.js');
await playRuns();
