import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'inverter-surge';

const hut = (inverter: string, loads: string): string => `design D {
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  inverter Inv { ${inverter}   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  run Feed: Bank -> Inv.dc
  run Out: Inv.ac -> Panel
  ${loads}
}
`;
const load = (name: string, facts: string): string => `load ${name} { ${facts} }\n  run ${name}Line: Panel -> ${name}`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('passes a start at exactly the surge power and fails one above it', async () => {
    const pump = (factor: string): string => load('Pump', `power: 1 kW   startFactor: ${factor}   startTime: 1 s`);
    expect(await findings(hut('rated: 3 kW   surge: 6 kW   surgeTime: 1 s', pump('6')))).toEqual([]);
    const [finding] = await findings(hut('rated: 3 kW   surge: 6 kW   surgeTime: 1 s', pump('6.1')));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '6.1 kW')).toEqual([]);
    expect(lacking(finding?.told, 'a soft starter that holds Pump to 6 times')).toEqual([]);
  });

  it('counts what runs beside the start, by the time of the day', async () => {
    const pump = load('Pump', 'power: 1 kW   startFactor: 4   startTime: 1 s   profile: { 06:00..07:00: 100 % }');
    const oven = (hours: string): string => load('Oven', `power: 2 kW   profile: { ${hours}: 100 % }`);
    // At 06:00 both: 2 kW + 4 kW; apart 4 kW at most.
    const inverter = 'rated: 3 kW   surge: 5.9 kW   surgeTime: 5 s';
    const [finding] = await findings(hut(inverter, `${pump}\n  ${oven('05:30..06:30')}`));
    expect(lacking(finding?.told, '6 kW')).toEqual([]);
    expect(lacking(finding?.told, 'at 06:00')).toEqual([]);
    expect(await findings(hut(inverter, `${pump}\n  ${oven('07:00..08:00')}`))).toEqual([]);
    // A profile that runs over midnight is still on in the morning.
    expect(await findings(hut(inverter, `${pump}\n  ${oven('22:00..06:30')}`))).toHaveLength(1);
  });

  it('is an error where the loads of one time of the day are above the continuous rating', async () => {
    const two = (hours: string): string =>
      `${load('Oven', 'power: 2 kW   profile: { 18:00..19:00: 100 % }')}\n  ${load('Kettle', `power: 1.1 kW   profile: { ${hours}: 100 % }`)}`;
    const [finding] = await findings(hut('rated: 3 kW', two('18:30..18:45')));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '3.1 kW')).toEqual([]);
    expect(lacking(finding?.told, 'at 18:30')).toEqual([]);
    expect(lacking(finding?.told, 'Oven 2 kW, Kettle 1.1 kW')).toEqual([]);
    expect(await findings(hut('rated: 3 kW', two('19:00..19:15')))).toEqual([]);
    expect(await findings(hut('rated: 3.1 kW', two('18:30..18:45')))).toEqual([]);
  });

  it('holds apparent power against the apparent rating, too', async () => {
    // 2.4 kW at 0.8 are 3 kVA.
    const motor = (power: string): string => load('Motor', `power: ${power}   powerFactor: 0.8`);
    expect(await findings(hut('rated: 3 kW   apparent: 3 kVA', motor('2.4 kW')))).toEqual([]);
    const [finding] = await findings(hut('rated: 3 kW   apparent: 3 kVA', motor('2.5 kW')));
    expect(lacking(finding?.told, '3.13 kVA')).toEqual([]);
  });

  it('minds how long surge power lasts where a start needs it', async () => {
    const pump = (time: string): string => load('Pump', `power: 1 kW   startFactor: 5   startTime: ${time}`);
    const inverter = 'rated: 3 kW   surge: 6 kW   surgeTime: 2 s';
    expect(await findings(hut(inverter, pump('2 s')))).toEqual([]);
    const [finding] = await findings(hut(inverter, pump('3 s')));
    expect(lacking(finding?.told, 'for 3 s')).toEqual([]);
    expect(lacking(finding?.told, 'for 2 s')).toEqual([]);
    // Within the continuous rating no surge is needed.
    expect(await findings(hut('rated: 5 kW   surge: 6 kW   surgeTime: 2 s', pump('3 s')))).toEqual([]);
  });

  it('counts inverters whose outputs are joined together', async () => {
    const text = (power: string): string => `design D {
  battery Bank : Lfp48V280Ah
  inverter A { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V }
  inverter B { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V }
  bus Panel {}
  load Shop { power: ${power} }
  run FA: Bank -> A.dc
  run FB: Bank -> B.dc
  run OA: A.ac -> Panel
  run OB: B.ac -> Panel
  run L: Panel -> Shop
}
`;
    expect(await findings(text('6 kW'))).toEqual([]);
    const [finding, ...rest] = await findings(text('6.1 kW'));
    expect(lacking(finding?.told, 'A and B give together 6 kW')).toEqual([]);
    expect(rest).toEqual([]);
  });

  it('does not count loads while a supply is passed through, but those of the bank alone', async () => {
    const text = (power: string): string => `design D {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   passThrough: yes   input: 180..264 V }
  load Shop { power: ${power} }
  run In: Mains -> Inv.input
  run Feed: Bank -> Inv.dc
  run L: Inv.ac -> Shop
}
`;
    expect(await findings(text('3 kW'))).toEqual([]);
    const [finding] = await findings(text('3.1 kW'));
    expect(lacking(finding?.told, '3.1 kW')).toEqual([]);
  });

  it('asks for what lacks, and for times only where surge power is needed', async () => {
    const pump = load('Pump', 'power: 1 kW   startFactor: 5');
    expect(askedBy(await analyseText(hut('rated: 3 kW', pump)), ID)).toEqual(['surge of Inv']);
    expect(askedBy(await analyseText(hut('rated: 3 kW   surge: 6 kW', pump)), ID)).toEqual([
      'startTime of Pump',
      'surgeTime of Inv',
    ]);
    expect(askedBy(await analyseText(hut('rated: 5 kW', pump)), ID)).toEqual([]);
    expect(askedBy(await analyseText(hut('', load('Pump', 'startFactor: 5'))), ID).sort()).toEqual([
      'power of Pump',
      'rated of Inv',
    ]);
  });
});
