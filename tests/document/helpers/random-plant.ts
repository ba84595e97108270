import fc from 'fast-check';

/** What a generated design has; all of it invented. */
export interface Plant {
  readonly banks: 1 | 2;
  readonly bankGear: readonly ('fuse' | 'switch')[];
  readonly inverters: number;
  readonly isInverterFused: boolean;
  readonly isOnBank: boolean;
  readonly hasSet: boolean;
  readonly isSetSwitched: boolean;
  readonly hasSun: boolean;
  readonly hasLink: boolean;
  readonly hasRules: boolean;
  /** A panel with a load without gear of its own, behind the first inverter or behind transfer gear with a supply. */
  readonly panel: 'none' | 'inverter' | 'transfer' | 'supplies';
  /** A machine that charges the bus by itself. */
  readonly turning: 'none' | 'wind' | 'hydro' | 'alternator';
  /** Whether the set leads through the second inverter, which has a charger built in. */
  readonly isPassing: boolean;
}

export const plant: fc.Arbitrary<Plant> = fc.record({
  banks: fc.constantFrom(1 as const, 2 as const),
  bankGear: fc.subarray(['fuse', 'switch'] as const),
  inverters: fc.integer({ min: 0, max: 2 }),
  isInverterFused: fc.boolean(),
  isOnBank: fc.boolean(),
  hasSet: fc.boolean(),
  isSetSwitched: fc.boolean(),
  hasSun: fc.boolean(),
  hasLink: fc.boolean(),
  hasRules: fc.boolean(),
  panel: fc.constantFrom('none' as const, 'inverter' as const, 'transfer' as const, 'supplies' as const),
  turning: fc.constantFrom('none' as const, 'wind' as const, 'hydro' as const, 'alternator' as const),
  isPassing: fc.boolean(),
});

export function plantText(of: Plant): string {
  const lines: string[] = ['basis: iec', 'bus Bus { rating: 400 A }'];
  for (let bank = 1; bank <= of.banks; bank += 1) {
    const gear = of.bankGear.map((kind) => `Bank${bank}${kind}`);
    for (const kind of of.bankGear) lines.push(`${kind} Bank${bank}${kind} { rating: 200 A }`);
    lines.push(`battery Bank${bank} { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah }`);
    lines.push(`run Feed${bank}: ${[`Bank${bank}`, ...gear, 'Bus'].join(' -> ')} { length: 1 m }`);
  }
  for (let inverter = 1; inverter <= of.inverters; inverter += 1) {
    const passes = of.isPassing && of.hasSet && inverter === 2;
    lines.push(
      `inverter Inv${inverter} { rated: 2 kW   voltage: 230 V${passes ? '   passThrough: yes   currentLimit: 20 A   absorb: 56 V' : ''} }`,
    );
    if (of.isInverterFused) lines.push(`fuse InvFuse${inverter} { rating: 100 A }`);
    const from = of.isOnBank && inverter === 1 ? 'Bank1' : 'Bus';
    lines.push(
      `run InvFeed${inverter}: ${from}${of.isInverterFused ? ` -> InvFuse${inverter}` : ''} -> Inv${inverter}.dc { length: 1 m }`,
    );
    if (passes) lines.push('breaker InputBreaker { rating: 16 A   poles: 2 }');
    const panel = inverter === 1 && (of.panel === 'inverter' || of.panel === 'transfer');
    if (!panel)
      lines.push(
        `load Load${inverter} { power: 500 W   voltage: 230 V }`,
        `run Line${inverter}: Inv${inverter}.ac -> Load${inverter} { length: 5 m }`,
      );
    else {
      lines.push(
        'bus Panel { rating: 40 A   voltage: 230 V }',
        'breaker PanelBreaker { rating: 16 A }',
        'load Fan { power: 50 W   voltage: 230 V }',
        'load Pump { power: 400 W   voltage: 230 V }',
        'run FanLine: Panel -> Fan { length: 3 m }',
        'run PumpLine: Panel -> PanelBreaker -> Pump { length: 3 m }',
      );
      if (of.panel === 'inverter') lines.push('run Line1: Inv1.ac -> Panel { length: 5 m }');
      else
        lines.push(
          'grid Mains { voltage: 230 V   rating: 25 A }',
          'transfer Gear { rating: 40 A }',
          'run MainsLine: Mains -> Gear.normal { length: 5 m }',
          'run Line1: Inv1.ac -> Gear.standby { length: 5 m }',
          'run GearLine: Gear.out -> Panel { length: 5 m }',
        );
    }
  }
  // A supply and a standby set behind transfer gear, with loads that no inverter feeds.
  if (of.panel === 'supplies')
    lines.push(
      'grid Mains { voltage: 230 V   rating: 25 A }',
      'generator Standby { rated: 5 kW   voltage: 230 V }',
      'transfer Gear { rating: 40 A }',
      'bus Panel { rating: 40 A   voltage: 230 V }',
      'load Fan { power: 50 W   voltage: 230 V }',
      'run MainsLine: Mains -> Gear.normal { length: 5 m }',
      'run StandbyLine: Standby -> Gear.standby { length: 5 m }',
      'run GearLine: Gear.out -> Panel { length: 5 m }',
      'run FanLine: Panel -> Fan { length: 3 m }',
    );
  if (of.turning !== 'none')
    lines.push(
      `${of.turning} Turner {}`,
      'fuse TurnerFuse { rating: 60 A }',
      'run TurnerLine: Turner -> TurnerFuse -> Bus { length: 9 m }',
    );
  if (of.hasSet) {
    lines.push(
      'generator Genset { rated: 5 kW   voltage: 230 V }',
      'charger Rect { currentLimit: 40 A   absorb: 56 V }',
    );
    if (of.isSetSwitched) lines.push('breaker SetBreaker { rating: 20 A   poles: 2 }');
    lines.push(
      'bus SetBus { rating: 40 A   voltage: 230 V }',
      `run SetLine: Genset${of.isSetSwitched ? ' -> SetBreaker' : ''} -> SetBus { length: 9 m }`,
      'run RectLine: SetBus -> Rect.ac { length: 2 m }',
      'run RectFeed: Bus -> Rect.dc { length: 1 m }',
    );
  }
  if (of.hasSet && of.isPassing && of.inverters > 1)
    lines.push('run PassLine: SetBus -> InputBreaker -> Inv2.input { length: 2 m }');
  if (of.hasSun)
    lines.push(
      'solar Array { power: 400 W }',
      'chargeController Tracker { currentLimit: 20 A   absorb: 56 V }',
      'run Sun: Array -> Tracker.solar { length: 9 m }',
      'run TrackerFeed: Tracker.dc -> Bus { length: 1 m }',
    );
  if (of.hasLink && of.hasSet) lines.push('link Pack: Bank1 -> Rect { medium: can }');
  if (of.hasRules && of.hasSet)
    lines.push(
      'control Auto of Genset {',
      'start when soc(Bank1) < 30 %',
      'stop when soc(Bank1) > 90 %',
      of.hasLink
        ? 'without Pack { start when voltage(Bank1) < 48 V for 3 min\n stop when voltage(Bank1) > 55 V for 3 min }'
        : '',
      '}',
    );
  return `design Made {\n${lines.join('\n')}\n}\n`;
}
