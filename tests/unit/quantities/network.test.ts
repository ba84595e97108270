import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';

/** State by state: what feeds a node, as `title: feeder, feeder`. */
async function feeds(text: string, key: string): Promise<string[]> {
  const { context } = (await analyseText(text)).designs[0]!;
  return context.circuitStates.map(
    ({ state, circuit }) =>
      `${state.title}: ${[...(circuit.supply.get(key) ?? [])].map(({ name }) => name).join(', ') || 'nothing'}`,
  );
}

describe('source states', () => {
  it('are the battery alone, each AC source, all of them, and each of these with the sun', async () => {
    const { context } = (
      await analyseText(`design D {
  grid Mains { voltage: 230 V }
  generator Genset { voltage: 230 V }
  solar Array { power: 400 W }
}
`)
    ).designs[0]!;
    expect(context.states.map(({ id }) => id)).toEqual([
      'battery',
      'sun',
      'Mains',
      'Mains+sun',
      'Genset',
      'Genset+sun',
      'Mains+Genset',
      'Mains+Genset+sun',
    ]);
    expect(context.states.at(-1)!.title).toBe('Mains connected, Genset running, Array charging');
  });

  it('count a DC vehicle among what charges and an AC vehicle among the AC sources', async () => {
    const { context } = (
      await analyseText(`design D {
  vehicle Truck { supply: dc }
  vehicle Car { supply: ac   voltage: 230 V }
}
`)
    ).designs[0]!;
    expect(context.states.map(({ title }) => title)).toEqual([
      'battery alone',
      'Truck charging',
      'Car connected',
      'Car connected, Truck charging',
    ]);
  });
});

describe('what feeds a node', () => {
  const house = (gear: string): string => `design D {
  grid Mains { voltage: 230 V }
  generator Genset { voltage: 230 V }
  transfer Ats { ${gear} }
  bus Panel {}
  run A: Mains -> Ats.normal { size: 4 mm2   length: 1 m }
  run B: Genset -> Ats.standby { size: 4 mm2   length: 1 m }
  run C: Ats.out -> Panel { size: 4 mm2   length: 1 m }
}
`;

  it('is the normal side of transfer gear where it is live, else the standby side', async () => {
    expect(await feeds(house('switches: phases'), 'Panel.bar')).toEqual([
      'battery alone: nothing',
      'Mains connected: Mains',
      'Genset running: Genset',
      'Mains connected, Genset running: Mains',
    ]);
  });

  it('is both sides of gear without an interlock', async () => {
    expect((await feeds(house('interlock: no'), 'Panel.bar')).at(-1)).toBe(
      'Mains connected, Genset running: Mains, Genset',
    );
  });

  const camp = (pass: string): string => `design D {
  generator Genset { voltage: 230 V }
  battery Bank : Lfp48V280Ah
  inverter Inv { voltage: 230 V   currentLimit: 50 A   passThrough: ${pass} }
  bus Panel {}
  run Cord: Genset -> Inv.input { size: 4 mm2   length: 1 m }
  run Feed: Bank -> Inv.dc { size: 50 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 4 mm2   length: 1 m }
}
`;

  it('is the supply where an inverter passes it through, and the inverter where not', async () => {
    expect(await feeds(camp('yes'), 'Panel.bar')).toEqual(['battery alone: Inv', 'Genset running: Genset']);
    expect(await feeds(camp('no'), 'Panel.bar')).toEqual(['battery alone: Inv', 'Genset running: Inv']);
    const { context } = (await analyseText(camp('yes'))).designs[0]!;
    expect(context.circuitStates.map(({ circuit }) => [circuit.inverting.size, circuit.passing.size])).toEqual([
      [1, 0],
      [0, 1],
    ]);
  });

  it('passes through two inverters in a row', async () => {
    const text = `design D {
  generator Genset { voltage: 230 V }
  inverter First { voltage: 230 V   passThrough: yes }
  inverter Second { voltage: 230 V   passThrough: yes }
  load Lamp { power: 10 W }
  run A: Genset -> First.input { size: 4 mm2   length: 1 m }
  run B: First.ac -> Second.input { size: 4 mm2   length: 1 m }
  run C: Second.ac -> Lamp { size: 4 mm2   length: 1 m }
}
`;
    expect(await feeds(text, 'Lamp.line')).toEqual(['battery alone: First', 'Genset running: Genset']);
  });

  it('never counts the output of an inverter as its own supply', async () => {
    const text = `design D {
  inverter Inv { voltage: 230 V   passThrough: yes   currentLimit: 20 A }
  bus Panel {}
  run Out: Inv.ac -> Panel { size: 4 mm2   length: 1 m }
  run Back: Panel -> Inv.input { size: 4 mm2   length: 1 m }
}
`;
    const { context } = (await analyseText(text)).designs[0]!;
    expect(context.circuitStates[0]!.circuit.inverting.size).toBe(1);
    expect(await feeds(text, 'Panel.bar')).toEqual(['battery alone: Inv']);
  });
});
