import { parentPort } from 'node:worker_threads';
import { type PictureJob, Pictures } from './pictures.js';

// The thread beside the editor's extension in which drawings are laid out, so that nothing waits for it.
const pictures = new Pictures();
parentPort?.on('message', (job: PictureJob) => {
  void pictures.answer(job).then((answer) => parentPort?.postMessage(answer));
});
