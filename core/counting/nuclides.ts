/**
 * The two gases and their short-lived progeny, as decay chains. Energies are not needed: a detector states which
 * decays it counts (`detector.ts`).
 */

export type NuclideId =
  | 'Rn-222'
  | 'Po-218'
  | 'Pb-214'
  | 'Bi-214'
  | 'Po-214'
  | 'Rn-220'
  | 'Po-216'
  | 'Pb-212'
  | 'Bi-212'
  | 'Po-212';

export interface Nuclide {
  readonly id: NuclideId;
  readonly halfLifeS: number;
  /** Standard uncertainty of the half-life. */
  readonly halfLifeUS: number;
  /** Share of decays that lead to the next member of the chain; the rest is left out (At-218, Tl-210, Tl-208). */
  readonly toNext: number;
  /** Alpha particles for each decay. */
  readonly alphasPerDecay: number;
  /** 'read': value of the decay-data laboratory was seen; 'memory': recalled, shown as unconfirmed. */
  readonly mark: 'read' | 'memory';
}

const MINUTE = 60;
const HOUR = 3600;
const DAY = 86_400;

// Decay Data Evaluation Project (LNHB), read: Rn-222 3.8232(8) d, Po-218 3.071(22) min, Pb-214 26.916(44) min, Bi-214
// 19.80(10) min, Po-214 162.3(12) us, branchings 99.978 % and 99.979 %, Po-212 300(2) ns, Bi-212 to Po-212 64.07 %.
// From memory: Rn-220 55.8(3) s, Po-216 0.148(4) s, Pb-212 10.64(1) h, Bi-212 60.54(6) min.

const RADON: Nuclide = {
  id: 'Rn-222',
  halfLifeS: 3.8232 * DAY,
  halfLifeUS: 0.0008 * DAY,
  toNext: 1,
  alphasPerDecay: 1,
  mark: 'read',
};

/** Radon and its short-lived progeny; Pb-210 (22 years) ends it. */
export const RADON_CHAIN: readonly Nuclide[] = [
  RADON,
  {
    id: 'Po-218',
    halfLifeS: 3.071 * MINUTE,
    halfLifeUS: 0.022 * MINUTE,
    toNext: 0.99978,
    alphasPerDecay: 0.99978,
    mark: 'read',
  },
  {
    id: 'Pb-214',
    halfLifeS: 26.916 * MINUTE,
    halfLifeUS: 0.044 * MINUTE,
    toNext: 1,
    alphasPerDecay: 0,
    mark: 'read',
  },
  {
    id: 'Bi-214',
    halfLifeS: 19.8 * MINUTE,
    halfLifeUS: 0.1 * MINUTE,
    toNext: 0.99979,
    alphasPerDecay: 0,
    mark: 'read',
  },
  { id: 'Po-214', halfLifeS: 162.3e-6, halfLifeUS: 1.2e-6, toNext: 0, alphasPerDecay: 1, mark: 'read' },
];

/** Thoron and its progeny; stable lead ends it. */
export const THORON_CHAIN: readonly Nuclide[] = [
  { id: 'Rn-220', halfLifeS: 55.8, halfLifeUS: 0.3, toNext: 1, alphasPerDecay: 1, mark: 'memory' },
  { id: 'Po-216', halfLifeS: 0.148, halfLifeUS: 0.004, toNext: 1, alphasPerDecay: 1, mark: 'memory' },
  {
    id: 'Pb-212',
    halfLifeS: 10.64 * HOUR,
    halfLifeUS: 0.01 * HOUR,
    toNext: 1,
    alphasPerDecay: 0,
    mark: 'memory',
  },
  {
    id: 'Bi-212',
    halfLifeS: 60.54 * MINUTE,
    halfLifeUS: 0.06 * MINUTE,
    toNext: 0.6407,
    alphasPerDecay: 0.3593,
    mark: 'memory',
  },
  { id: 'Po-212', halfLifeS: 300e-9, halfLifeUS: 2e-9, toNext: 0, alphasPerDecay: 1, mark: 'read' },
];

/** Decay constant, 1/s. */
export function lambdaOf(nuclide: Nuclide): number {
  return Math.LN2 / nuclide.halfLifeS;
}

/** Decay constant of radon, 1/s. */
export const RADON_LAMBDA_PER_S = lambdaOf(RADON);

/** Share of radon left after a time, exp(-lambda t). */
export function radonLeft(seconds: number): number {
  return Math.exp(-RADON_LAMBDA_PER_S * seconds);
}
