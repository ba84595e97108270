import type { AskedFirst, Chosen, ChosenDesign, ConflictPart } from '@wattwright/language';
import { SCHEMA, TOOL, placeJson, useJson } from './json.js';

/** The output of `wattwright solve --format json`. */
export const solutionsJson = (designs: readonly ChosenDesign[]): object => ({
  schema: SCHEMA,
  tool: TOOL,
  designs: designs.map(designJson),
});

const designJson = ({ design, variant, open, answers, conflict, questions, isSought }: ChosenDesign): object => ({
  design,
  variant: variant ?? null,
  holes: open.map(({ path, place }) => ({ path, ...placeJson(place) })),
  answers: answers.map(answerJson),
  conflict: conflict ? conflict.map(conflictJson) : null,
  questions: questions.map(questionJson),
  sought: isSought,
});

const answerJson = ({ values, price, errors, warnings, heldBy }: Chosen): object => ({
  values: Object.fromEntries(values),
  price: price?.unit === undefined ? null : { value: price.price, unit: price.unit, unpriced: price.unpriced },
  errors,
  warnings,
  heldBy: heldBy.map(({ path, within, next, check, subject, use, share, headline, isOfPrice }) => {
    const { value, limit, unit, sense } = use ? (useJson(use) as UseJson) : ({} as Partial<UseJson>);
    return {
      path,
      check: check ?? null,
      ...(subject === undefined ? {} : { subject }),
      ...(use ? { value: { value, unit }, limit: { value: limit, unit }, sense, use: share } : {}),
      ...(within ? { within } : {}),
      ...(next === undefined ? {} : { next }),
      ...(headline === undefined ? {} : { headline }),
      ...(isOfPrice ? { price: true } : {}),
    };
  }),
});

interface UseJson {
  readonly value: number;
  readonly limit: number;
  readonly unit: string;
  readonly sense: string;
}

const conflictJson = ({ kind, text, check, subject, place, without }: ConflictPart): object => ({
  kind,
  text,
  ...(check === undefined ? {} : { check }),
  ...(subject === undefined ? {} : { subject }),
  ...(place ? placeJson(place) : {}),
  ...(without ? { without: Object.fromEntries(without) } : {}),
});

const questionJson = ({ path, question, check, subject, missing }: AskedFirst): object => ({
  path,
  text: question,
  ...(check === undefined ? {} : { check }),
  ...(subject === undefined ? {} : { subject }),
  missing,
});
