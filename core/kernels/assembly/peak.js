"use strict";
Object.defineProperty(exports, "__esModule", { value: true });
exports.peak = peak;
const constants_1 = require("./constants");
/**
 * The most this machine gives: twelve sums that do not wait for each other, one multiplication and one addition each
 * per round. @returns something that depends on every round, so that none is left out
 */
function peak(rounds) {
    const x = v128.load_splat(constants_1.PROBE_FACTOR);
    const y = v128.load_splat(constants_1.PROBE_TERM);
    let a = f64x2.splat(1);
    let b = f64x2.splat(2);
    let c = f64x2.splat(3);
    let d = f64x2.splat(4);
    let e = f64x2.splat(5);
    let f = f64x2.splat(6);
    let g = f64x2.splat(7);
    let h = f64x2.splat(8);
    let i = f64x2.splat(9);
    let j = f64x2.splat(10);
    let k = f64x2.splat(11);
    let l = f64x2.splat(12);
    for (let n = 0; n < rounds; n++) {
        a = f64x2.add(f64x2.mul(a, x), y);
        b = f64x2.add(f64x2.mul(b, x), y);
        c = f64x2.add(f64x2.mul(c, x), y);
        d = f64x2.add(f64x2.mul(d, x), y);
        e = f64x2.add(f64x2.mul(e, x), y);
        f = f64x2.add(f64x2.mul(f, x), y);
        g = f64x2.add(f64x2.mul(g, x), y);
        h = f64x2.add(f64x2.mul(h, x), y);
        i = f64x2.add(f64x2.mul(i, x), y);
        j = f64x2.add(f64x2.mul(j, x), y);
        k = f64x2.add(f64x2.mul(k, x), y);
        l = f64x2.add(f64x2.mul(l, x), y);
    }
    a = f64x2.add(f64x2.add(a, b), f64x2.add(c, d));
    e = f64x2.add(f64x2.add(e, f), f64x2.add(g, h));
    i = f64x2.add(f64x2.add(i, j), f64x2.add(k, l));
    a = f64x2.add(f64x2.add(a, e), i);
    return f64x2.extract_lane(a, 0) + f64x2.extract_lane(a, 1);
}
