/**
 * Random numbers that are the same for the same seed on every machine: Mulberry32, a counter of 32 bits that is mixed (public domain,
 * T. Ettinger 2017; from memory). It serves weather and outages, nothing that must be unpredictable.
 */
export class Random {
  private state: number;

  /** `seed` and `stream` are whole numbers; streams of one seed have nothing to do with each other. */
  constructor(seed: number, stream = 0) {
    this.state = mixed(mixed(seed >>> 0) + stream);
  }

  /** Evenly from 0 (included) to 1 (excluded). */
  next(): number {
    this.state = (this.state + 0x6d2b79f5) | 0;
    let mix = this.state;
    mix = Math.imul(mix ^ (mix >>> 15), mix | 1);
    mix ^= mix + Math.imul(mix ^ (mix >>> 7), mix | 61);
    return ((mix ^ (mix >>> 14)) >>> 0) / 4294967296;
  }

  /** From the normal distribution of mean 0 and deviation 1 (Box and Muller). */
  normal(): number {
    const radius = Math.sqrt(-2 * Math.log(1 - this.next()));
    return radius * Math.cos(2 * Math.PI * this.next());
  }

  /** A waiting time of the given mean, of which the past says nothing. */
  waiting(mean: number): number {
    return -mean * Math.log(1 - this.next());
  }
}

/** Finalizer of MurmurHash3 (A. Appleby, public domain), so that near seeds start far apart. */
function mixed(value: number): number {
  let mix = value | 0;
  mix = Math.imul(mix ^ (mix >>> 16), 0x85ebca6b);
  mix = Math.imul(mix ^ (mix >>> 13), 0xc2b2ae35);
  return (mix ^ (mix >>> 16)) | 0;
}
