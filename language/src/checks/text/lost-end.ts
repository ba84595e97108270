import { capital } from './wording.js';
import { afterPlace } from '../../model/lower/place.js';
import { insertText, propose } from '../fixes.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';

const HOW = { ends: 'is joined to', commands: 'commands', speaks: 'speaks of' } as const;

export const lostEnd = defineTextCheck({
  id: 'lost-end',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A variant removes a thing that something it keeps is connected to or names.',
    guards:
      'A run without an end, a control without what it commands or a requirement of nothing would silently not be checked.',
    how: 'For each thing that a variant removes, the runs and links that end at it, the controls that command it, and the rules, requirements, values and scenarios that speak of it are looked up. Each has to be removed or replaced too. Waivers and readings of a removed thing, what a scenario says of it alone (`soc(Bank): 90 %`, `lost(Mains): always`) and what holds without a removed link go with it.',
    fix: 'Remove in the variant what is connected to the thing as well, or replace the thing rather than removing it.',
    sources: [LANGUAGE],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run FromSet: Genset -> Panel { size: 6 mm2   length: 8 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }
}
variant Dark of Hut { remove Genset }
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run FromSet: Genset -> Panel { size: 6 mm2   length: 8 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }
}
variant Dark of Hut { remove Genset, FromSet }
`,
  },
  word: ({ thing, removed, how, name, removal }) => ({
    headline: `${capital(thing)} ${HOW[how]} ${removed}, which the variant removes`,
    advice: 'Remove it too, or replace it.',
    related: [{ place: removal, text: `${removed} is removed here` }],
    fixes:
      name === undefined
        ? []
        : [
            propose(
              `Remove ${name} too`,
              [insertText({ place: afterPlace(removal), before: '', after: '' }, `, ${name}`)],
              true,
            ),
          ],
  }),
});
