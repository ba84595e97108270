/** A hut of our own invention whose scenario takes its sun from a weather file. */
export const sunnyHut = (weather: string): string => `design Hut {
  basis: iec
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  solar Array {
    power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V
    tilt: 45 deg   azimuth: 180 deg   powerCoefficient: -0.35 %/K   noct: 45 degC   series: 2
  }
  chargeController Tracker { currentLimit: 30 A   absorb: 28 V   float: 27 V   efficiency: 97 % }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 6 mohm   cellTemperature: 25 degC }
  load Lamp { power: 10 W   supply: dc   profile: always }
  run ArrayRun: Array -> Tracker.solar { }
  run SunRun: Tracker.dc -> Bank { }
  run Line: Bank -> Lamp { }
  scenario Day {
    from: 2027-06-01   duration: 1 d   soc(Bank): 90 %   weather: "${weather}"
    require min(soc(Bank)) >= 10 %
  }
}
`;
