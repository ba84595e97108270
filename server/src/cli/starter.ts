/** A file of the starter design. */
export interface StarterFile {
  readonly name: string;
  readonly text: string;
}

/** The starter design: small, of our own invention, and without findings; a test checks that. */
export const STARTER_FILES: readonly StarterFile[] = [
  {
    name: 'cabin.watt',
    text: `// An invented cabin, to start from. README.md says how to go on.

/** Invented 25.6 V pack, 100 Ah, with its own protection. */
part battery CabinPack100 {
  chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   capacityTime: 5 h
  resistance: 8..16 mohm   shortCircuitCurrent: 4 kA
  maximumCharge: 50 A   maximumDischarge: 100 A   peakDischarge: 200 A
  protectionLow: 20.8 V   protectionHigh: 29.2 V   chargeLimit: 28.8 V   reset: automatic
  chargeTemperature: 0..45 degC   dischargeTemperature: -20..55 degC   reserve: 20 %
  note: "invented"
}

/** Invented mains charger, 24 V 25 A. */
part charger CabinCharger25 extends CorrectedCharger {
  input: 180 V .. 264 V   output: 21 V .. 30 V   maximumCurrent: 25 A
  note: "invented"
}

design Cabin "Cabin by the lake" {
  basis: iec
  site { altitude: 300 m   ambient: 0..30 degC }

  grid Mains "Outlet of the farm" {
    voltage: 230 V   frequency: 50 Hz   rating: 16 A   faultCurrent: 3 kA   neutralBond: bonded
  }
  battery Bank : CabinPack100 { cellTemperature: 15..35 degC }
  charger Charger : CabinCharger25 { currentLimit: 25 A   absorb: 28.2 V   float: 27.0 V }

  bus DcBus { rating: 100 A   dcVoltage: 60 V }
  breaker MainsBreaker { class: MiniatureBreaker6k   rating: 10 A   curve: C   poles: 2   groundFault: yes }
  fuse BankFuse { class: T   rating: 80 A }
  fuse ChargerFuse { class: T   rating: 40 A }
  fuse LightsFuse { class: T   rating: 10 A }
  fuse FridgeFuse { class: T   rating: 15 A }

  load Lights { power: 40 W   supply: dc   profile: { 06:00..08:00: 100 %, 17:00..23:00: 100 % } }
  load Fridge { power: 60 W   supply: dc   duty: 40 %   profile: always }

  // Lengths are one way; the loop is worked out.
  run MainsCord: Mains -> MainsBreaker -> Charger.ac { size: 4 mm2   type: H07RN-F   length: 10 m }
  run BankFeed: Bank -> BankFuse @ 150 mm -> DcBus { size: 25 mm2   type: H07V-K   length: 1 m }
  run ChargerFeed: DcBus -> ChargerFuse @ 100 mm -> Charger.dc { size: 10 mm2   type: H07V-K   length: 1.5 m }
  run LightsLine: DcBus -> LightsFuse @ 100 mm -> Lights { size: 2.5 mm2   type: H07V-K   length: 8 m }
  run FridgeLine: DcBus -> FridgeFuse @ 100 mm -> Fridge { size: 4 mm2   type: H07V-K   length: 5 m }

  require chargeTime(Bank, 20 %, 90 %) <= 5 h because "an evening's stay fills it"
}
`,
  },
  {
    name: 'README.md',
    text: `# Cabin by the lake

A starter design, invented, to be changed into your own. \`cabin.watt\` holds it: two parts (data sheets), then the design with its
site, sources, bank, gear, loads and the runs that join them, and one requirement.

\`\`\`
wattwright check                          every finding, with the numbers that led to it
wattwright calc cabin.watt                every computed quantity
wattwright eval 'BankFeed.ampacity' --in cabin.watt
wattwright explain voltage-drop           what a check guards, and by which source
\`\`\`

Try it: make \`LightsLine\` 40 m long, or set the charger's limit to 80 A, and check again.

Results help a qualified person and replace none: local codes, the authority having jurisdiction, the makers' instructions and
licensed practice come first.
`,
  },
];
