/**
 * Constants read from memory. Written out as literals, the machine code would put each together from integers at
 * every use, which costs more than the arithmetic.
 */
const TABLE = memory.data<f64>([
  0.5,
  1.0,
  1.5,
  2.0,
  -700.0,
  700.0,
  // 1.5 x 2^52, 1 / ln 2, and ln 2 in two parts of which the first has zeros at its end
  6755399441055744.0,
  Math.LOG2E,
  0.6931471803691238,
  1.9082149292705877e-10,
  // 1/3! to 1/13!
  1.0 / 6.0,
  1.0 / 24.0,
  1.0 / 120.0,
  1.0 / 720.0,
  1.0 / 5040.0,
  1.0 / 40320.0,
  1.0 / 362880.0,
  1.0 / 3628800.0,
  1.0 / 39916800.0,
  1.0 / 479001600.0,
  1.0 / 6227020800.0,
  // 2/3, 2/5 to 2/23
  2.0 / 3.0,
  2.0 / 5.0,
  2.0 / 7.0,
  2.0 / 9.0,
  2.0 / 11.0,
  2.0 / 13.0,
  2.0 / 15.0,
  2.0 / 17.0,
  2.0 / 19.0,
  2.0 / 21.0,
  2.0 / 23.0,
  // for the probe
  0.999999999,
  1e-9,
]);

export const HALF: usize = TABLE;
export const ONE: usize = TABLE + 8;
export const THREE_HALVES: usize = TABLE + 16;
export const TWO: usize = TABLE + 24;
export const LOWEST: usize = TABLE + 32;
export const HIGHEST: usize = TABLE + 40;
export const MAGIC: usize = TABLE + 48;
export const INVERSE_LN2: usize = TABLE + 56;
export const LN2_HIGH: usize = TABLE + 64;
export const LN2_LOW: usize = TABLE + 72;
/** 1/3! and the ten after it, eight bytes each. */
export const INVERSE_FACTORIALS: usize = TABLE + 80;
/** 2/3 and the ten after it. */
export const TWO_OVER_ODD: usize = TABLE + 168;
export const PROBE_FACTOR: usize = TABLE + 256;
export const PROBE_TERM: usize = TABLE + 264;
