/** exp and log of two numbers at once. The constants and the order of operations are those of `../elementary.ts`. */

import {
  HALF,
  HIGHEST,
  INVERSE_FACTORIALS,
  INVERSE_LN2,
  LN2_HIGH,
  LN2_LOW,
  LOWEST,
  MAGIC,
  ONE,
  TWO,
  TWO_OVER_ODD,
} from './constants';

/**
 * exp in place over `size` bytes, rounded up to 32. Within 1 unit in the last place; 0 below -700, and arguments above
 * 700 count as 700.
 */
export function exponentials(at: usize, size: usize): void {
  for (const end = at + size; at < end; at += 32) {
    let c = v128.load_splat<f64>(LOWEST);
    const given0 = v128.load(at);
    const given1 = v128.load(at, 16);
    const keep0 = f64x2.ge(given0, c);
    const keep1 = f64x2.ge(given1, c);
    let x0 = f64x2.pmax(given0, c);
    let x1 = f64x2.pmax(given1, c);
    c = v128.load_splat<f64>(HIGHEST);
    x0 = f64x2.pmin(x0, c);
    x1 = f64x2.pmin(x1, c);
    c = v128.load_splat<f64>(INVERSE_LN2);
    const scaled0 = f64x2.mul(x0, c);
    const scaled1 = f64x2.mul(x1, c);
    c = v128.load_splat<f64>(MAGIC);
    const shifted0 = f64x2.add(scaled0, c);
    const shifted1 = f64x2.add(scaled1, c);
    const k0 = f64x2.sub(shifted0, c);
    const k1 = f64x2.sub(shifted1, c);
    c = v128.load_splat<f64>(LN2_HIGH);
    x0 = f64x2.sub(x0, f64x2.mul(k0, c));
    x1 = f64x2.sub(x1, f64x2.mul(k1, c));
    c = v128.load_splat<f64>(LN2_LOW);
    const r0 = f64x2.sub(x0, f64x2.mul(k0, c));
    const r1 = f64x2.sub(x1, f64x2.mul(k1, c));
    const z0 = f64x2.mul(r0, r0);
    const z1 = f64x2.mul(r1, r1);
    // even and odd terms apart: two short chains instead of a long one
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 80);
    let odd0 = f64x2.mul(c, z0);
    let odd1 = f64x2.mul(c, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 72);
    let even0 = f64x2.mul(c, z0);
    let even1 = f64x2.mul(c, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 64);
    odd0 = f64x2.add(odd0, c);
    odd1 = f64x2.add(odd1, c);
    odd0 = f64x2.mul(odd0, z0);
    odd1 = f64x2.mul(odd1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 56);
    even0 = f64x2.add(even0, c);
    even1 = f64x2.add(even1, c);
    even0 = f64x2.mul(even0, z0);
    even1 = f64x2.mul(even1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 48);
    odd0 = f64x2.add(odd0, c);
    odd1 = f64x2.add(odd1, c);
    odd0 = f64x2.mul(odd0, z0);
    odd1 = f64x2.mul(odd1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 40);
    even0 = f64x2.add(even0, c);
    even1 = f64x2.add(even1, c);
    even0 = f64x2.mul(even0, z0);
    even1 = f64x2.mul(even1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 32);
    odd0 = f64x2.add(odd0, c);
    odd1 = f64x2.add(odd1, c);
    odd0 = f64x2.mul(odd0, z0);
    odd1 = f64x2.mul(odd1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 24);
    even0 = f64x2.add(even0, c);
    even1 = f64x2.add(even1, c);
    even0 = f64x2.mul(even0, z0);
    even1 = f64x2.mul(even1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 16);
    odd0 = f64x2.add(odd0, c);
    odd1 = f64x2.add(odd1, c);
    odd0 = f64x2.mul(odd0, z0);
    odd1 = f64x2.mul(odd1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS, 8);
    even0 = f64x2.add(even0, c);
    even1 = f64x2.add(even1, c);
    even0 = f64x2.mul(even0, z0);
    even1 = f64x2.mul(even1, z1);
    c = v128.load_splat<f64>(INVERSE_FACTORIALS);
    odd0 = f64x2.add(odd0, c);
    odd1 = f64x2.add(odd1, c);
    c = v128.load_splat<f64>(HALF);
    even0 = f64x2.add(even0, c);
    even1 = f64x2.add(even1, c);
    even0 = f64x2.add(even0, f64x2.mul(odd0, r0));
    even1 = f64x2.add(even1, f64x2.mul(odd1, r1));
    c = v128.load_splat<f64>(ONE);
    const power0 = f64x2.add(c, f64x2.add(r0, f64x2.mul(z0, even0)));
    const power1 = f64x2.add(c, f64x2.add(r1, f64x2.mul(z1, even1)));
    // the low bits of `shifted` hold k as an integer; added to the exponent bits
    v128.store(at, v128.and(i64x2.add(power0, i64x2.shl(shifted0, 52)), keep0));
    v128.store(at, v128.and(i64x2.add(power1, i64x2.shl(shifted1, 52)), keep1), 16);
  }
}

/** Within 2 units in the last place for normal positive numbers. */
export function logPair(x: v128): v128 {
  const magic = v128.load_splat<f64>(MAGIC);
  // exponent such that the mantissa lies between sqrt(1/2) and sqrt(2)
  // biome-ignore lint/correctness/noPrecisionLoss: a 64-bit integer here
  const exponent = i64x2.shr_s(i64x2.sub(x, i64x2.splat(0x3fe6a09e667f3bcd)), 52);
  const m = i64x2.sub(x, i64x2.shl(exponent, 52));
  const k = f64x2.sub(i64x2.add(exponent, magic), magic);
  const one = v128.load_splat<f64>(ONE);
  const s = f64x2.div(f64x2.sub(m, one), f64x2.add(m, one));
  const z = f64x2.mul(s, s);
  let q = v128.load_splat<f64>(TWO_OVER_ODD, 80);
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 72));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 64));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 56));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 48));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 40));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 32));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 24));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 16));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD, 8));
  q = f64x2.add(f64x2.mul(q, z), v128.load_splat<f64>(TWO_OVER_ODD));
  const tail = f64x2.add(f64x2.mul(f64x2.mul(q, z), s), f64x2.mul(k, v128.load_splat<f64>(LN2_LOW)));
  return f64x2.add(
    f64x2.mul(k, v128.load_splat<f64>(LN2_HIGH)),
    f64x2.add(f64x2.mul(v128.load_splat<f64>(TWO), s), tail),
  );
}
