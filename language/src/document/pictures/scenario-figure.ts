import { type Markup, html } from '../../markup/element.js';
import { type ScenarioResult, scenarioPlot } from '../../simulate/index.js';

/** The plot of a scenario as `simulate` writes it. It brings a style sheet of its own, so that it stands in the page as a picture apart. */
export const scenarioFigure = (result: ScenarioResult): Markup =>
  html('img', {
    src: `data:image/svg+xml,${encodeURIComponent(scenarioPlot(result))}`,
    alt: `Scenario ${result.scenario.name}: state of charge and power over time`,
  });
