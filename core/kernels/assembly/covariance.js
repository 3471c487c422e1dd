"use strict";
Object.defineProperty(exports, "__esModule", { value: true });
exports.covariances = covariances;
const constants_1 = require("./constants");
const elementary_1 = require("./elementary");
/** Bytes of one row of four numbers, one for each cell of a group. */
const ROW = 32;
/**
 * Adds scale x correlation between `n` points and the cells of `groups` groups to `out`. Cells are x, x, x, x, y, y, y, y
 * per group, `out` is rows of four per point, `rows` rows per group; `scratch` holds two such columns.
 * Kinds: 0 spherical, 1 exponential, 2 Gaussian, 3 and 4 Matern of smoothness 1.5 and 2.5.
 */
function covariances(kind, scale, a, b, c, d, xs, ys, n, cells, groups, rows, out, scratch) {
    const size = n * ROW;
    const second = scratch + rows * ROW;
    const isUnturned = a === 0 && d === 0;
    for (let g = 0; g < groups; g++) {
        const x0 = v128.load(cells);
        const x1 = v128.load(cells, 16);
        const y0 = v128.load(cells, 32);
        const y1 = v128.load(cells, 48);
        if (isUnturned)
            squaredUnturned(b, c, xs, ys, x0, x1, y0, y1, scratch, size);
        else
            squaredTurned(a, b, c, d, xs, ys, x0, x1, y0, y1, scratch, size);
        if (kind === 0)
            addSpherical(scratch, out, size, scale);
        else {
            if (kind === 2)
                negate(scratch, size);
            else
                toNegativeRoot(scratch, size);
            if (kind > 2)
                maternPolynomial(scratch, second, size, kind === 4 ? 1.0 / 3.0 : 0.0);
            (0, elementary_1.exponentials)(scratch, size);
            if (kind > 2)
                multiply(scratch, second, size);
            addScaled(scratch, out, size, scale);
        }
        cells += 64;
        out += rows * ROW;
    }
}
function squaredUnturned(b, c, xs, ys, x0, x1, y0, y1, out, size) {
    const pb = f64x2.splat(b);
    const pc = f64x2.splat(c);
    for (const end = out + size; out < end; out += ROW) {
        const px = v128.load_splat(xs);
        const py = v128.load_splat(ys);
        const major0 = f64x2.mul(pb, f64x2.sub(py, y0));
        const major1 = f64x2.mul(pb, f64x2.sub(py, y1));
        const minor0 = f64x2.mul(pc, f64x2.sub(px, x0));
        const minor1 = f64x2.mul(pc, f64x2.sub(px, x1));
        v128.store(out, f64x2.add(f64x2.mul(major0, major0), f64x2.mul(minor0, minor0)));
        v128.store(out, f64x2.add(f64x2.mul(major1, major1), f64x2.mul(minor1, minor1)), 16);
        xs += 8;
        ys += 8;
    }
}
function squaredTurned(a, b, c, d, xs, ys, x0, x1, y0, y1, out, size) {
    const pa = f64x2.splat(a);
    const pb = f64x2.splat(b);
    const pc = f64x2.splat(c);
    const pd = f64x2.splat(d);
    for (const end = out + size; out < end; out += ROW) {
        const px = v128.load_splat(xs);
        const py = v128.load_splat(ys);
        const dx0 = f64x2.sub(px, x0);
        const dx1 = f64x2.sub(px, x1);
        const dy0 = f64x2.sub(py, y0);
        const dy1 = f64x2.sub(py, y1);
        const major0 = f64x2.add(f64x2.mul(pa, dx0), f64x2.mul(pb, dy0));
        const major1 = f64x2.add(f64x2.mul(pa, dx1), f64x2.mul(pb, dy1));
        const minor0 = f64x2.add(f64x2.mul(pc, dx0), f64x2.mul(pd, dy0));
        const minor1 = f64x2.add(f64x2.mul(pc, dx1), f64x2.mul(pd, dy1));
        v128.store(out, f64x2.add(f64x2.mul(major0, major0), f64x2.mul(minor0, minor0)));
        v128.store(out, f64x2.add(f64x2.mul(major1, major1), f64x2.mul(minor1, minor1)), 16);
        xs += 8;
        ys += 8;
    }
}
function addSpherical(squared, out, size, scale) {
    const s = f64x2.splat(scale);
    const one = v128.load_splat(constants_1.ONE);
    const half = v128.load_splat(constants_1.HALF);
    const threeHalves = v128.load_splat(constants_1.THREE_HALVES);
    for (const end = out + size; out < end; out += 16) {
        const u2 = v128.load(squared);
        const u = f64x2.sqrt(u2);
        const inside = f64x2.sub(one, f64x2.mul(u, f64x2.sub(threeHalves, f64x2.mul(half, u2))));
        const correlation = v128.and(inside, f64x2.lt(u, one));
        v128.store(out, f64x2.add(v128.load(out), f64x2.mul(s, correlation)));
        squared += 16;
    }
}
function negate(at, size) {
    for (const end = at + size; at < end; at += 16)
        v128.store(at, f64x2.neg(v128.load(at)));
}
function toNegativeRoot(at, size) {
    for (const end = at + size; at < end; at += 16)
        v128.store(at, f64x2.neg(f64x2.sqrt(v128.load(at))));
}
/** 1 + u + third x u^2 from -u. */
function maternPolynomial(at, out, size, third) {
    const one = v128.load_splat(constants_1.ONE);
    const q = f64x2.splat(third);
    for (const end = at + size; at < end; at += 16) {
        const u = f64x2.neg(v128.load(at));
        v128.store(out, f64x2.add(f64x2.add(one, u), f64x2.mul(f64x2.mul(u, u), q)));
        out += 16;
    }
}
function multiply(at, by, size) {
    for (const end = at + size; at < end; at += 16) {
        v128.store(at, f64x2.mul(v128.load(at), v128.load(by)));
        by += 16;
    }
}
function addScaled(at, out, size, scale) {
    const s = f64x2.splat(scale);
    for (const end = at + size; at < end; at += 16) {
        v128.store(out, f64x2.add(v128.load(out), f64x2.mul(s, v128.load(at))));
        out += 16;
    }
}
