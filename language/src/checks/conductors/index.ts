import type { Check } from '../define.js';
import { deviceClassCheck } from './device-class.js';
import { deviceVoltage } from './device-voltage.js';
import { interruptRatingCheck } from './interrupt-rating.js';
import { neutralBondCheck } from './neutral-bond.js';
import { plugContinuous } from './plug-continuous.js';
import { runAmpacity } from './run-ampacity.js';
import { runCurrentBasis } from './run-current-basis.js';
import { runProtection } from './run-protection.js';
import { runUnprotected } from './run-unprotected.js';
import { placeAlongRun } from './place-along-run.js';
import { terminalTemperature } from './terminal-temperature.js';
import { protectionContinuous } from './protection-continuous.js';
import { protectionCoordination } from './protection-coordination.js';
import { stringFuses } from './string-fuses.js';
import { earthConductor } from './earth-conductor.js';
import { cordAmpacity } from './cord-ampacity.js';
import { unknownEdition } from './unknown-edition.js';
import { twoSourcesOneBus } from './two-sources-one-bus.js';
import { voltageDrop } from './voltage-drop.js';
import { shortCircuitWithstand } from './short-circuit-withstand.js';
import { faultClearing } from './fault-clearing.js';
import { parallelRuns } from './parallel-runs.js';
import { sharedNeutral } from './shared-neutral.js';
import { shuntBypassed } from './shunt-bypassed.js';
import { strandTerminal } from './strand-terminal.js';
import { lugStud } from './lug-stud.js';
import { lugsStacked } from './lugs-stacked.js';
import { torqueMissing } from './torque-missing.js';
import { conductorTypeCheck } from './conductor-type.js';
import { breakerPoles } from './breaker-poles.js';
import { busRating } from './bus-rating.js';
import { switchRating } from './switch-rating.js';
import { plugNeutral } from './plug-neutral.js';
import { legBalance } from './leg-balance.js';
import { groundFaultTrip } from './ground-fault-trip.js';
import { socketResidualCurrent } from './socket-residual-current.js';
import { motorCircuit } from './motor-circuit.js';
import { voltageCollapse } from './voltage-collapse.js';

export const conductorChecks: readonly Check[] = [
  unknownEdition,
  runCurrentBasis,
  runAmpacity,
  runProtection,
  runUnprotected,
  placeAlongRun,
  protectionContinuous,
  protectionCoordination,
  stringFuses,
  earthConductor,
  cordAmpacity,
  terminalTemperature,
  voltageDrop,
  interruptRatingCheck,
  deviceVoltage,
  deviceClassCheck,
  neutralBondCheck,
  plugContinuous,
  twoSourcesOneBus,
  shortCircuitWithstand,
  faultClearing,
  parallelRuns,
  sharedNeutral,
  shuntBypassed,
  strandTerminal,
  lugStud,
  lugsStacked,
  torqueMissing,
  conductorTypeCheck,
  breakerPoles,
  busRating,
  switchRating,
  plugNeutral,
  legBalance,
  groundFaultTrip,
  socketResidualCurrent,
  motorCircuit,
  voltageCollapse,
];
