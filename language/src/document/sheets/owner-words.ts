/** Fuels in words for everybody. */
export const FUELS: Readonly<Record<string, string>> = {
  petrol: 'petrol (gasoline)',
  diesel: 'diesel',
  propane: 'propane (LPG)',
  naturalGas: 'natural gas from its line',
};
