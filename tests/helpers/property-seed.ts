import fc from 'fast-check';

/** The seed of property tests: the same on every run, so that a failure says that something changed; PROPERTY_SEED draws others. */
fc.configureGlobal({ seed: Number(process.env.PROPERTY_SEED ?? 20_261_130) });
