import { ONE } from './constants';
import { exponentials, logPair } from './elementary';

/** out (four per point) = (y of point - y of cell)^2 + softening. */
function squareNorthings(ys: usize, size: usize, cells: usize, softening: f64, out: usize): void {
  const soft = f64x2.splat(softening);
  const cy0 = v128.load(cells, 32);
  const cy1 = v128.load(cells, 48);
  for (const end = ys + size; ys < end; ys += 8) {
    const y = v128.load_splat<f64>(ys);
    const dy0 = f64x2.sub(y, cy0);
    const dy1 = f64x2.sub(y, cy1);
    v128.store(out, f64x2.add(f64x2.mul(dy0, dy0), soft));
    v128.store(out, f64x2.add(f64x2.mul(dy1, dy1), soft), 16);
    out += 32;
  }
}

/**
 * Sums of weight and weight x value with weight 1 / (d^2 + softening), for cells in groups of four (x, x, x, x, y, y,
 * y, y). Four points share one division. `outWeights` and `outSums` get four numbers per group, `scratch` holds 4 n.
 * `isRow` promises that all cells have the same y. What leaves the range of the numbers shows in the sum of weights:
 * the caller looks.
 */
export function inverseSquareDistance(
  xs: usize,
  ys: usize,
  values: usize,
  n: i32,
  softening: f64,
  cells: usize,
  groups: i32,
  isRow: bool,
  outWeights: usize,
  outSums: usize,
  scratch: usize,
): void {
  const one = v128.load_splat<f64>(ONE);
  const full = (<usize>(n & ~3)) << 3;
  const all = (<usize>n) << 3;
  if (isRow) squareNorthings(ys, all, cells, softening, scratch);
  for (const end = cells + ((<usize>groups) << 6); cells < end; cells += 64) {
    if (!isRow) squareNorthings(ys, all, cells, softening, scratch);
    const cx0 = v128.load(cells);
    const cx1 = v128.load(cells, 16);
    let weights0 = f64x2.splat(0);
    let weights1 = f64x2.splat(0);
    let sums0 = f64x2.splat(0);
    let sums1 = f64x2.splat(0);
    let px = xs;
    let pv = values;
    let py = scratch;
    for (const stop = xs + full; px < stop; px += 32) {
      let x = v128.load_splat<f64>(px);
      let dx0 = f64x2.sub(x, cx0);
      let dx1 = f64x2.sub(x, cx1);
      const a0 = f64x2.add(f64x2.mul(dx0, dx0), v128.load(py));
      const a1 = f64x2.add(f64x2.mul(dx1, dx1), v128.load(py, 16));
      x = v128.load_splat<f64>(px, 8);
      dx0 = f64x2.sub(x, cx0);
      dx1 = f64x2.sub(x, cx1);
      const b0 = f64x2.add(f64x2.mul(dx0, dx0), v128.load(py, 32));
      const b1 = f64x2.add(f64x2.mul(dx1, dx1), v128.load(py, 48));
      const ab0 = f64x2.mul(a0, b0);
      const ab1 = f64x2.mul(a1, b1);
      const aPlusB0 = f64x2.add(a0, b0);
      const aPlusB1 = f64x2.add(a1, b1);
      x = v128.load_splat<f64>(px, 16);
      dx0 = f64x2.sub(x, cx0);
      dx1 = f64x2.sub(x, cx1);
      const c0 = f64x2.add(f64x2.mul(dx0, dx0), v128.load(py, 64));
      const c1 = f64x2.add(f64x2.mul(dx1, dx1), v128.load(py, 80));
      x = v128.load_splat<f64>(px, 24);
      dx0 = f64x2.sub(x, cx0);
      dx1 = f64x2.sub(x, cx1);
      const d0 = f64x2.add(f64x2.mul(dx0, dx0), v128.load(py, 96));
      const d1 = f64x2.add(f64x2.mul(dx1, dx1), v128.load(py, 112));
      const cd0 = f64x2.mul(c0, d0);
      const cd1 = f64x2.mul(c1, d1);
      const cPlusD0 = f64x2.add(c0, d0);
      const cPlusD1 = f64x2.add(c1, d1);
      const share0 = f64x2.div(one, f64x2.mul(ab0, cd0));
      const share1 = f64x2.div(one, f64x2.mul(ab1, cd1));
      weights0 = f64x2.add(
        weights0,
        f64x2.mul(f64x2.add(f64x2.mul(aPlusB0, cd0), f64x2.mul(cPlusD0, ab0)), share0),
      );
      weights1 = f64x2.add(
        weights1,
        f64x2.mul(f64x2.add(f64x2.mul(aPlusB1, cd1), f64x2.mul(cPlusD1, ab1)), share1),
      );
      x = v128.load_splat<f64>(pv);
      let left0 = f64x2.mul(x, b0);
      let left1 = f64x2.mul(x, b1);
      x = v128.load_splat<f64>(pv, 8);
      left0 = f64x2.add(left0, f64x2.mul(x, a0));
      left1 = f64x2.add(left1, f64x2.mul(x, a1));
      x = v128.load_splat<f64>(pv, 16);
      let right0 = f64x2.mul(x, d0);
      let right1 = f64x2.mul(x, d1);
      x = v128.load_splat<f64>(pv, 24);
      right0 = f64x2.add(right0, f64x2.mul(x, c0));
      right1 = f64x2.add(right1, f64x2.mul(x, c1));
      sums0 = f64x2.add(sums0, f64x2.mul(f64x2.add(f64x2.mul(left0, cd0), f64x2.mul(right0, ab0)), share0));
      sums1 = f64x2.add(sums1, f64x2.mul(f64x2.add(f64x2.mul(left1, cd1), f64x2.mul(right1, ab1)), share1));
      pv += 32;
      py += 128;
    }
    for (const stop = xs + all; px < stop; px += 8) {
      const x = v128.load_splat<f64>(px);
      const dx0 = f64x2.sub(x, cx0);
      const dx1 = f64x2.sub(x, cx1);
      const w0 = f64x2.div(one, f64x2.add(f64x2.mul(dx0, dx0), v128.load(py)));
      const w1 = f64x2.div(one, f64x2.add(f64x2.mul(dx1, dx1), v128.load(py, 16)));
      const v = v128.load_splat<f64>(pv);
      weights0 = f64x2.add(weights0, w0);
      weights1 = f64x2.add(weights1, w1);
      sums0 = f64x2.add(sums0, f64x2.mul(w0, v));
      sums1 = f64x2.add(sums1, f64x2.mul(w1, v));
      pv += 8;
      py += 32;
    }
    v128.store(outWeights, weights0);
    v128.store(outWeights, weights1, 16);
    v128.store(outSums, sums0);
    v128.store(outSums, sums1, 16);
    outWeights += 32;
    outSums += 32;
  }
}

/** The same with weight (d^2 + softening)^exponent; `scratch` holds 2 n + 2. */
export function inverseDistance(
  xs: usize,
  ys: usize,
  values: usize,
  n: i32,
  softening: f64,
  exponent: f64,
  cells: usize,
  groups: i32,
  outWeights: usize,
  outSums: usize,
  scratch: usize,
): void {
  const soft = f64x2.splat(softening);
  const power = f64x2.splat(exponent);
  const all = (<usize>n) << 3;
  for (const end = cells + ((<usize>groups) << 6); cells < end; cells += 64) {
    for (let half: usize = 0; half < 32; half += 16) {
      const cx = v128.load(cells + half);
      const cy = v128.load(cells + half, 32);
      for (let at: usize = 0; at < all; at += 8) {
        const dx = f64x2.sub(v128.load_splat<f64>(xs + at), cx);
        const dy = f64x2.sub(v128.load_splat<f64>(ys + at), cy);
        const a = f64x2.add(f64x2.mul(dx, dx), f64x2.add(f64x2.mul(dy, dy), soft));
        v128.store(scratch + at + at, f64x2.mul(power, logPair(a)));
      }
      exponentials(scratch, all + all);
      let weights = f64x2.splat(0);
      let sums = f64x2.splat(0);
      for (let at: usize = 0; at < all; at += 8) {
        const w = v128.load(scratch + at + at);
        weights = f64x2.add(weights, w);
        sums = f64x2.add(sums, f64x2.mul(w, v128.load_splat<f64>(values + at)));
      }
      v128.store(outWeights, weights);
      v128.store(outSums, sums);
      outWeights += 16;
      outSums += 16;
    }
  }
}
