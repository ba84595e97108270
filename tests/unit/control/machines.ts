import {
  compileControls,
  ControlMachine,
  type ControlInputs,
  PHASE_NAMES,
} from '../../../language/src/control/index.js';
import { signalKey } from '../../../language/src/model/conditions.js';
import { analyseText } from '../../helpers/analyse.js';

/** A machine with what a test says of the world: the value of each signal in SI, which links are silent, and the time. */
export class Bench {
  state;
  readonly values: Record<string, number> = {};
  readonly silent = new Set<string>();
  time: number;

  constructor(
    readonly machine: ControlMachine,
    startOfDay = 12 * 3600,
  ) {
    this.state = machine.initial();
    this.time = startOfDay;
  }

  get inputs(): ControlInputs {
    const truths = this.machine.comparisons.map(({ terms, comparison, limit }) => {
      const sum = terms.reduce((so, { factor, signal }) => so + factor * (this.values[signalKey(signal)] ?? 0), 0);
      const holds = {
        '<': sum < limit.value,
        '<=': sum <= limit.value,
        '>': sum > limit.value,
        '>=': sum >= limit.value,
        '==': sum === limit.value,
        '!=': sum !== limit.value,
      }[comparison];
      return holds ? 1 : 0;
    });
    return {
      truths,
      links: this.machine.links.map(({ name }) => (this.silent.has(name) ? 0 : 1)),
      day: Math.floor(this.time / 86_400) + 1,
      timeOfDay: this.time % 86_400,
    };
  }

  set(values: Record<string, number>): this {
    Object.assign(this.values, values);
    return this;
  }

  /** Lets seconds pass and says what the first target does then. */
  pass(seconds: number): string {
    this.state = this.machine.advance(this.state, this.inputs, seconds);
    this.time += seconds;
    return this.phase();
  }

  phase(target = 0): string {
    return PHASE_NAMES[this.machine.phase(this.state, target)];
  }

  next(): number {
    return this.machine.nextTimer(this.state, this.inputs);
  }
}

/** A generator and a bank, a pump and a grid, two links; the controls are the case. */
export async function machineOf(controls: string, generator = ''): Promise<ControlMachine> {
  const { designs, findings } = await analyseText(`design D {
  generator Genset { rated: 5 kW   voltage: 230 V ${generator} }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V }
  load Pump { power: 1 kW }
  link BmsLink: Bank -> Rect { medium: can   timeOut: 30 s }
  link InvLink: Inv -> Genset { medium: rs485 }
  ${controls}
}
`);
  const faults = findings.filter(({ check }) => ['syntax-error', 'unknown-name', 'wrong-type'].includes(check));
  if (faults.length > 0) throw new Error(faults.map(({ message }) => message).join('\n'));
  return new ControlMachine(compileControls(designs[0]!.system));
}

export const bench = async (controls: string, generator = ''): Promise<Bench> =>
  new Bench(await machineOf(controls, generator));
