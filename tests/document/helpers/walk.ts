import type { Action, CommissioningStep, DesignContext, Instance, Run, Stop } from '@wattwright/language';

/** What this walk takes a kind for. It asks nothing of the roles by which the steps were made. */
const SOURCES = ['generator', 'grid', 'solar', 'wind', 'hydro', 'alternator', 'vehicle'];
const GEAR = ['fuse', 'breaker', 'switch'];
/** What must not turn without what it charges. */
const TURNING = ['wind', 'hydro', 'alternator'];
/** What power leads through one way, from terminal to terminal. An inverter gives at `ac` only when it is switched on. */
const THROUGH: Readonly<Record<string, readonly (readonly [from: string, to: string])[]>> = {
  charger: [['ac', 'dc']],
  chargeController: [['solar', 'dc']],
  converter: [['in', 'out']],
  transfer: [
    ['normal', 'out'],
    ['standby', 'out'],
  ],
  inverter: [
    ['input', 'ac'],
    ['input', 'dc'],
  ],
};

const is = (kinds: readonly string[], { kind }: Instance): boolean => kinds.includes(kind);

/** What a walk along the steps finds wrong. It keeps its own books of what is live, and of the plan it reads the actions alone. */
export function walked(steps: readonly CommissioningStep[], { system, graph }: DesignContext): string[] {
  const wrong: string[] = [];
  const open = new Set<string>();
  const off = new Set<string>();
  // Whatever nobody has stopped may run.
  const running = new Set(system.instances.filter((each) => is(SOURCES, each)).map(({ name }) => name));
  const charged = new Set<string>();
  const on = new Set<string>();
  const linked = new Set<string>();
  const selected = new Map<string, string>();
  const compared = new Set<string>();
  const measured = new Map<string, number>();
  const entered = new Set<string>();
  const banks = system.instances.filter(({ kind }) => kind === 'battery').map(({ name }) => name);
  const key = (stop: Stop): string =>
    stop.instance.terminals.length > 1
      ? `${stop.instance.name}.${graph.nodeOf(stop).terminal.name}`
      : stop.instance.name;
  const chainOf = ({ from, through, to }: Run): string[] => [from, ...through, ...to].map(key);
  const pairs = system.runs.flatMap(({ name, from, through, to }) => {
    const line = [from, ...through].map(key);
    return [
      ...line.slice(1).map((stop, index) => ({ run: name, a: line[index]!, b: stop })),
      ...to.map((far) => ({ run: name, a: line.at(-1)!, b: key(far) })),
    ];
  });
  const nameOf = (node: string): string => node.split('.')[0]!;

  /** What may be live; without one source or bank where its own voltage does not count. Transfer gear may stand on either supply, unless asked for as it was set. */
  const live = (without?: string, isAsSet = false): Set<string> => {
    const seen = new Set(
      system.instances
        .filter(({ name }) => (banks.includes(name) || running.has(name)) && name !== without)
        .flatMap(({ name, terminals }) =>
          terminals.length > 1 ? terminals.map((terminal) => `${name}.${terminal.name}`) : [name],
        ),
    );
    for (let size = 0; size !== seen.size;) {
      size = seen.size;
      for (const { run, a, b } of pairs) {
        if (off.has(run)) continue;
        // What is open is live on one side and leads no further.
        if (seen.has(a) && !open.has(a)) seen.add(b);
        if (seen.has(b) && !open.has(b)) seen.add(a);
      }
      for (const { name, kind } of system.instances) {
        for (const [from, to] of THROUGH[kind] ?? []) {
          if (kind === 'transfer' && isAsSet && from !== (selected.get(name) ?? 'normal')) continue;
          if (seen.has(`${name}.${from}`)) seen.add(`${name}.${to}`);
        }
        if (on.has(name) && seen.has(`${name}.dc`)) seen.add(`${name}.ac`);
      }
    }
    return seen;
  };

  /** The banks that conductors and closed gear join to one, without itself. */
  const joined = (bank: string): string[] => {
    const seen = new Set([bank]);
    for (let size = 0; size !== seen.size;) {
      size = seen.size;
      for (const { run, a, b } of pairs) {
        if (off.has(run) || open.has(a) || open.has(b)) continue;
        if (seen.has(a)) seen.add(b);
        if (seen.has(b)) seen.add(a);
      }
    }
    return banks.filter((each) => each !== bank && seen.has(each));
  };

  /** Whether what a step measures is live then, or dead where it must be. */
  const measure = ({ expects, otherwise, text }: CommissioningStep, number: number): void => {
    if (expects.length > 0 && /^(Stop\. Open what was closed last|\s*$)/.test(otherwise))
      wrong.push(`step ${number}: nothing is said of what to do if it is off: ${text}`);
    const now = live(undefined, true);
    for (const { reading } of expects) {
      if (!reading) continue;
      const { of, terminal, what } = reading;
      const nodes =
        'through' in of
          ? chainOf(of)
          : terminal !== undefined && of.terminals.length > 1
            ? [`${of.name}.${terminal}`]
            : of.terminals.length > 1
              ? of.terminals.map((each) => `${of.name}.${each.name}`)
              : [of.name];
      if (what === 'voltage' && !nodes.some((node) => now.has(node)))
        wrong.push(`step ${number}: the voltage of ${of.name} is read while it is dead`);
      if (what === 'current' && !nodes.every((node) => now.has(node)))
        wrong.push(`step ${number}: the current of ${of.name} is read while it is dead`);
      if (what === 'current') measured.set(of.name, (measured.get(of.name) ?? 0) + 1);
    }
  };

  /** The other cords of an inlet that says it takes one at a time. */
  const inletsOf = ({ from, through, to }: Run): string[] =>
    [from, ...through, ...to].flatMap(({ instance: { name, properties } }) => {
      const one = properties.get('oneCord')?.value;
      return one?.type === 'flag' && one.flag ? [name] : [];
    });
  const cordsBeside = (run: Run): string[] =>
    system.runs
      .filter((each) => each !== run && inletsOf(each).some((inlet) => inletsOf(run).includes(inlet)))
      .map(({ name }) => name)
      // The run behind an inlet is no cord of it.
      .filter((name) => isSourceRun(name));
  const isSourceRun = (name: string): boolean =>
    system.runs.some(
      (each) => each.name === name && [each.from, ...each.to].some(({ instance }) => is(SOURCES, instance)),
    );

  const land = (run: Run, number: number): void => {
    const gear = [run.from, ...run.through, ...run.to].filter(({ instance }) => is(GEAR, instance)).map(key);
    const closed = gear.filter((each) => !open.has(each));
    if (closed.length > 0) wrong.push(`step ${number}: ${run.name} is landed with ${closed.join(', ')} closed`);
    const chain = chainOf(run);
    for (const [end, inward] of [
      [chain[0]!, chain.slice(1)],
      [chain.at(-1)!, chain.slice(0, -1).reverse()],
    ] as const) {
      const source = nameOf(end);
      if (running.has(source)) wrong.push(`step ${number}: ${run.name} is landed at ${source}, which runs`);
      if (!system.instances.some((each) => each.name === source && is(SOURCES, each))) continue;
      const reached = live(source);
      for (const node of inward) {
        if (open.has(node)) break;
        if (reached.has(node)) wrong.push(`step ${number}: ${run.name} is landed at ${source} with ${node} live`);
      }
    }
    const kinds = [run.from, ...run.to].map((stop) => graph.nodeOf(stop).terminal.carries);
    if (kinds.includes('ac') && kinds.includes('dc')) wrong.push(`step ${number}: ${run.name} joins unlike terminals`);
    off.delete(run.name);
    for (const other of cordsBeside(run))
      if (!off.has(other)) wrong.push(`step ${number}: ${run.name} is plugged in beside ${other}`);
  };

  const act = (action: Action, number: number): void => {
    switch (action.do) {
      case 'open':
        open.add(action.gear.name);
        break;
      case 'close':
        open.delete(action.gear.name);
        break;
      case 'part':
        off.add(action.run.name);
        break;
      case 'land':
        land(action.run, number);
        break;
      case 'start':
        if (is(['generator', 'grid'], action.source)) {
          const reached = live(action.source.name);
          for (const { name } of action.source.terminals)
            if (reached.has(action.source.name) || reached.has(`${action.source.name}.${name}`))
              wrong.push(`step ${number}: ${action.source.name} is started onto live conductors`);
        }
        if (is(TURNING, action.source) && !joined(action.source.name).length)
          wrong.push(`step ${number}: ${action.source.name} turns without a bank`);
        running.add(action.source.name);
        break;
      case 'compare':
        for (const a of action.banks)
          for (const b of action.banks) {
            compared.add(`${a.name} ${b.name}`);
          }
        break;
      case 'select':
        selected.set(action.gear.name, action.terminal);
        break;
      case 'stop':
        running.delete(action.source.name);
        break;
      case 'work': {
        const reached = live();
        // The end that is left off at a bank is tagged and apart; the rest of the run is where the hands are.
        for (const node of chainOf(action.run))
          if (reached.has(node) && !(off.has(action.run.name) && banks.includes(nameOf(node))))
            wrong.push(`step ${number}: ${node} is live at work on ${action.run.name}`);
        break;
      }
      case 'precharge':
        charged.add(action.inverter.name);
        break;
      case 'switchOn':
        if (!live().has(`${action.inverter.name}.dc`))
          wrong.push(`step ${number}: ${action.inverter.name} is switched on without its bank`);
        on.add(action.inverter.name);
        break;
      case 'connect':
        linked.add(action.link.name);
        break;
      case 'disconnect':
        linked.delete(action.link.name);
        break;
      case 'enter': {
        const { verb } = action.rule;
        const group = `${action.control} ${action.without?.name ?? ''}`;
        if ((verb === 'start' || verb === 'on') && !entered.has(`${group} stop`))
          wrong.push(`step ${number}: a start before its stop`);
        if (verb === 'stop' || verb === 'off') entered.add(`${group} stop`);
        entered.add(`${group} ${action.rule.text}`);
        break;
      }
      case 'force': {
        const group = `${action.control} ${action.without?.name ?? ''}`;
        if (!entered.has(`${group} ${action.rule.text}`))
          wrong.push(`step ${number}: a rule is forced that was not entered`);
        if (action.without ? linked.has(action.without.name) : system.links.some(({ name }) => !linked.has(name)))
          wrong.push(`step ${number}: ${action.rule.text} is forced with its link in the wrong state`);
        break;
      }
    }
    if (action.do !== 'close' && action.do !== 'land') return;
    for (const bank of banks)
      for (const other of joined(bank)) {
        if (!compared.has(`${bank} ${other}`))
          wrong.push(`step ${number}: ${bank} is joined to ${other} without their voltages being compared`);
        compared.add(`${bank} ${other}`);
      }
    for (const source of system.instances)
      if (is(['generator', 'grid'], source) && running.has(source.name)) {
        const others = live(source.name);
        if (others.has(source.name) || source.terminals.some((each) => others.has(`${source.name}.${each.name}`)))
          wrong.push(`step ${number}: ${source.name} runs and meets another source`);
      }
    const reached = live();
    for (const { name, kind } of system.instances)
      if (kind === 'inverter' && reached.has(`${name}.dc`) && !charged.has(name))
        wrong.push(`step ${number}: ${name} is closed on a bank without being charged`);
  };
  steps.forEach((step, index) => {
    step.actions.forEach((action) => act(action, index + 1));
    measure(step, index + 1);
  });
  // With everything joined and every source tried, what feeds no load can feed it never.
  for (const { name, from, to } of system.runs)
    if ([from, ...to].some(({ instance }) => instance.kind === 'load') && !measured.has(name))
      wrong.push(`the current of ${name} is never measured`);
  // Of several cords at one inlet, one is plugged in at the end.
  for (const run of system.runs)
    if (off.has(run.name) && cordsBeside(run).some((other) => !off.has(other))) off.delete(run.name);
  if (open.size > 0 || off.size > 0) wrong.push(`left open at the end: ${[...open, ...off].join(', ')}`);
  for (const { name, rules, fallbacks } of system.controls)
    for (const [group, each] of [
      [`${name} `, rules],
      ...fallbacks.map(({ link, rules: without }) => [`${name} ${link.name}`, without] as const),
    ] as const)
      for (const { text } of each)
        if (!entered.has(`${group} ${text}`)) wrong.push(`${name}: "${text}" is never entered`);
  return wrong;
}
