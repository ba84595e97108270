/** A van with one inlet and several supplies, one cord at a time; invented. */
export interface VanOptions {
  /** More things of the design. */
  readonly more?: string;
  readonly inlet?: string;
  /** Supplies with their cords. */
  readonly supplies?: string;
  readonly charger?: string;
  readonly after?: string;
}

const CORD = '{ size: 10 AWG   type: SOOW   length: 8 m   conductors: 2   earth: 10 AWG }';

export const FOUR_SUPPLIES = `
  grid Post { voltage: 120 V   frequency: 60 Hz   rating: 30 A   outlet: TT-30   faultCurrent: 2 kA   neutralBond: bonded }
  grid Wall { voltage: 120 V   frequency: 60 Hz   rating: 15 A   outlet: NEMA-5-15   faultCurrent: 1 kA   neutralBond: bonded }
  generator Genset { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   frequency: 60 Hz   outlet: L5-30   breaker: 25 A   neutralBond: bonded }
  vehicle Truck { voltage: 120 V   frequency: 60 Hz   rating: 20 A   outlet: NEMA-5-20   neutralBond: bonded }
  receptacle WallAdapter { plug: NEMA-5-15   outlet: TT-30 }
  receptacle GensetAdapter { plug: L5-30   outlet: TT-30 }
  receptacle TruckAdapter { plug: NEMA-5-20   outlet: TT-30 }
  run PostCord: Post -> Inlet ${CORD}
  run WallCord: Wall -> WallAdapter -> Inlet ${CORD}
  run GensetCord: Genset -> GensetAdapter -> Inlet ${CORD}
  run TruckCord: Truck -> TruckAdapter -> Inlet ${CORD}`;

export const van = ({
  more = '',
  inlet = 'plug: TT-30   oneCord: yes',
  supplies = FOUR_SUPPLIES,
  charger = 'currentLimit: 30 A',
  after = '',
}: VanOptions = {}): string => `design Van {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  receptacle Inlet { ${inlet} }
  breaker Main { class: UL489-AC   rating: 30 A   poles: 1   terminals: 75 degC }
  bus Panel { rating: 30 A   voltage: 120 V   neutralBond: floating   terminals: 75 degC }
  charger Rect {
    input: 95..135 V   maximumCurrent: 75 A   efficiency: 90 %   powerFactor: 0.97   absorb: 14.2 V   float: 13.5 V   ${charger}
  }
  battery Bank : Lfp12V200Ah
  load Heater { power: 600 W   voltage: 120 V   powerFactor: 1 }
  run Feed: Inlet -> Main @ 1 m -> Panel { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2   earth: 10 AWG }
  run HeaterLine: Panel -> Heater { size: 10 AWG   type: THWN-2   length: 5 m   conductors: 2   earth: 10 AWG }
  run RectLine: Panel -> Rect.ac { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2   earth: 10 AWG }
  run Out: Rect.dc -> Bank { size: 4 AWG   type: FineStranded90   length: 1.2 m   conductors: 2 }
${supplies}
${more}
}
${after}`;
