import {
  type AnalysedDesign,
  type Instance,
  type Thing,
  saidValue,
  escapeMarkdown as plain,
  setPointsInOrder,
  isBank,
} from '@wattwright/language';

const TITLES = { voltage: 'Voltages', soc: 'States of charge' } as const;

/** The set points of a bank, or of the banks that a control watches, in order from high to low, `most` of each; undefined for all else. */
export function setPointsMarkdown(
  thing: Thing,
  { system, context }: AnalysedDesign,
  most = Infinity,
): string | undefined {
  const tables = banksOf(thing, system.instances).flatMap((bank) =>
    (['voltage', 'soc'] as const).flatMap((signal) => {
      const points = setPointsInOrder(bank, signal, context);
      if (points.length < 2) return [];
      const rows = points.map(({ value, what }) => `| ${plain(saidValue(value))} | ${plain(what)} |`);
      if (rows.length > most) rows.splice(most, rows.length, '| … | |');
      return [`${TITLES[signal]} of ${plain(bank.name)}, in order:\n\n| | |\n| ---: | --- |\n${rows.join('\n')}`];
    }),
  );
  return tables.length > 0 ? tables.join('\n\n') : undefined;
}

function banksOf(thing: Thing, instances: readonly Instance[]): readonly Instance[] {
  const own = instances.filter((each) => each === thing && isBank(each));
  if (own.length > 0) return own;
  if (!('target' in thing)) return [];
  const watched = new Set(
    [thing, ...thing.fallbacks].flatMap(({ rules }) =>
      rules.flatMap(({ thresholds }) => thresholds.map(({ of }) => of)),
    ),
  );
  return instances.filter((each) => isBank(each) && watched.has(each));
}
