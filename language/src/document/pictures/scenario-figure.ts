import { type Markup, html } from '../../markup/element.js';
import type { DesignContext } from '../../model/context.js';
import { scenarioPlot } from '../../plot/scenario-plot.js';
import { plotThresholds } from '../../plot/thresholds.js';
import type { ScenarioResult } from '../../simulate/index.js';

/** The plot of a scenario as `simulate` writes it. It brings a style sheet of its own, so that it stands in the page as a picture apart. */
export const scenarioFigure = (result: ScenarioResult, context: DesignContext): Markup =>
  html('img', {
    src: `data:image/svg+xml,${encodeURIComponent(scenarioPlot(result, { thresholds: plotThresholds(context) }))}`,
    alt: `Scenario ${result.scenario.name}: state of charge, voltage and power over time`,
  });
