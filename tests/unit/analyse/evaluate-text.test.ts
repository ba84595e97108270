import { URI, type LangiumDocument } from 'langium';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  EXPRESSION_URI,
  type EvaluateOptions,
  type LanguageServices,
  displayValue,
  evaluateText,
} from '../../../language/src/index.js';
import { createTestServices } from '../../helpers/analyse.js';

let services: LanguageServices;
beforeAll(async () => {
  services = await createTestServices();
});

const shown = (text: string, options?: EvaluateOptions): string => {
  const { result, findings } = evaluateText(text, services, options);
  if (result.kind === 'known') return displayValue(result.derivation);
  return result.kind === 'missing'
    ? `missing ${result.missing.join(', ')}`
    : `refused: ${findings[0]?.message ?? result.reason}`;
};

const DESIGN = `let margin = 25 %
design Hut {
  battery Bank { chemistry: lfp   voltage: 12.8 V   capacity: 100 Ah   series: 4   parallel: 2 }
  load Lamp { power: 60 W }
  load Pump { count: 2 }
  let spare = Bank.capacity * 2
}
variant Big of Hut { Bank.parallel = 5 }
`;

function host(text: string): LangiumDocument {
  return services.shared.workspace.LangiumDocumentFactory.fromString(text, URI.parse('file:///hut/hut.watt'));
}

describe('an expression without a design', () => {
  it.each([
    ['1 + 2', '3'],
    ['3 A * 24 V', '72 W'],
    ['ceil(12.3 A)', '13 A'],
    ['25 degC - 5 degC', '20 K'],
    ['2 m < 3 m', 'yes'],
    ['LabExampleMissing', 'refused: '],
  ])('%s is %s', (text, expected) => {
    expect(shown(text)).toContain(expected);
  });

  it('sees the parts of the standard library', () => {
    expect(shown('THWN-2.insulation')).toBe('90 degC');
  });

  it('calls the functions of the registry', () => {
    expect(shown('ampacity(size: 10 AWG, type: THWN-2, ambient: 30 degC)')).toMatch(/ A$/);
  });

  it('says where in the expression a fault stands', () => {
    const { result, findings } = evaluateText('1 m + 2 s', services);
    expect(result.kind).toBe('refused');
    expect(findings.map(({ check }) => check)).toEqual(['wrong-dimension']);
    expect(findings[0]!.place).toMatchObject({ uri: EXPRESSION_URI, offset: 0, end: 9, line: 0, character: 0 });
  });

  it('counts lines and characters of an expression of several lines from its own beginning', () => {
    const { findings } = evaluateText('1 m +\n  sqrt(4 m, 2)', services);
    expect(findings[0]!.place).toMatchObject({ offset: 8, line: 1, character: 2 });
  });

  it.each(['1 +', '', ')', '1 } design X {', '1 2', '? ', 'assumed 3 m'])('refuses `%s`', (text) => {
    expect(evaluateText(text, services).result.kind).toBe('refused');
  });

  it('takes a comment for a comment', () => {
    expect(shown('1 + 2 // three')).toBe('3');
    expect(shown('/* one */ 1')).toBe('1');
  });

  it('gives the derivation places inside the expression', () => {
    const { result } = evaluateText('3 A * 24 V', services);
    expect(result.kind === 'known' && result.derivation.inputs[1]!.place).toMatchObject({ offset: 6, end: 10 });
  });
});

describe('an expression in a design', () => {
  it('sees its things, its `let` values, those of the file, and computed quantities', () => {
    const document = host(DESIGN);
    expect(shown('spare', { document })).toBe('200 Ah');
    expect(shown('margin', { document })).toBe('25 %');
    expect(shown('Bank.energy', { document })).toBe('10.24 kWh');
    expect(shown('Lamp.power * 5 h', { document })).toBe('300 Wh');
  });

  it('sees the values of a variant', () => {
    expect(shown('Bank.energy', { document: host(DESIGN), design: 'Big' })).toBe('25.6 kWh');
  });

  it('names missing facts', () => {
    expect(shown('Pump.power', { document: host(DESIGN) })).toBe('missing power of Pump');
  });

  it('proposes the name that was meant', () => {
    const { findings } = evaluateText('Bank.enrgy', services, { document: host(DESIGN) });
    expect(findings.map(({ message }) => message).join()).toContain('energy');
  });

  it('says so when there is no such design', () => {
    expect(shown('1', { document: host(DESIGN), design: 'Barn' })).toContain('no design Barn');
  });

  it('keeps faults of the file to itself', () => {
    const document = host(`design D { load L { power: 3 A } }`);
    expect(evaluateText('1 + 1', services, { document })).toMatchObject({ findings: [], result: { kind: 'known' } });
  });
});

it('leaves no document behind', () => {
  const before = services.shared.workspace.LangiumDocuments.all.count();
  evaluateText('1 + 1', services);
  evaluateText('Bank.energy', services, { document: host(DESIGN) });
  expect(services.shared.workspace.LangiumDocuments.all.count()).toBe(before);
});
