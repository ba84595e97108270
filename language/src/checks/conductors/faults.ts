/** Prospective fault currents as the checks read them; worked out with the quantities of a design. */
export { type FaultAt, alternatingFaultAt, bankFaultAt } from '../../quantities/network-faults.js';
export { type Way, wayFrom } from '../../quantities/network-ways.js';
