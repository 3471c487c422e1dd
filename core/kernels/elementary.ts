// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * exp and log from additions, multiplications and divisions alone, so that every machine and engine gives the same
 * bits: the same steps as assembly/elementary.ts.
 */

/** 1.5 x 2^52: adding and taking it off again rounds to a whole number. */
const MAGIC = 6755399441055744;
/** ln 2 in two parts (fdlibm's): the first times a whole number below 2^20 is exact. */
const LN2_HIGH = 0.6931471803691238;
const LN2_LOW = 1.9082149292705877e-10;
/** 1/3!, 1/5! to 1/13!, and 1/2!, 1/4! to 1/12!. */
const ODD = [1 / 6, 1 / 120, 1 / 5040, 1 / 362880, 1 / 39916800, 1 / 6227020800];
const EVEN = [1 / 2, 1 / 24, 1 / 720, 1 / 40320, 1 / 3628800, 1 / 479001600];
const TWO_OVER_ODD = [2 / 3, 2 / 5, 2 / 7, 2 / 9, 2 / 11, 2 / 13, 2 / 15, 2 / 17, 2 / 19, 2 / 21, 2 / 23];

const number = new Float64Array(1);
const bits = new BigInt64Array(number.buffer);

/** Coefficients from the constant up; the highest first by Horner's rule. */
function polynomial(coefficients: readonly number[], x: number): number {
  let sum = coefficients.at(-1)!;
  for (let i = coefficients.length - 2; i >= 0; i--) sum = sum * x + coefficients[i]!;
  return sum;
}

/** Within 1 unit in the last place; 0 below -700, and arguments above 700 count as 700. */
export function kernelExp(argument: number): number {
  if (argument < -700) return 0;
  const x = Math.min(argument, 700);
  const k = x * Math.LOG2E + MAGIC - MAGIC;
  const r = x - k * LN2_HIGH - k * LN2_LOW;
  const z = r * r;
  const power = 1 + (r + z * (polynomial(EVEN, z) + polynomial(ODD, z) * r));
  number[0] = power;
  bits[0] = bits[0]! + (BigInt(k) << 52n);
  return number[0];
}

/** Within 2 units in the last place for normal positive numbers. */
export function kernelLog(x: number): number {
  number[0] = x;
  const whole = bits[0]!;
  // exponent such that the mantissa lies between sqrt(1/2) and sqrt(2)
  const exponent = (whole - 0x3fe6a09e667f3bcdn) >> 52n;
  bits[0] = whole - (exponent << 52n);
  const m = number[0];
  const k = Number(exponent);
  const s = (m - 1) / (m + 1);
  const z = s * s;
  return k * LN2_HIGH + (2 * s + (polynomial(TWO_OVER_ODD, z) * z * s + k * LN2_LOW));
}
