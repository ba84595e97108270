import { describe, expect, test } from 'vitest';
import {
  IEC_AMPACITY,
  type AmbientTable,
  areaOfSize,
  conductorMetals,
  craftAmpacity,
  craftBundling,
  craftEngineSpace,
  craftMetric,
  craftRatings,
  craftRules,
  iecAmbientAir,
  iecAmbientGround,
  iecBreakerTrip,
  iecFuseGates,
  iecFuseTimes,
  iecGrouping,
  iecOverload,
  iecPowerCircuits,
  iecProtective,
  iecRatings,
  iecRules,
  iecResistance,
  iecRubberCables,
  iecShortTime,
  iecSmallCords,
  iecVoltageDrop,
  necAdjustment,
  necAmbient,
  necAmpacity,
  necCordAdjustment,
  necCords,
  necDirectElectrode,
  necElectrode,
  necGroundFaultPlaces,
  necGrounding,
  necImpedance,
  necPowerCables,
  necProperties,
  necRatings,
  necRules,
  necSmallConductors,
  plugConfigurations,
  type SizedRow,
  type Table,
} from '../../../language/src/reference/index.js';

const SIZED: readonly Table<SizedRow>[] = [
  ...IEC_AMPACITY,
  ...iecRubberCables,
  iecSmallCords,
  craftAmpacity,
  craftMetric.ampacity,
  iecResistance,
  necAmpacity,
  necCords,
  necImpedance,
  necPowerCables,
  necProperties,
  necSmallConductors,
];
const ALL: readonly Table[] = [
  ...SIZED,
  conductorMetals,
  craftBundling,
  craftEngineSpace,
  craftMetric.ambient,
  craftMetric.bundling,
  craftRatings,
  craftRules,
  iecAmbientAir,
  iecAmbientGround,
  iecBreakerTrip,
  iecFuseGates,
  iecFuseTimes,
  iecGrouping,
  iecOverload,
  iecPowerCircuits,
  iecProtective,
  iecRatings,
  iecRules,
  iecShortTime,
  iecVoltageDrop,
  necAdjustment,
  necAmbient,
  necCordAdjustment,
  necDirectElectrode,
  necElectrode,
  necGroundFaultPlaces,
  necGrounding,
  necRatings,
  necRules,
  plugConfigurations,
];
const PROVENANCES = ['published', 'from memory', 'common practice, no source'];

/** Every number in a row, columns inside columns included. */
function numbersIn(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(numbersIn) : [];
}

describe('every table file', () => {
  test.each(ALL.map((table) => [`${table.standard} ${table.table}`, table] as const))(
    '%s says what it is and how far it can be trusted',
    (_name, table) => {
      for (const text of [table.standard, table.edition, table.table, table.title]) expect(text).toBeTruthy();
      expect(PROVENANCES).toContain(table.provenance);
      expect(table.rows.length).toBeGreaterThan(0);
      for (const row of table.rows) if (row.provenance) expect(PROVENANCES).toContain(row.provenance);
      for (const number of table.rows.flatMap(numbersIn)) expect(Number.isFinite(number)).toBe(true);
    },
  );

  test.each(SIZED.map((table) => [`${table.standard} ${table.table}`, table] as const))(
    '%s rises in size',
    (_name, table) => {
      const areas = table.rows.map((row) => areaOfSize(row.size));
      expect(areas).toEqual([...areas].sort((left, right) => left - right));
    },
  );
});

describe('ampacity columns never fall with size', () => {
  const columns = (rows: readonly { copper?: object; aluminium?: object }[]): number[][] =>
    (['copper', 'aluminium'] as const).flatMap((metal) => {
      const heads = new Set(rows.flatMap((row) => Object.keys(row[metal] ?? {})));
      return [...heads].map((head) =>
        rows.flatMap((row) => {
          const value = (row[metal] as Record<string, number> | undefined)?.[head];
          return value === undefined ? [] : [value];
        }),
      );
    });
  test.each(
    [...IEC_AMPACITY, necAmpacity, craftAmpacity, craftMetric.ampacity].map((table) => [table.table, table] as const),
  )('%s', (_name, table) => {
    for (const column of columns(table.rows)) expect(column).toEqual([...column].sort((a, b) => a - b));
  });
});

// The resistance of aluminium is 1.64 times that of copper at 20 °C (IEC 60228), so that for the same heat it carries √(1/1.64) = 0.78 of the current,
// a little less where it lies in air and its surface is what cools.
test('aluminium carries 0.70 to 0.81 of what copper of the same size does, in each method', () => {
  const shares = IEC_AMPACITY.flatMap(({ table, rows }) =>
    (rows as readonly { size: string; copper?: object; aluminium?: object }[]).flatMap(({ size, copper, aluminium }) =>
      Object.entries(aluminium ?? {}).map(([method, amperes]) => ({
        cell: `${table} ${size} ${method}`,
        // Small currents are rounded to an ampere.
        most: amperes < 50 ? 0.84 : 0.81,
        share: amperes / (copper as Record<string, number>)[method]!,
      })),
    ),
  );
  expect(shares.length).toBeGreaterThan(200);
  for (const { cell, share, most } of shares) {
    expect(share, cell).toBeGreaterThan(0.7);
    expect(share, cell).toBeLessThan(most);
  }
});

describe('times of general-purpose fuses', () => {
  test('rise with the rating and fall with the current', () => {
    for (const table of [iecFuseTimes, iecFuseGates])
      for (const [index, row] of table.rows.entries()) {
        const before = table.rows[index - 1];
        if (before) expect(row.fiveSeconds).toBeGreaterThan(before.fiveSeconds);
        expect(row.fiveSeconds).toBeGreaterThan(row.rating);
        expect(row.fourTenths ?? row.oneTenth!).toBeGreaterThan(row.fiveSeconds);
      }
  });

  test('agree at 5 s where both tables have the rating', () => {
    const shared = iecFuseGates.rows.flatMap((gate) => {
      const point = iecFuseTimes.rows.find(({ rating }) => rating === gate.rating);
      return point ? [[gate.fiveSeconds, point.fiveSeconds]] : [];
    });
    expect(shared).toHaveLength(9);
    for (const [gate, point] of shared) expect(gate).toBe(point);
  });
});

describe('ambient factors against the equation √((Tc − Ta)/(Tc − T0)) at the upper end of each band', () => {
  const worst = (table: AmbientTable): number => {
    const errors = table.rows.flatMap((row) =>
      table.columns.flatMap((column) => {
        const factor = row[String(column)];
        if (typeof factor !== 'number') return [];
        return [Math.abs(factor - Math.sqrt((column - row.upTo) / (column - table.base)))];
      }),
    );
    return Math.max(...errors);
  };
  // Two printed digits, so at most a hundredth.
  test('NEC Table 310.15(B)(1)', () => expect(worst(necAmbient)).toBeLessThan(0.0101));
  test('IEC 60364-5-52 Table B.52.14', () => expect(worst(iecAmbientAir)).toBeLessThan(0.0101));
  test('IEC 60364-5-52 Table B.52.15', () => expect(worst(iecAmbientGround)).toBeLessThan(0.0101));
  test('33 CFR 183.425, all but the 200 °C column, which is printed as 1.00 against 0.94', () => {
    const columns = craftEngineSpace.columns.filter((column) => column !== 200);
    expect(worst({ ...craftEngineSpace, columns })).toBeLessThan(0.0101);
    expect(craftEngineSpace.rows.at(-1)?.['200']).toBe(1);
  });
});

describe('resistance against the resistivity of the metal', () => {
  const copper = conductorMetals.rows.find((row) => row.metal === 'copper')!;

  test('NEC Chapter 9 Table 8, solid copper, within 2 % of ρ(75 °C)/A', () => {
    const hot = copper.resistivity * (1 + copper.temperatureCoefficient * 55);
    for (const row of necProperties.rows) {
      const listed = row.solid?.copper;
      if (listed === undefined) continue;
      const computed = (hot / areaOfSize(row.size)) * 304.8;
      expect(Math.abs(listed / computed - 1), row.size).toBeLessThan(0.02);
    }
  });

  test('NEC Chapter 9 Table 8, stranded copper, is 0 to 4 % above ρ(75 °C)/A', () => {
    const hot = copper.resistivity * (1 + copper.temperatureCoefficient * 55);
    for (const row of necProperties.rows) {
      const ratio = row.stranded!.copper! / ((hot / areaOfSize(row.size)) * 304.8);
      expect(ratio, row.size).toBeGreaterThan(0.995);
      expect(ratio, row.size).toBeLessThan(1.04);
    }
  });

  test('circular mils of Table 8 are the gauge areas within 0.8 % (18 AWG is printed 1620)', () => {
    for (const row of necProperties.rows) {
      const mils = (areaOfSize(row.size) / ((Math.PI / 4) * 25.4 ** 2)) * 1e6;
      expect(Math.abs(row.circularMils / mils - 1), row.size).toBeLessThan(0.008);
    }
  });

  test('IEC 60228: resistance times nominal area lies between 17.2 and 21 ohm·mm²/km for copper', () => {
    for (const row of iecResistance.rows)
      for (const form of [row.solid, row.stranded, row.flexible]) {
        if (form?.copper === undefined) continue;
        const product = form.copper * areaOfSize(row.size);
        expect(product, row.size).toBeGreaterThan(17.2);
        expect(product, row.size).toBeLessThan(21);
      }
  });
});

describe('ampacities against the equations of IEC 60364-5-52 Annex D, I = A · S^m', () => {
  // Coefficients from memory. Method C changes its pair above 16 mm².
  const COEFFICIENTS: Record<string, Record<string, readonly [number, number]>> = {
    'Table B.52.2': { A1: [11.2, 0.6118], A2: [10.8, 0.6015], B1: [13.5, 0.625], B2: [13.1, 0.6], C: [15, 0.625] },
    'Table B.52.3': { A1: [14.9, 0.611], A2: [14.46, 0.598], B1: [17.76, 0.625], B2: [17.25, 0.6] },
    'Table B.52.4': { A1: [10.4, 0.605], A2: [10.1, 0.592], B1: [11.84, 0.628], B2: [11.65, 0.6005] },
    'Table B.52.5': { A1: [13.34, 0.611], A2: [12.95, 0.598], B1: [15.62, 0.6252], B2: [15.17, 0.6] },
  };
  test.each(Object.entries(COEFFICIENTS))('%s, copper to 120 mm² within 3.5 %', (name, columns) => {
    const table = IEC_AMPACITY.find((candidate) => candidate.table === name)!;
    for (const row of table.rows.filter((candidate) => areaOfSize(candidate.size) <= 120))
      for (const [column, [factor, exponent]] of Object.entries(columns)) {
        const computed = factor * areaOfSize(row.size) ** exponent;
        expect(Math.abs(row.copper![column]! / computed - 1), `${row.size} ${column}`).toBeLessThan(0.035);
      }
  });
});

describe('k of IEC 60364-4-43 against K · √ln((β + Tf)/(β + Ti)) of IEC 60364-5-54 Annex A', () => {
  // K 226 and β 234.5 copper, 148 and 228 aluminium.
  const METALS = { copper: [226, 234.5], aluminium: [148, 228] } as const;
  for (const row of iecShortTime.rows)
    for (const metal of ['copper', 'aluminium'] as const) {
      const k = row[metal];
      if (k === undefined) continue;
      test(`${metal}, ${row.insulation} to ${row.final} °C`, () => {
        const [factor, beta] = METALS[metal];
        const computed = factor * Math.sqrt(Math.log((beta + row.final) / (beta + row.initial)));
        // Printed as whole numbers.
        expect(Math.abs(k - computed)).toBeLessThan(1);
      });
    }
});

test('33 CFR 183.425 at 60 and 75 °C from 6 AWG equals column D of NEC Table 400.5(A)(2), single conductors in free air', () => {
  for (const row of craftAmpacity.rows) {
    const cable = necPowerCables.rows.find((candidate) => candidate.size === row.size);
    if (!cable || areaOfSize(row.size) < 13) continue;
    for (const column of ['60', '75']) expect(row.copper?.[column], row.size).toBe(cable.D[column]);
  }
});

test('NEC Table 310.16 carries the numbers of the 2011 and later editions where older prints differ', () => {
  const cell = (size: string, metal: 'copper' | 'aluminium', column: string): number | undefined =>
    necAmpacity.rows.find((row) => row.size === size)?.[metal]?.[column];
  // Public copies of the current table; before 2011 these were 20, 25, 150, 110, 30 and 60 A.
  expect(cell('14 AWG', 'copper', '60')).toBe(15);
  expect(cell('12 AWG', 'copper', '60')).toBe(20);
  expect(cell('1 AWG', 'copper', '90')).toBe(145);
  expect(cell('3 AWG', 'copper', '90')).toBe(115);
  expect(cell('8 AWG', 'aluminium', '60')).toBe(35);
  expect(cell('6 AWG', 'aluminium', '90')).toBe(55);
});
