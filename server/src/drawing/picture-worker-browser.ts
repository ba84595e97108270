import { type PictureJob, Pictures } from './pictures.js';

// The layout engine takes a worker's messages for itself when it is loaded in one, so that this has to come after it. The global object is
// typed here because the project has no types of the browser.
const port = globalThis as unknown as {
  onmessage: ((event: { readonly data: PictureJob }) => void) | null;
  postMessage: (message: unknown) => void;
};
const pictures = new Pictures();
port.onmessage = ({ data }) => {
  void pictures.answer(data).then((answer) => port.postMessage(answer));
};
