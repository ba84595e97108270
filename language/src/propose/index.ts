export { type Answer, type AnsweredFinding, type Obstacle, UNSOUGHT, answered, obstacleText } from './answer.js';
export {
  type ClassChoice,
  type RatingChoice,
  type SizeChoice,
  type Standing,
  type WrittenDevice,
  classChoices,
  ratingChoices,
  sizeChoices,
} from './choices.js';
export { type Edit, edited, inLinesOf, overlaps } from './edits.js';
export { A_SECOND, Effort } from './effort.js';
export { standing } from './proof.js';
export { Proposer } from './proposer.js';
export { type ChosenFix, safeFixes } from './safe-fixes.js';
export { type Ground } from './trial.js';
export { type Settled, type Step, settle } from './settle.js';
export * from './finding-text.js';
