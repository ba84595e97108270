/**
 * A design of 150 lines with rules, a link, a fallback, an array and loads by the hour, invented; `dwell` of the fallback's stop decides whether its
 * rules are right.
 * @param {string} dwell
 */
export function ruledDesign(dwell) {
  const loads = Array.from({ length: 19 }, (_, index) => {
    const hour = String(6 + (index % 12)).padStart(2, '0');
    return `
  /** Circuit ${index + 1}. */
  fuse Fuse${index} { class: T   rating: 15 A }
  load Load${index} { power: ${40 + ((index * 17) % 90)} W   supply: dc   profile: { ${hour}:00..${hour}:45: 100 % } }
  run Line${index}: DcBus -> Fuse${index} @ 100 mm -> Load${index}
    { size: 12 AWG   type: FineStranded90   length: ${1 + (index % 6)} m }`;
  });
  return `/** A station with a set, an array and many small circuits. */
design Ruled "Rules and many circuits" {
  basis: nec
  site { altitude: 300 m   ambient: 5..30 degC   latitude: 45 deg   longitude: 10 deg }

  generator Genset { rated: 5 kW   apparent: 5 kVA   voltage: 230 V   fuel: diesel   tank: 60 L   neutralBond: bonded }
  charger Rect {
    input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98
    lostLink: defaults   tailTime: 20 min
  }
  solar Array {
    power: 400 W   series: 3   parallel: 1   openCircuitVoltage: 48 V   maximumPowerVoltage: 40 V   shortCircuitCurrent: 11 A
    maximumPowerCurrent: 10 A   tilt: 30 deg   azimuth: 180 deg   powerCoefficient: -0.35 %/K   voltageCoefficient: -0.28 %/K   noct: 45 degC
  }
  chargeController Sun { tracking: mppt   currentLimit: 30 A   efficiency: 97 %   absorb: 56 V   float: 54 V   maximumVoltage: 250 V }
  battery Bank {
    chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..16 mohm   cellTemperature: 10..30 degC   reserve: 10 %
  }
  fuse MainFuse { class: T   rating: 200 A }
  bus DcBus { rating: 400 A }
  run Cord: Genset -> Rect.ac { size: 10 AWG   length: 8 m }
  run RectFeed: Rect.dc -> DcBus { size: 2 AWG   type: FineStranded90   length: 2 m }
  run Roof: Array -> Sun.solar { size: 10 AWG   length: 12 m }
  run SunFeed: Sun.dc -> DcBus { size: 6 AWG   type: FineStranded90   length: 2 m }
  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: 4/0 AWG   type: FineStranded90   length: 1.2 m }
  link BmsLink: Bank -> Genset { medium: can   timeOut: 30 s }
${loads.join('\n')}

  control Autostart of Genset {
    start when soc(Bank) < 35 % for 1 min
    stop when soc(Bank) > 85 %
    without BmsLink {
      start when voltage(Bank) < 51 V for 3 min
      stop when voltage(Bank) > 55 V for ${dwell}
    }
    minimumRun: 45 min   minimumRest: 15 min   warmUp: 2 min   coolDown: 3 min
    quiet: 22:00..06:30 unless soc(Bank) < 20 %
  }
}
`;
}
