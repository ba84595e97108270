import { quoted } from './wording.js';
import { type Check, defineCheck, NO_LIMIT } from '../define.js';
import { LANGUAGE } from './sources.js';

export const assumedFact: Check = defineCheck({
  id: 'assumed-fact',
  group: 'text',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds: 'A value is assumed, not known.',
    guards: 'An assumption that nobody confirmed ends up in an order or on a wall.',
    how: 'Each value written as `assumed …` counts in every calculation, is shown as assumed wherever it counts, and is listed here until it is confirmed.',
    fix: 'Find out the value and write it without `assumed`.',
    sources: [LANGUAGE],
    failing: `design Hut {
  load Lamp { power: assumed 40 W }
}
`,
    passing: `design Hut {
  load Lamp { power: 40 W }
}
`,
  },
  judge: function* ({ system }) {
    const things = [...system.instances, ...system.runs, ...system.links, ...system.controls];
    for (const thing of things) {
      for (const property of thing.properties.values()) {
        if (property.origin !== 'assumed' || !property.place) continue;
        const from = property.inheritedFrom ? ` (in part ${property.inheritedFrom})` : '';
        yield {
          verdict: 'failed',
          subject: thing.path,
          place: property.inheritedFrom ? thing.place : property.place,
          headline: `${property.name} of ${thing.name} is assumed to be ${quoted(property.text, 40)}${from}`,
          advice: 'Confirm it, then remove `assumed`.',
          use: NO_LIMIT,
        };
      }
    }
    const ofDesign = [
      { subject: `${system.name}.site`, owner: 'the site', properties: system.site.properties },
      { subject: system.name, owner: 'the design', properties: system.settings },
    ];
    for (const { subject, owner, properties } of ofDesign) {
      for (const property of properties.values()) {
        if (property.origin !== 'assumed' || !property.place) continue;
        yield {
          verdict: 'failed',
          subject,
          place: property.place,
          headline: `${property.name} of ${owner} is assumed to be ${quoted(property.text, 40)}`,
          advice: 'Confirm it, then remove `assumed`.',
          use: NO_LIMIT,
        };
      }
    }
  },
});
