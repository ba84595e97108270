import { describe, expect, test } from 'vitest';
import { ALL_KINDS, kindOf } from '../../../language/src/equipment/index.js';
import { OTHER_NAMES, propertiesMeant } from '../../../language/src/equipment/other-names.js';
import { analyseText } from '../../helpers/analyse.js';

const propertiesOf = (kind: string): string[] => kindOf(kind)!.properties.map(({ name }) => name);

describe('other names of properties', () => {
  test('speak only of properties that exist', () => {
    for (const { kind, property } of OTHER_NAMES) {
      if (kind) expect(propertiesOf(kind), `${kind}.${property}`).toContain(property);
      else
        expect(
          ALL_KINDS.some((each) => propertiesOf(each.kind).includes(property)),
          property,
        ).toBe(true);
    }
  });

  test('name each word once for a property', () => {
    for (const { kind, property, others } of OTHER_NAMES)
      expect(new Set(others.map((other) => other.toLowerCase())).size, `${kind}.${property}`).toBe(others.length);
  });

  test('lead from the words of data sheets to the properties of the language', () => {
    const meant = (kind: string, word: string): string[] => propertiesMeant(kind, word, propertiesOf(kind));
    expect(meant('inverter', 'continuous')).toEqual(['rated']);
    expect(meant('inverter', 'output')).toContain('voltage');
    expect(meant('solar', 'Voc')).toEqual(['openCircuitVoltage']);
    expect(meant('battery', 'ah')).toEqual(['capacity']);
    expect(meant('fuse', 'breaking-capacity')).toEqual(['interruptRating']);
    expect(meant('run', 'awg')).toEqual(['size']);
    expect(meant('load', 'awg')).toEqual([]);
  });
});

describe('a word of a data sheet where a property belongs', () => {
  test('is answered with the property it means, and the fix writes it', async () => {
    const { findings } = await analyseText('design Hut { inverter Inv { continuous: 3 kW } }');
    const found = findings.find(({ check }) => check === 'unknown-name');
    expect(found?.told).toBe('`continuous` is no property of an inverter; did you mean `rated`?');
    expect(found?.fixes.map(({ title }) => title)).toEqual(['Change to `rated`']);
  });
});
