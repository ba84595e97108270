export { commissioningSteps } from './commissioning/plan.js';
export type { Action, CommissioningStep } from './commissioning/steps.js';
export { CSV_NAMES, handoverCsv, handoverData } from './data.js';
export { handoverPage } from './html/page.js';
export type { SetPaper } from './html/style.js';
export { type HandoverOptions, type HandoverSet, handoverSet } from './set.js';
export type { LeftOpen } from './input.js';
export { type WiringView, wiringFigures, wiringViews, writeWiring } from './wiring-views.js';
export { SHEETS, type SheetName } from './sheet.js';
