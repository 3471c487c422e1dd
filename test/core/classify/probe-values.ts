import type { ProbeValue } from '../../../core/survey/reduce-probes.ts';

/** Invented probes as classification takes them; medium permeability unless told otherwise. */
export function value(n: number, radonKBqPerM3: number, change: Partial<ProbeValue> = {}): ProbeValue {
  return {
    probeId: `p${n}`,
    label: `P${String(n).padStart(2, '0')}`,
    positionM: [5 * n, 0],
    sampleIds: [`s${n}`],
    measured: {
      kind: 'value',
      estimateKBqPerM3: radonKBqPerM3,
      randomUKBqPerM3: 0.05 * radonKBqPerM3,
      commonURel: 0,
    },
    treatment: 'use',
    treatmentReason: 'nothing speaks against it',
    depthM: 0.8,
    permeabilityM2: null,
    permeabilityClass: 'medium',
    fineFractionPct: null,
    excluded: [],
    ...change,
  };
}

export function values(radon: readonly number[], change: Partial<ProbeValue> = {}): ProbeValue[] {
  return radon.map((r, n) => value(n, r, change));
}

/** 15 points whose third quartile is `q3` under every rule: ranks 11 and 12 and their neighbours are equal. */
export function aroundQuartile(q3: number, change: Partial<ProbeValue> = {}): ProbeValue[] {
  const shares = [0.2, 0.3, 0.4, 0.5, 0.5, 0.6, 0.6, 0.7, 0.8, 1, 1, 1, 1, 1.5, 2];
  return values(
    shares.map((s) => s * q3),
    change,
  );
}

export function diluted(n: number, boundKBqPerM3: number): ProbeValue {
  return value(n, 0, {
    treatment: 'lower-bound',
    treatmentReason: 'diluted (3 points of evidence)',
    measured: { kind: 'atLeast', boundKBqPerM3 },
  });
}

export function wet(n: number): ProbeValue {
  return value(n, 0, {
    treatment: 'no-value',
    treatmentReason: 'a probe in water gives no gas value',
    measured: { kind: 'none', reason: 'water' },
  });
}

export function notDetected(n: number, boundKBqPerM3: number): ProbeValue {
  return value(n, 0, { measured: { kind: 'atMost', boundKBqPerM3 } });
}
