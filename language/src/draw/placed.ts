/**
 * A drawing that is already data gets its places and becomes a picture: all that a worker needs which only lays out and writes. Its bundle
 * takes this file in place of the whole language.
 */
export { place as placeDrawing } from './layout/place.js';
export { readPositions, writePositions } from './layout/positions.js';
export { writeDrawing } from './svg/write.js';
