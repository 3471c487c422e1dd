// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { normalCdf } from './normal.ts';

const REACH = 9;
const PER_UNIT = 64;

let table: Float64Array | null = null;

/** Values and slopes (times the step) of the distribution function at steps from -REACH to REACH. */
function makeTable(): Float64Array {
  const count = 2 * REACH * PER_UNIT + 1;
  const out = new Float64Array(2 * count);
  for (let k = 0; k < count; k++) {
    const z = k / PER_UNIT - REACH;
    out[2 * k] = normalCdf(z);
    out[2 * k + 1] = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI) / PER_UNIT;
  }
  return out;
}

/** Standard normal distribution function within 1e-9, many times faster than `normalCdf`: cubics between table values. */
export function quickNormalCdf(z: number): number {
  if (!(z > -REACH)) return Number.isNaN(z) ? z : 0;
  if (z >= REACH) return 1;
  table ??= makeTable();
  const at = (z + REACH) * PER_UNIT;
  const k = Math.floor(at);
  const t = at - k;
  const [a, da, b, db] = [table[2 * k]!, table[2 * k + 1]!, table[2 * k + 2]!, table[2 * k + 3]!];
  return a + t * (da + t * (3 * (b - a) - 2 * da - db + t * (2 * (a - b) + da + db)));
}
