import { DIMENSIONS } from '../../quantity/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import { kindOf, statementFor, type Carries, type Terminal } from '../../equipment/index.js';
import { statedFacts } from '../stated-facts.js';
import type { Instance, Run, Stop } from '../types.js';
import type { DesignReader } from './design-reader.js';
import { Evaluator } from './evaluate.js';
import { insertionInto } from './insertion.js';
import { textOf } from './place.js';
import { nameOf } from './wording.js';

/** Reads runs and links: what is joined to what, through what. */
export class RunReader {
  constructor(private readonly design: DesignReader) {}

  run(node: ast.Run): Run | undefined {
    const path = `${this.design.name}.${nameOf(node)}`;
    const definition = kindOf('run')!;
    const { properties, holes } = this.design.read(
      definition,
      node.body,
      `run ${nameOf(node)}`,
      path,
      this.design.overrides.get(node.name),
    );
    const stops = (node.stops ?? []).map((stop, index, all) =>
      this.stop(stop, index === 0 || index === all.length - 1 ? 'end' : 'middle', path),
    );
    const others = (node.others ?? []).map((stop) => this.stop(stop, 'end', path));
    if ((node.stops ?? []).length < 2) {
      if ((node.stops ?? []).length === 1)
        this.design.report(
          node,
          {
            code: 'wrong-type',
            what: `run ${nameOf(node)}`,
            expected: 'a path of at least two things joined by `->`',
            text: textOf(node.stops[0]),
            proposals: [],
          },
          path,
          this.design.file.placeOf(node, 'name'),
        );
      return undefined;
    }
    if ([...stops, ...others].some((stop) => stop === undefined)) return undefined;
    const known = stops as Stop[];
    const doc = this.design.file.comment(node);
    const run: Run = {
      kind: 'run',
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      properties,
      holes,
      from: known[0]!,
      through: known.slice(1, -1),
      to: [known.at(-1)!, ...(others as Stop[])],
      carries: 'any',
      place: this.design.file.placeOf(node, 'name'),
      whole: this.design.file.place(node),
      insert: insertionInto(node, node.body),
    };
    this.design.know(node, run);
    return run;
  }

  link(node: ast.Link): void {
    const path = `${this.design.name}.${nameOf(node)}`;
    const { properties, holes } = this.design.read(
      kindOf('link')!,
      node.body,
      `link ${nameOf(node)}`,
      path,
      this.design.overrides.get(node.name),
    );
    const ends = [node.from, node.to].map((stop) => {
      const target = stop?.element?.ref;
      if (stop?.element && !target)
        this.design.report(
          stop,
          {
            code: 'unknown-name',
            name: stop.element.$refText,
            wanted: 'thing of this design',
            candidates: [...this.design.instances.keys()],
          },
          path,
          this.design.file.placeOf(stop, 'element'),
        );
      return target ? (this.design.things.get(target) as Instance | undefined) : undefined;
    });
    if (!ends[0] || !ends[1]) return;
    const doc = this.design.file.comment(node);
    this.design.know(node, {
      kind: 'link',
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      properties,
      holes,
      from: ends[0],
      to: ends[1],
      place: this.design.file.placeOf(node, 'name'),
      whole: this.design.file.place(node),
      insert: insertionInto(node, node.body),
    });
  }

  private stop(node: ast.RunStop, index: 'end' | 'middle', path: string): Stop | undefined {
    const name = node.element?.$refText;
    if (name === undefined) return undefined;
    const target = node.element.ref;
    const at = this.design.file.placeOf(node, 'element');
    const instance = target ? (this.design.things.get(target) as Instance | undefined) : undefined;
    if (!instance) {
      if (!target)
        this.design.report(
          node,
          { code: 'unknown-name', name, wanted: 'thing of this design', candidates: [...this.design.instances.keys()] },
          path,
          at,
        );
      return undefined;
    }
    const terminal = this.terminal(node, instance, index, path);
    if (terminal === 'unclear') return undefined;
    const value = node.distance ? new Evaluator(this.design.around).evaluate(node.distance) : undefined;
    if (
      value?.kind === 'known' &&
      typeof value.derivation.value === 'object' &&
      value.derivation.value.dimension !== DIMENSIONS.length
    ) {
      this.design.report(
        node,
        {
          code: 'wrong-dimension',
          what: 'the distance after `@`',
          expected: 'length (mm)',
          found: 'another quantity',
          text: textOf(node.distance),
          proposals: [],
        },
        path,
        this.design.file.place(node.distance!),
      );
    }
    const distance =
      value?.kind === 'known' &&
      typeof value.derivation.value === 'object' &&
      value.derivation.value.dimension === DIMENSIONS.length
        ? { ...value.derivation, name: `distance of ${name} along the run` }
        : undefined;
    return {
      instance,
      ...(terminal ? { terminal } : {}),
      ...(distance ? { distance } : {}),
      place: this.design.file.place(node),
    };
  }

  /** What a thing would have to state to have a terminal, and where it is written. */
  private needed(terminal: string, { kind, properties, insert }: Instance) {
    const statement = statementFor(terminal, kind, statedFacts(properties));
    if (statement === undefined) return {};
    return { needs: { statement, place: insert.place, text: `${insert.before}${statement}${insert.after}` } };
  }

  private terminal(
    node: ast.RunStop,
    instance: Instance,
    index: 'end' | 'middle',
    path: string,
  ): Terminal | 'unclear' | undefined {
    const { terminals } = instance;
    if (node.terminal) {
      const found = terminals.find((each) => each.name === node.terminal);
      if (found) return found;
      this.design.report(
        node,
        {
          code: 'unknown-name',
          name: node.terminal,
          wanted: `terminal of ${instance.name}`,
          candidates: terminals.map((each) => each.name),
          ...this.needed(node.terminal, instance),
        },
        path,
        this.design.file.placeOf(node, 'terminal'),
      );
      return 'unclear';
    }
    if (terminals.length === 1) return terminals[0];
    if (index === 'middle' && terminals.length === 0) return undefined;
    this.design.report(
      node,
      {
        code: 'unknown-name',
        name: instance.name,
        wanted: `terminal of ${instance.name}`,
        candidates: terminals.map((each) => `${instance.name}.${each.name}`),
        hint: `${instance.name} has several terminals`,
      },
      path,
      this.design.file.placeOf(node, 'element'),
    );
    return 'unclear';
  }
}

/** Works out for every run whether it carries AC or DC, from the terminals it joins and through gear and busbars that take either. */
export function settleCarries(runs: Run[]): void {
  const settled = new Map<Instance, Carries>();
  const sideOf = (stop: Stop): Carries =>
    stop.terminal && stop.terminal.carries !== 'any' ? stop.terminal.carries : (settled.get(stop.instance) ?? 'any');
  for (let changed = true; changed;) {
    changed = false;
    for (const [index, run] of runs.entries()) {
      const stops = [run.from, ...run.through, ...run.to];
      const carries = run.carries !== 'any' ? run.carries : (stops.map(sideOf).find((side) => side !== 'any') ?? 'any');
      if (carries === 'any') continue;
      if (run.carries === 'any') {
        runs[index] = { ...run, carries };
        changed = true;
      }
      for (const stop of stops) {
        if (stop.terminal?.carries !== 'any' || settled.has(stop.instance)) continue;
        settled.set(stop.instance, carries);
        changed = true;
      }
    }
  }
}
