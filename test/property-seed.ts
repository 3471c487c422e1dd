/**
 * Properties are checked on the same draws every time, so that a run says something about the change and not about
 * luck. GASPLAT_SEED=N (any whole number) looks elsewhere.
 */
import fc from 'fast-check';

fc.configureGlobal({ seed: Number(process.env['GASPLAT_SEED'] ?? 1) });
