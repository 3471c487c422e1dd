"use strict";
/**
 * A lower triangular factor in panels of four rows: panel p has columns 0..4p-1 as rows of four numbers, then sixteen
 * numbers for its own triangle: 1/d0, l10, l20, l30, 1/d1, l21, l31, -, 1/d2, l32, -, -, 1/d3, -, -, -.
 * Right sides come in groups of four: rows of four numbers.
 */
Object.defineProperty(exports, "__esModule", { value: true });
exports.solvePanels = solvePanels;
exports.factorPanels = factorPanels;
exports.project = project;
exports.sumSquares = sumSquares;
const ROW = 32;
/** Rows finished before the ones below are brought up to date: what they read stays in the nearest cache. */
const CHUNK = 64;
/** Byte offset of panel p. */
function panelAt(p) {
    return (8 * p * (p + 1)) << 3;
}
/** acc (4 x 4) -= l (columns of four) x b (rows of four), `count` of them; an even number. */
function reduceTile(l, b, acc, count) {
    let s00 = v128.load(acc);
    let s01 = v128.load(acc, 16);
    let s10 = v128.load(acc, 32);
    let s11 = v128.load(acc, 48);
    let s20 = v128.load(acc, 64);
    let s21 = v128.load(acc, 80);
    let s30 = v128.load(acc, 96);
    let s31 = v128.load(acc, 112);
    for (const end = b + count * ROW; b < end; b += 2 * ROW) {
        let y0 = v128.load(b);
        let y1 = v128.load(b, 16);
        let x = v128.load_splat(l);
        s00 = f64x2.sub(s00, f64x2.mul(x, y0));
        s01 = f64x2.sub(s01, f64x2.mul(x, y1));
        x = v128.load_splat(l, 8);
        s10 = f64x2.sub(s10, f64x2.mul(x, y0));
        s11 = f64x2.sub(s11, f64x2.mul(x, y1));
        x = v128.load_splat(l, 16);
        s20 = f64x2.sub(s20, f64x2.mul(x, y0));
        s21 = f64x2.sub(s21, f64x2.mul(x, y1));
        x = v128.load_splat(l, 24);
        s30 = f64x2.sub(s30, f64x2.mul(x, y0));
        s31 = f64x2.sub(s31, f64x2.mul(x, y1));
        y0 = v128.load(b, 32);
        y1 = v128.load(b, 48);
        x = v128.load_splat(l, 32);
        s00 = f64x2.sub(s00, f64x2.mul(x, y0));
        s01 = f64x2.sub(s01, f64x2.mul(x, y1));
        x = v128.load_splat(l, 40);
        s10 = f64x2.sub(s10, f64x2.mul(x, y0));
        s11 = f64x2.sub(s11, f64x2.mul(x, y1));
        x = v128.load_splat(l, 48);
        s20 = f64x2.sub(s20, f64x2.mul(x, y0));
        s21 = f64x2.sub(s21, f64x2.mul(x, y1));
        x = v128.load_splat(l, 56);
        s30 = f64x2.sub(s30, f64x2.mul(x, y0));
        s31 = f64x2.sub(s31, f64x2.mul(x, y1));
        l += 2 * ROW;
    }
    v128.store(acc, s00);
    v128.store(acc, s01, 16);
    v128.store(acc, s10, 32);
    v128.store(acc, s11, 48);
    v128.store(acc, s20, 64);
    v128.store(acc, s21, 80);
    v128.store(acc, s30, 96);
    v128.store(acc, s31, 112);
}
/** Solves the 4 x 4 triangle at `t` for the four rows at `acc`, two cells at a time. */
function finishTile(t, acc) {
    for (const end = acc + ROW; acc < end; acc += 16) {
        const y0 = f64x2.mul(v128.load(acc), v128.load_splat(t));
        v128.store(acc, y0);
        let s = f64x2.sub(v128.load(acc, 32), f64x2.mul(v128.load_splat(t, 8), y0));
        const y1 = f64x2.mul(s, v128.load_splat(t, 32));
        v128.store(acc, y1, 32);
        s = f64x2.sub(v128.load(acc, 64), f64x2.mul(v128.load_splat(t, 16), y0));
        s = f64x2.sub(s, f64x2.mul(v128.load_splat(t, 40), y1));
        const y2 = f64x2.mul(s, v128.load_splat(t, 64));
        v128.store(acc, y2, 64);
        s = f64x2.sub(v128.load(acc, 96), f64x2.mul(v128.load_splat(t, 24), y0));
        s = f64x2.sub(s, f64x2.mul(v128.load_splat(t, 48), y1));
        s = f64x2.sub(s, f64x2.mul(v128.load_splat(t, 72), y2));
        v128.store(acc, f64x2.mul(s, v128.load_splat(t, 96)), 96);
    }
}
/**
 * Solves L Y = B in place for `groups` groups of four right sides of `rows` rows each, `stride` rows apart.
 * Rows from `rows` to `wanted` (both multiples of four) are only reduced: B2 - L2 Y.
 */
function solvePanels(factor, rows, wanted, b, groups, stride) {
    const span = stride * ROW;
    for (let from = 0; from < rows; from += CHUNK) {
        const to = min(from + CHUNK, rows);
        const start = from * ROW;
        for (let row = from; row < wanted; row += 4) {
            const panel = factor + panelAt(row >> 2);
            const count = min(row, to) - from;
            const isOwn = row < to;
            const triangle = panel + row * ROW;
            let group = b;
            for (let g = 0; g < groups; g++) {
                const acc = group + row * ROW;
                if (count > 0)
                    reduceTile(panel + start, group + start, acc, count);
                if (isOwn)
                    finishTile(triangle, acc);
                group += span;
            }
        }
    }
}
/**
 * Cholesky factor in place, from panels of a symmetric matrix whose own triangles are four rows of four.
 * @param diagonal the matrix's diagonal before
 * @returns -1, or the first row whose pivot is not above tolerance x its diagonal
 */
function factorPanels(factor, rows, diagonal, tolerance) {
    for (let row = 0; row < rows; row += 4) {
        const panel = factor + panelAt(row >> 2);
        // Seen from the panels above, the four rows of this one are four right sides.
        for (let column = 0; column < row; column += 4) {
            const above = factor + panelAt(column >> 2);
            const acc = panel + column * ROW;
            reduceTile(above, panel, acc, column);
            finishTile(above + column * ROW, acc);
        }
        const own = panel + row * ROW;
        reduceTile(panel, panel, own, row);
        const failed = factorTriangle(own, diagonal + (row << 3), tolerance);
        if (failed >= 0)
            return row + failed;
    }
    return -1;
}
/** Turns the lower half of 4 x 4 rows into the sixteen numbers of a panel's triangle. */
function factorTriangle(at, diagonal, tolerance) {
    const a00 = load(at);
    if (!(a00 > tolerance * load(diagonal)))
        return 0;
    const i0 = 1 / Math.sqrt(a00);
    const l10 = load(at, 32) * i0;
    const a11 = load(at, 40) - l10 * l10;
    if (!(a11 > tolerance * load(diagonal, 8)))
        return 1;
    const i1 = 1 / Math.sqrt(a11);
    const l20 = load(at, 64) * i0;
    const l21 = (load(at, 72) - l20 * l10) * i1;
    const a22 = load(at, 80) - l20 * l20 - l21 * l21;
    if (!(a22 > tolerance * load(diagonal, 16)))
        return 2;
    const i2 = 1 / Math.sqrt(a22);
    const l30 = load(at, 96) * i0;
    const l31 = (load(at, 104) - l30 * l10) * i1;
    const l32 = (load(at, 112) - l30 * l20 - l31 * l21) * i2;
    const a33 = load(at, 120) - l30 * l30 - l31 * l31 - l32 * l32;
    if (!(a33 > tolerance * load(diagonal, 24)))
        return 3;
    store(at, i0);
    store(at, l10, 8);
    store(at, l20, 16);
    store(at, l30, 24);
    store(at, i1, 32);
    store(at, l21, 40);
    store(at, l31, 48);
    store(at, i2, 64);
    store(at, l32, 72);
    store(at, 1 / Math.sqrt(a33), 96);
    return -1;
}
/** out (groups x 4) = sum over rows of weight x b; for the estimate. */
function project(weights, rows, b, groups, stride, out) {
    const size = rows * ROW;
    const span = stride * ROW;
    for (let g = 0; g < groups; g++) {
        let s0 = f64x2.splat(0);
        let s1 = f64x2.splat(0);
        let w = weights;
        for (let at = b, end = b + size; at < end; at += ROW) {
            const x = v128.load_splat(w);
            s0 = f64x2.add(s0, f64x2.mul(x, v128.load(at)));
            s1 = f64x2.add(s1, f64x2.mul(x, v128.load(at, 16)));
            w += 8;
        }
        v128.store(out, s0);
        v128.store(out, s1, 16);
        out += 32;
        b += span;
    }
}
/** out (groups x 4) = sum over rows of b squared; `rows` is a multiple of four, summed in four strands. */
function sumSquares(rows, b, groups, stride, out) {
    const size = rows * ROW;
    const span = stride * ROW;
    for (let g = 0; g < groups; g++) {
        for (let half = 0; half < ROW; half += 16) {
            let s0 = f64x2.splat(0);
            let s1 = f64x2.splat(0);
            let s2 = f64x2.splat(0);
            let s3 = f64x2.splat(0);
            for (let at = b + half, end = at + size; at < end; at += 4 * ROW) {
                const v0 = v128.load(at);
                const v1 = v128.load(at, 32);
                const v2 = v128.load(at, 64);
                const v3 = v128.load(at, 96);
                s0 = f64x2.add(s0, f64x2.mul(v0, v0));
                s1 = f64x2.add(s1, f64x2.mul(v1, v1));
                s2 = f64x2.add(s2, f64x2.mul(v2, v2));
                s3 = f64x2.add(s3, f64x2.mul(v3, v3));
            }
            v128.store(out, f64x2.add(f64x2.add(s0, s1), f64x2.add(s2, s3)));
            out += 16;
        }
        b += span;
    }
}
