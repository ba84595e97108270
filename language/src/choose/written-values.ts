import { loweringServices } from '../analyse/surroundings.js';
import { lowerFile } from '../model/lower/lower.js';
import type { Property } from '../model/types.js';
import { type Ground, readAs } from '../propose/trial.js';

/** What texts stand for as values of properties, each read once, in a design that consists of nothing else. */
export class WrittenValues {
  private readonly kept = new Map<string, Property | 'none'>();

  constructor(private readonly ground: Ground) {}

  /** The value that a text gives a property of a kind; undefined where it cannot stand there. */
  of(kind: string, property: string, text: string): Property | undefined {
    const statement = `{ ${property}: ${text} }`;
    const key = `${kind} ${statement}`;
    let value = this.kept.get(key);
    if (!value) this.kept.set(key, (value = this.read(kind, property, statement) ?? 'none'));
    return value === 'none' ? undefined : value;
  }

  private read(kind: string, property: string, statement: string): Property | undefined {
    const things =
      kind === 'run' ? `bus From {} bus To {} run Thing: From -> To ${statement}` : `${kind} Thing ${statement}`;
    const document = readAs(`design Value { ${things} }`, this.ground);
    const { services, options } = this.ground;
    const { designs } = lowerFile(document, loweringServices(document, services, options));
    const system = designs[0]?.system;
    const thing = [...(system?.runs ?? []), ...(system?.instances ?? [])].find(({ name }) => name === 'Thing');
    const value = thing?.properties.get(property);
    return value?.origin === 'stated' ? value : undefined;
  }
}
