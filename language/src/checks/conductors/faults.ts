/** Prospective fault currents as the checks read them; worked out with the quantities of a design. */
export { alternatingFaultAt } from '../../quantities/faults/faults-alternating.js';
export { type FaultAt, bankFaultAt } from '../../quantities/faults/faults-direct.js';
export { type Way, wayFrom } from '../../quantities/network/ways.js';
