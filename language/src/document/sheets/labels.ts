import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import {
  bondingOf,
  isAcSource,
  isArray,
  isBank,
  isConnection,
  isInverter,
  isJoint,
  isService,
  isSet,
  isSwitch,
  residualOf,
  sourceOf,
} from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import { runsAt } from '../commissioning/wiring-state.js';
import { isPlugged } from '../commissioning/words.js';
import type { QuantityName } from '../../model/quantity-names.js';
import { numberIn } from '../../derivation/index.js';
import { type LabelRule, type LabelSubject, labelRules } from '../../reference/labels.js';
import { said } from '../cells.js';
import type { SheetInput } from '../input.js';
import { type Block, box, table, text } from '../sheet.js';

/** Smallest energy (kWh) of storage that NEC 706.1 speaks of, from memory. */
const LEAST_STORAGE = 1;

/** What one label is about, and the words that its text takes from the design. */
interface Labelled {
  readonly name: string;
  readonly words: Readonly<Record<string, string>>;
}

interface LabelRow {
  readonly says: string;
  readonly where: string;
  readonly rule: LabelRule;
}

/** What has to be written where, by which rule. Words that the design does not give stay as dots to fill in. */
export function labelBlocks({ context, system }: SheetInput): readonly Block[] {
  const { practice } = system.basis;
  const rows = labelRules(practice).flatMap((rule): LabelRow[] =>
    SUBJECTS[rule.of](context).map(({ name, words }) => ({
      says: filled(rule.says, { name, ...words }),
      where: filled(rule.where, { name, ...words }),
      rule,
    })),
  );
  return [
    {
      kind: 'text',
      title: 'Labels',
      paragraphs: [
        'What the labels must say, in short: the wording of the rule itself, of the authority and of the makers’ sheets prevails. Rules marked “from memory” were not checked against a published copy: look them up before anything is printed.',
      ],
    },
    table<LabelRow>(
      'labels',
      'Label schedule',
      [
        { key: 'says', title: 'Says', cell: ({ says }) => text(says) },
        { key: 'where', title: 'Where', cell: ({ where }) => text(where) },
        {
          key: 'rule',
          title: 'Rule',
          cell: ({ rule }) => text(`${rule.rule}${isPlain(rule) ? '' : ' (from memory)'}`),
        },
        { key: 'fixed', title: 'Fixed', cell: () => box() },
      ],
      rows,
      'The rules kept here call for no label.',
    ),
  ];
}

/** Whether nothing has to be said of where the rule was read: it was published, or it says itself that nobody wrote it down. */
const isPlain = ({ rule, provenance }: LabelRule): boolean => provenance === 'published' || rule.endsWith('no source');

const filled = (template: string, words: Readonly<Record<string, string>>): string =>
  template.replace(/\{(\w+)\}/g, (_, word: string) => words[word] ?? '…');

const title = ({ name, label }: Instance): string => (label ? `${label} (${name})` : name);

const of =
  (which: (each: Instance) => boolean) =>
  (context: DesignContext): Instance[] =>
    context.system.instances.filter(which);

const plain =
  (which: (each: Instance) => boolean) =>
  (context: DesignContext): Labelled[] =>
    of(which)(context).map((each) => ({ name: title(each), words: {} }));

/** A quantity in words, where it is known. */
function quantityWord(
  each: Instance,
  name: QuantityName,
  as: string,
  context: DesignContext,
): Readonly<Record<string, string>> {
  const result = context.quantityNames(each).includes(name) ? context.quantity(each, name) : undefined;
  return result?.kind === 'known' ? { [as]: said(result.derivation) } : {};
}

const bankWords = (bank: Instance, context: DesignContext): Readonly<Record<string, string>> => ({
  ...quantityWord(bank, 'bankVoltage', 'voltage', context),
  ...quantityWord(bank, 'faultCurrent', 'fault', context),
  ...(wordIn(bank.properties, 'chemistry') ? { chemistry: wordIn(bank.properties, 'chemistry')! } : {}),
});

/** Things on the runs that leave a bus, by the names of their far ends. */
function circuitsOf(panel: Instance, { system }: DesignContext): string {
  const ends = system.runs
    .filter(({ from }) => from.instance === panel)
    .map(({ through, to }) => {
      const gear = through.map(({ instance }) => instance.name).join(', ');
      return `${gear ? `${gear}: ` : ''}${to.map(({ instance }) => title(instance)).join(', ')}`;
    });
  return ends.join('; ') || '…';
}

const isPanel = (each: Instance, { system }: DesignContext): boolean =>
  isJoint(each) && system.runs.some(({ from, carries }) => from.instance === each && carries === 'ac');

/** Inlets that cords of sources end at: of the plugs on the run of a set or a supply the last, since those before it are adapters in the cord. */
const inletsOf =
  (isSource: (each: Instance) => boolean) =>
  (context: DesignContext): Instance[] => {
    const inlets = context.system.runs
      .filter(({ from }) => isSource(from.instance))
      .flatMap(({ through, to }) => [...through, ...to].filter(({ instance }) => isConnection(instance)).slice(-1));
    return of(isConnection)(context).filter((each) => inlets.some(({ instance }) => instance === each));
  };

/** A supply that is plugged in belongs to another installation: its service equipment is not here to put labels on. */
const isPluggedIn = (service: Instance, context: DesignContext): boolean =>
  isService(service) && runsAt(service, context).some(isPlugged);

/** Whether all supplies are plugged in, as of a vehicle: then there is neither service equipment nor a building. */
function isMobile(context: DesignContext): boolean {
  const services = of(isService)(context);
  return services.length > 0 && services.every((each) => isPluggedIn(each, context));
}

/** Every source and bank, where there are several. */
function severalSources(context: DesignContext): Labelled[] {
  const all = [...of((each) => sourceOf(each) !== undefined)(context), ...of(isBank)(context)];
  return onlyWhere(all.length > 1, [{ name: '', words: { sources: all.map(title).join(', ') } }]);
}

const sourceNames = (context: DesignContext, which: (each: Instance) => boolean): string =>
  [...of((each) => sourceOf(each) !== undefined && which(each))(context), ...of(isBank)(context)].map(title).join(', ');

const onlyWhere = (isSo: boolean, rows: readonly Labelled[]): Labelled[] => (isSo ? [...rows] : []);

const SUBJECTS: Readonly<Record<LabelSubject, (context: DesignContext) => readonly Labelled[]>> = {
  disconnects: (context) =>
    of(isSwitch)(context).map((gear) => ({
      name: title(gear),
      words: {
        names: context.system.runs
          .filter((run) => [run.from, ...run.through, ...run.to].some(({ instance }) => instance === gear))
          .flatMap(({ from, to }) => [from, ...to].map(({ instance }) => title(instance)))
          .join(' from '),
      },
    })),
  panels: (context) =>
    of((each) => isPanel(each, context))(context).map((panel) => ({
      name: title(panel),
      words: { circuits: circuitsOf(panel, context) },
    })),
  banks: (context) => of(isBank)(context).map((bank) => ({ name: title(bank), words: bankWords(bank, context) })),
  'storage above 1 kWh': (context) =>
    of(isBank)(context)
      .filter((bank) => {
        const energy = context.quantity(bank, 'energy');
        // What is not known may well be more.
        return energy.kind !== 'known' || numberIn(energy.derivation, 'kWh') > LEAST_STORAGE;
      })
      .map((bank) => ({ name: title(bank), words: {} })),
  arrays: (context) =>
    of(isArray)(context).map((array) => ({
      name: title(array),
      words: quantityWord(array, 'arrayVoltage', 'voltage', context),
    })),
  'array runs': (context) =>
    context.system.runs
      .filter(({ from, to }) => [from, ...to].some(({ instance }) => isArray(instance)))
      .map(({ name }) => ({ name, words: {} })),
  'services beside other sources': (context) => {
    const others = sourceNames(context, (each) => !isService(each));
    return onlyWhere(
      others !== '',
      of(isService)(context)
        .filter((each) => !isPluggedIn(each, context))
        .map((each) => ({ name: title(each), words: { sources: others } })),
    );
  },
  'inlets of sets': (context) => {
    const sets = of(isSet)(context);
    const words = new Set(sets.flatMap((set) => wordIn(set.properties, 'neutralBond') ?? []));
    const neutral = words.size === 1 ? ([...words][0] === 'bonded' ? 'bonded' : 'floating') : undefined;
    return inletsOf(isSet)(context).map((inlet): Labelled => ({
      name: title(inlet),
      words: neutral ? { neutral } : {},
    }));
  },
  'several sources': severalSources,
  'several sources of a site': (context) => onlyWhere(!isMobile(context), severalSources(context)),
  'several sources of a vehicle': (context) => onlyWhere(isMobile(context), severalSources(context)),
  sets: plain(isSet),
  bonds: plain((each) => {
    const bonds = bondingOf(each);
    return bonds !== undefined && ['bonded', 'switched'].includes(wordIn(each.properties, bonds.word) ?? '');
  }),
  'residual devices': plain((each) => residualOf(each) !== undefined),
  enclosures: plain((each) => isInverter(each) || isAcSource(each)),
  'shore inlets': (context) => inletsOf(isService)(context).map((inlet) => ({ name: title(inlet), words: {} })),
  'plugged inlets': (context) =>
    inletsOf((each) => isPluggedIn(each, context))(context).map((inlet) => ({
      name: title(inlet),
      words: supplyWords(inlet),
    })),
  inverters: plain(isInverter),
};

/** What an inlet may be fed with: its configuration, voltage and rating. */
function supplyWords(inlet: Instance): Readonly<Record<string, string>> {
  const value = inlet.properties.get('plug')?.value;
  if (value?.type !== 'part') return {};
  const facts = ['voltage', 'rating'].flatMap((fact) => value.part.properties.get(fact)?.text ?? []);
  return { supply: [...facts, `(${value.part.name})`].join(' ') };
}
