"use strict";
Object.defineProperty(exports, "__esModule", { value: true });
exports.PROBE_TERM = exports.PROBE_FACTOR = exports.TWO_OVER_ODD = exports.INVERSE_FACTORIALS = exports.LN2_LOW = exports.LN2_HIGH = exports.INVERSE_LN2 = exports.MAGIC = exports.HIGHEST = exports.LOWEST = exports.TWO = exports.THREE_HALVES = exports.ONE = exports.HALF = void 0;
/**
 * Constants read from memory. Written out as literals, the machine code would put each together from integers at
 * every use, which costs more than the arithmetic.
 */
const TABLE = memory.data([
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
exports.HALF = TABLE;
exports.ONE = TABLE + 8;
exports.THREE_HALVES = TABLE + 16;
exports.TWO = TABLE + 24;
exports.LOWEST = TABLE + 32;
exports.HIGHEST = TABLE + 40;
exports.MAGIC = TABLE + 48;
exports.INVERSE_LN2 = TABLE + 56;
exports.LN2_HIGH = TABLE + 64;
exports.LN2_LOW = TABLE + 72;
/** 1/3! and the ten after it, eight bytes each. */
exports.INVERSE_FACTORIALS = TABLE + 80;
/** 2/3 and the ten after it. */
exports.TWO_OVER_ODD = TABLE + 168;
exports.PROBE_FACTOR = TABLE + 256;
exports.PROBE_TERM = TABLE + 264;
