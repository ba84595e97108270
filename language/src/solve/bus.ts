/** What holds the current of a bank: its resistance while it takes, its bounds, its resistance while it gives, or that below the knee of a charge. */
const [TAKES, AT_MOST, AT_LEAST, GIVES, BELOW_KNEE] = [0, 1, 2, 3, 4];

/** More than there are forms. */
const FORMS = 5;

/**
 * One direct-current bus: banks behind their resistance, regulators that push current into it (each up to a current, a power and the
 * voltage it holds), and what draws constant power. Solved in closed form.
 *
 * With the voltage V of the bus, a bank takes (V − U)/R within its bounds (with another R while it gives, and with an offset of U from a small
 * current on while it takes, where it polarises), a regulator gives the least of its limit, its power over V
 * and (S − V)/r, never less than 0, and constant power draws P/V. On every stretch of V on which each of them keeps to one of these forms
 * the balance is a quadratic; the largest voltage that solves it is the one at which the bus runs.
 */
export class Bus {
  readonly banks: Int32Array;
  readonly regulators: Int32Array;

  /* For each bank of the bus. V, ohm, A. */
  readonly rest: Float64Array;
  readonly resistance: Float64Array;
  /** Ohm while it gives; V by which it takes less once more than the knee (A) flows into it. The offset is 0 for banks that do not polarise. */
  readonly resistanceOut: Float64Array;
  readonly offset: Float64Array;
  readonly knee: Float64Array;
  /** Most current into the bank, and least (not above 0: its most out of it, negative). */
  readonly most: Float64Array;
  readonly least: Float64Array;
  /** A that linked regulators keep to. */
  readonly asked: Float64Array;

  /* For each regulator of the bus. */
  readonly isOn: Uint8Array;
  readonly limit: Float64Array;
  readonly power: Float64Array;
  readonly set: Float64Array;
  readonly droop: Float64Array;
  readonly isLinked: Uint8Array;

  /** W drawn. */
  drawn = 0;

  /* Solution. */
  /** V; 0 when nothing holds the bus up. */
  voltage = 0;
  /** A into each bank, and its change with that bank's rest voltage (A/V). */
  readonly current: Float64Array;
  readonly slope: Float64Array;
  /** Tells apart which forms everything keeps to: while it stays the same, nothing has a bend. */
  forms = 0;
  /** Change of the current that the bus takes with its voltage (A/V) while banks share it freely; 0 while something else sets its voltage. */
  steepness = 0;
  /** A out of each regulator. */
  readonly given: Float64Array;
  /** Whether a regulator holds its voltage (gives less than its limits). */
  readonly holds: Uint8Array;
  private readonly bankForm: Uint8Array;
  private readonly regulatorForm: Uint8Array;
  private readonly edges: Float64Array;
  private isFallen = false;
  private conductance = 0;
  private net = 0;

  constructor(banks: readonly number[], regulators: readonly number[]) {
    this.banks = Int32Array.from(banks);
    this.regulators = Int32Array.from(regulators);
    const perBank = (): Float64Array => new Float64Array(banks.length);
    const perRegulator = (): Float64Array => new Float64Array(regulators.length);
    [this.rest, this.resistance, this.current, this.slope] = [perBank(), perBank(), perBank(), perBank()];
    this.resistanceOut = perBank().fill(NaN);
    [this.offset, this.knee] = [perBank(), perBank()];
    [this.most, this.least, this.asked] = [
      perBank().fill(Infinity),
      perBank().fill(-Infinity),
      perBank().fill(Infinity),
    ];
    this.isOn = new Uint8Array(regulators.length);
    this.isLinked = new Uint8Array(regulators.length);
    this.holds = new Uint8Array(regulators.length);
    [this.limit, this.power, this.set, this.droop, this.given] = [
      perRegulator().fill(Infinity),
      perRegulator().fill(Infinity),
      perRegulator(),
      perRegulator(),
      perRegulator(),
    ];
    this.bankForm = new Uint8Array(banks.length);
    this.regulatorForm = new Uint8Array(regulators.length);
    this.edges = new Float64Array(4 * banks.length + 3 * regulators.length + 2);
  }

  /** Finds the voltage and the currents. Answers whether there is a voltage at which everything gets what it draws. */
  solve(): boolean {
    if (this.banks.length === 0 && !this.isAnyOn()) {
      this.fall();
      return false;
    }
    // Most steps keep the forms of the step before: one quadratic, and a look whether the forms still hold.
    let voltage = this.voltage > 0 ? this.root() : 0;
    if (!(voltage > 0) || !this.keepsForms(voltage)) voltage = this.search();
    if (!(voltage > 0)) {
      this.fall();
      return false;
    }
    this.isFallen = false;
    this.voltage = voltage;
    this.share(voltage);
    return true;
  }

  private isAnyOn(): boolean {
    for (let at = 0; at < this.isOn.length; at += 1) if (this.isOn[at]) return true;
    return false;
  }

  /** Whether a bank takes all it can. */
  isAtMost(place: number): boolean {
    return this.bankForm[place] === AT_MOST;
  }

  /** Whether the current of a bank follows from the voltage of the bus, within its bounds. */
  isFree(place: number): boolean {
    const form = this.bankForm[place]!;
    return form !== AT_MOST && form !== AT_LEAST;
  }

  /** Ohm between the rest of a bank and the bus, as it stands. */
  ohmsOf(place: number): number {
    return this.ohmsIn(place, this.bankForm[place]!);
  }

  /** Whether current comes out of a bank by its own resistance for that. */
  isGiving(place: number): boolean {
    return this.bankForm[place] === GIVES;
  }

  private ohmsIn(place: number, form: number): number {
    if (form === GIVES) return this.resistanceOut[place]!;
    const ohms = this.resistance[place]!;
    return form === BELOW_KNEE ? ohms + this.offset[place]! / this.knee[place]! : ohms;
  }

  /** V from which a bank takes or gives in a form. */
  private sourceIn(place: number, form: number): number {
    return form === TAKES ? this.rest[place]! + this.offset[place]! : this.rest[place]!;
  }

  /** V at which a bank takes a current that is not below 0. */
  private voltsTaking(place: number, amperes: number): number {
    const form = amperes < this.knee[place]! && this.offset[place]! > 0 ? BELOW_KNEE : TAKES;
    return this.sourceIn(place, form) + amperes * this.ohmsIn(place, form);
  }

  /** A into a bank at a voltage, whatever it is bound to. */
  private freeAmperes(place: number, voltage: number): number {
    const form = this.freeForm(place, voltage);
    return (voltage - this.sourceIn(place, form)) / this.ohmsIn(place, form);
  }

  private freeForm(place: number, voltage: number): number {
    if (!this.polarises(place)) return TAKES;
    if (voltage < this.rest[place]!) return GIVES;
    return voltage < this.voltsTaking(place, this.knee[place]!) ? BELOW_KNEE : TAKES;
  }

  private polarises(place: number): boolean {
    return this.resistanceOut[place]! > 0;
  }

  /** Whether a regulator gives all its power, or all its current. */
  isAtPower(place: number): boolean {
    return this.regulatorForm[place] === 2;
  }

  isAtLimit(place: number): boolean {
    return this.regulatorForm[place] === 1;
  }

  /** Nothing holds the bus: no current flows, and no charge. */
  private fall(): void {
    if (this.isFallen) return;
    this.isFallen = true;
    this.voltage = 0;
    this.forms = -1;
    this.steepness = 0;
    this.current.fill(0);
    this.slope.fill(0);
    this.given.fill(0);
    this.holds.fill(0);
  }

  /** Largest voltage that balances the bus with the forms as they stand; 0 when there is none. */
  private root(): number {
    let constant = 0;
    let conductance = 0;
    let net = -this.drawn;
    for (let at = 0; at < this.bankForm.length; at += 1) {
      const form = this.bankForm[at]!;
      if (form !== AT_MOST && form !== AT_LEAST) {
        const siemens = 1 / this.ohmsIn(at, form);
        conductance += siemens;
        constant += this.sourceIn(at, form) * siemens;
      } else constant -= form === AT_MOST ? this.most[at]! : this.least[at]!;
    }
    for (let at = 0; at < this.regulatorForm.length; at += 1) {
      switch (this.regulatorForm[at]!) {
        case 1:
          constant += this.limit[at]!;
          break;
        case 2:
          net += this.power[at]!;
          break;
        case 3: {
          const siemens = 1 / this.droop[at]!;
          conductance += siemens;
          constant += this.set[at]! * siemens;
        }
      }
    }
    this.conductance = conductance;
    this.net = net;
    if (conductance === 0) {
      // Fixed currents alone settle on a voltage only where constant power uses up exactly what they give.
      return constant < 0 && net > 0 ? -net / constant : constant === 0 && net === 0 ? NaN : 0;
    }
    const inside = constant * constant + 4 * conductance * net;
    return inside < 0 ? 0 : (constant + Math.sqrt(inside)) / (2 * conductance);
  }

  private formOfBank(at: number, voltage: number): number {
    const form = this.freeForm(at, voltage);
    const into = (voltage - this.sourceIn(at, form)) / this.ohmsIn(at, form);
    return into > this.most[at]! ? AT_MOST : into < this.least[at]! ? AT_LEAST : form;
  }

  private formOfRegulator(at: number, voltage: number): number {
    if (!this.isOn[at]) return 0;
    const held = (this.set[at]! - voltage) / this.droop[at]!;
    if (held <= 0) return 0;
    const limit = this.limit[at]!;
    const byPower = this.power[at]! / voltage;
    if (limit <= byPower) return limit <= held ? 1 : 3;
    return byPower <= held ? 2 : 3;
  }

  private keepsForms(voltage: number): boolean {
    for (let at = 0; at < this.bankForm.length; at += 1)
      if (this.formOfBank(at, voltage) !== this.bankForm[at]) return false;
    for (let at = 0; at < this.regulatorForm.length; at += 1)
      if (this.formOfRegulator(at, voltage) !== this.regulatorForm[at]) return false;
    return true;
  }

  private takeForms(voltage: number): void {
    for (let at = 0; at < this.bankForm.length; at += 1) this.bankForm[at] = this.formOfBank(at, voltage);
    for (let at = 0; at < this.regulatorForm.length; at += 1)
      this.regulatorForm[at] = this.formOfRegulator(at, voltage);
  }

  /** Goes through the stretches between the voltages at which a form changes, from the top; 0 when none balances. */
  private search(): number {
    const { edges } = this;
    let count = 0;
    const add = (edge: number): void => {
      if (!(edge > 0) || edge === Infinity) return;
      let place = count;
      for (; place > 0 && edges[place - 1]! < edge; place -= 1) edges[place] = edges[place - 1]!;
      edges[place] = edge;
      count += 1;
    };
    for (let at = 0; at < this.banks.length; at += 1) {
      add(this.most[at]! === Infinity ? Infinity : this.voltsTaking(at, this.most[at]!));
      const out = this.polarises(at) ? this.resistanceOut[at]! : this.resistance[at]!;
      add(this.rest[at]! + this.least[at]! * out);
      if (!this.polarises(at)) continue;
      add(this.rest[at]!);
      add(this.voltsTaking(at, this.knee[at]!));
    }
    for (let at = 0; at < this.regulators.length; at += 1) {
      if (!this.isOn[at]) continue;
      const [set, droop, limit, power] = [this.set[at]!, this.droop[at]!, this.limit[at]!, this.power[at]!];
      add(set);
      if (limit < Infinity) add(set - droop * limit);
      if (power < Infinity) {
        const inside = set * set - 4 * droop * power;
        if (inside >= 0) add((set + Math.sqrt(inside)) / 2);
        if (limit < Infinity && limit > 0) add(power / limit);
      }
    }
    let top = Infinity;
    for (let at = 0; at <= count; at += 1) {
      const bottom = at < count ? edges[at]! : 0;
      const middle = top === Infinity ? (bottom > 0 ? bottom * 1.5 : 1) : (top + bottom) / 2;
      this.takeForms(middle);
      let voltage = this.root();
      // Nothing flows at all: any voltage of the stretch will do, the one nearest to where a bank rests.
      if (Number.isNaN(voltage)) voltage = at < count ? bottom : 0;
      const slack = 1e-12 * voltage;
      if (voltage > 0 && voltage >= bottom - slack && voltage <= top + slack) return voltage;
      top = bottom;
    }
    return 0;
  }

  /** Currents at the voltage found, with regulators on a link keeping to what the bank asks. */
  private share(voltage: number): void {
    const steepness = this.conductance + this.net / (voltage * voltage);
    this.steepness = Math.max(0, steepness);
    this.forms = 0;
    for (let at = 0; at < this.banks.length; at += 1) {
      const form = this.bankForm[at]!;
      this.forms = FORMS * this.forms + form;
      const isFree = form !== AT_MOST && form !== AT_LEAST;
      const ohms = this.ohmsIn(at, form);
      this.current[at] = isFree
        ? (voltage - this.sourceIn(at, form)) / ohms
        : form === AT_MOST
          ? this.most[at]!
          : this.least[at]!;
      // dV/dU = (1/R)/(G + P/V²), and the current follows.
      this.slope[at] = isFree && steepness > 0 ? (1 / ohms / steepness - 1) / ohms : 0;
    }
    for (let at = 0; at < this.regulators.length; at += 1) {
      const form = this.regulatorForm[at]!;
      this.forms = FORMS * this.forms + form;
      this.holds[at] = form === 3 || (form === 0 && this.isOn[at]! === 1) ? 1 : 0;
      this.given[at] =
        form === 0
          ? 0
          : form === 1
            ? this.limit[at]!
            : form === 2
              ? this.power[at]! / voltage
              : (this.set[at]! - voltage) / this.droop[at]!;
    }
    this.keepToAsked(voltage);
  }

  /** Takes back what regulators on a link give above what the banks ask: the voltage at which none gets more. */
  private keepToAsked(voltage: number): void {
    let lowered = voltage;
    let governing = -1;
    for (let at = 0; at < this.banks.length; at += 1) {
      if (!(this.current[at]! > this.asked[at]!)) continue;
      const kept = this.voltsTaking(at, this.asked[at]!);
      if (kept < lowered) [lowered, governing] = [kept, at];
    }
    if (lowered === voltage) return;
    this.forms = -2 - governing;
    let linked = 0;
    for (let at = 0; at < this.regulators.length; at += 1) if (this.isLinked[at] && this.isOn[at]) linked += 1;
    if (linked === 0) return;
    let need = this.drawn / lowered;
    for (let at = 0; at < this.banks.length; at += 1) need += Math.min(this.most[at]!, this.freeAmperes(at, lowered));
    let free = 0;
    let able = 0;
    for (let at = 0; at < this.regulators.length; at += 1) {
      const form = this.formOfRegulator(at, lowered);
      const amperes =
        form === 0
          ? 0
          : form === 1
            ? this.limit[at]!
            : form === 2
              ? this.power[at]! / lowered
              : (this.set[at]! - lowered) / this.droop[at]!;
      this.given[at] = amperes;
      this.holds[at] = form === 3 || (form === 0 && this.isOn[at]! === 1) ? 1 : 0;
      if (this.isLinked[at]) able += amperes;
      else free += amperes;
    }
    // Linked ones that give nothing there anyway cannot give less: what the others give is not theirs to take back.
    const part = able > 0 ? (need - free) / able : NaN;
    if (!(part >= 0 && part <= 1)) {
      // Others alone give the bank more than it asks: the linked ones give nothing, and the rest runs as it would without them.
      const were = this.isOn.slice();
      for (let at = 0; at < this.regulators.length; at += 1) if (this.isLinked[at]) this.isOn[at] = 0;
      const found = this.search();
      if (found > 0) {
        this.voltage = found;
        const { asked } = this;
        const kept = asked.slice();
        asked.fill(Infinity);
        this.share(found);
        asked.set(kept);
      }
      this.isOn.set(were);
      return;
    }
    for (let at = 0; at < this.regulators.length; at += 1) if (this.isLinked[at]) this.given[at]! *= part;
    for (let at = 0; at < this.banks.length; at += 1) {
      this.bankForm[at] = this.formOfBank(at, lowered);
      this.current[at] = Math.min(this.most[at]!, this.freeAmperes(at, lowered));
      // The bank that governs moves the voltage along with its own; the others follow the voltage that it sets.
      this.slope[at] =
        at === governing || this.current[at] === this.most[at] ? 0 : -1 / this.ohmsIn(at, this.bankForm[at]!);
    }
    this.steepness = 0;
    this.voltage = lowered;
  }
}
