// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * A correlation that is costly to compute, as polynomials of u^2. Four pieces to a power of two, from 2^-120 to 2^14, so
 * that what happens near the origin (u^(2 nu), not smooth) is resolved; degree 11 leaves about 1e-14. A piece is
 * fourteen numbers: factor and term that take u^2 to [-1, 1], then the coefficients from the constant up.
 */

const LOWEST_POWER = -120;
const HIGHEST_POWER = 14;
const PARTS = 4;
const DEGREE = 11;
const PIECE = DEGREE + 3;
const PIECES = PARTS * (HIGHEST_POWER - LOWEST_POWER);

export const TABLE_LENGTH = PIECES * PIECE;

/** Below the table a correlation must be 1: true from this Matern smoothness on. */
export const LEAST_SMOOTHNESS = 0.4;

const number = new Float64Array(1);
const bits = new BigUint64Array(number.buffer);

/** Power of the lowest piece and parts of a power, as the highest 14 bits of a number count them. */
const FIRST = PARTS * (1023 + LOWEST_POWER);

/** @param correlationAt correlation at u > 0, 1 at the origin, falling to 0 */
export function tabulate(correlationAt: (u: number) => number): Float64Array {
  const out = new Float64Array(TABLE_LENGTH);
  const nodes = Array.from({ length: DEGREE + 1 }, (_, i) =>
    Math.cos((Math.PI * (2 * i + 1)) / (2 * DEGREE + 2)),
  );
  for (let piece = 0; piece < PIECES; piece++) {
    const power = 2 ** (LOWEST_POWER + Math.floor(piece / PARTS));
    const centre = power * (1 + ((piece % PARTS) + 0.5) / PARTS);
    const half = power / (2 * PARTS);
    const values = nodes.map((t) => correlationAt(Math.sqrt(centre + half * t)));
    out[piece * PIECE] = 1 / half;
    out[piece * PIECE + 1] = centre / half;
    fitPolynomial(nodes, values).forEach((c, i) => {
      out[piece * PIECE + 2 + i] = c;
    });
  }
  return out;
}

/** Coefficients from the constant up of the polynomial through values at Chebyshev nodes of the first kind. */
function fitPolynomial(nodes: readonly number[], values: readonly number[]): Float64Array {
  const n = nodes.length;
  const out = new Float64Array(n);
  // Chebyshev polynomials one after the other, as coefficients
  let before = new Float64Array(n);
  let current = new Float64Array(n);
  current[0] = 1;
  for (let k = 0; k < n; k++) {
    let share = 0;
    for (let i = 0; i < n; i++) share += values[i]! * Math.cos((k * Math.PI * (2 * i + 1)) / (2 * n));
    share *= (k === 0 ? 1 : 2) / n;
    for (let i = 0; i < n; i++) out[i] = out[i]! + share * current[i]!;
    const next = new Float64Array(n);
    for (let i = 0; i < n; i++)
      next[i] = (k === 0 ? 1 : 2) * (i === 0 ? 0 : current[i - 1]!) - (k === 0 ? 0 : before[i]!);
    before = current;
    current = next;
  }
  return out;
}

/** Correlation at u^2 from the table at memory[at..]; the same operations as the kernel's. */
export function lookUpCorrelation(memory: Float64Array, at: number, squared: number): number {
  number[0] = squared;
  const piece = Number(bits[0]! >> 50n) - FIRST;
  if (piece < 0) return 1;
  if (piece >= PIECES) return 0;
  const p = at + piece * PIECE;
  const t = squared * memory[p]! - memory[p + 1]!;
  let sum = memory[p + PIECE - 1]!;
  for (let i = PIECE - 2; i >= 2; i--) sum = sum * t + memory[p + i]!;
  return sum;
}
