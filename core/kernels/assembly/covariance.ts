import { HALF, ONE, THREE_HALVES } from './constants';
import { exponentials } from './elementary';

/** Bytes of one row of four numbers, one for each cell of a group. */
const ROW: usize = 32;

/**
 * Adds scale x correlation between `n` points and the cells of `groups` groups to `out`. Cells are x, x, x, x, y, y, y, y
 * per group, `out` is rows of four per point, `rows` rows per group; `scratch` holds two such columns.
 * Kinds: 0 spherical, 1 exponential, 2 Gaussian, 3 and 4 Matern of smoothness 1.5 and 2.5, 5 by the table at `table`.
 */
export function covariances(
  kind: i32,
  scale: f64,
  a: f64,
  b: f64,
  c: f64,
  d: f64,
  table: usize,
  xs: usize,
  ys: usize,
  n: i32,
  cells: usize,
  groups: i32,
  rows: i32,
  out: usize,
  scratch: usize,
): void {
  const size = <usize>n * ROW;
  const second = scratch + <usize>rows * ROW;
  const isUnturned = a === 0 && d === 0;
  for (let g: i32 = 0; g < groups; g++) {
    const x0 = v128.load(cells);
    const x1 = v128.load(cells, 16);
    const y0 = v128.load(cells, 32);
    const y1 = v128.load(cells, 48);
    if (isUnturned) squaredUnturned(b, c, xs, ys, x0, x1, y0, y1, scratch, size);
    else squaredTurned(a, b, c, d, xs, ys, x0, x1, y0, y1, scratch, size);
    if (kind === 0) addSpherical(scratch, out, size, scale);
    else if (kind === 5) {
      lookUp(scratch, size, table);
      addScaled(scratch, out, size, scale);
    } else {
      if (kind === 2) negate(scratch, size);
      else toNegativeRoot(scratch, size);
      if (kind > 2) maternPolynomial(scratch, second, size, kind === 4 ? 1.0 / 3.0 : 0.0);
      exponentials(scratch, size);
      if (kind > 2) multiply(scratch, second, size);
      addScaled(scratch, out, size, scale);
    }
    cells += 64;
    out += <usize>rows * ROW;
  }
}

function squaredUnturned(
  b: f64,
  c: f64,
  xs: usize,
  ys: usize,
  x0: v128,
  x1: v128,
  y0: v128,
  y1: v128,
  out: usize,
  size: usize,
): void {
  const pb = f64x2.splat(b);
  const pc = f64x2.splat(c);
  for (const end = out + size; out < end; out += ROW) {
    const px = v128.load_splat<f64>(xs);
    const py = v128.load_splat<f64>(ys);
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

function squaredTurned(
  a: f64,
  b: f64,
  c: f64,
  d: f64,
  xs: usize,
  ys: usize,
  x0: v128,
  x1: v128,
  y0: v128,
  y1: v128,
  out: usize,
  size: usize,
): void {
  const pa = f64x2.splat(a);
  const pb = f64x2.splat(b);
  const pc = f64x2.splat(c);
  const pd = f64x2.splat(d);
  for (const end = out + size; out < end; out += ROW) {
    const px = v128.load_splat<f64>(xs);
    const py = v128.load_splat<f64>(ys);
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

function addSpherical(squared: usize, out: usize, size: usize, scale: f64): void {
  const s = f64x2.splat(scale);
  const one = v128.load_splat<f64>(ONE);
  const half = v128.load_splat<f64>(HALF);
  const threeHalves = v128.load_splat<f64>(THREE_HALVES);
  for (const end = out + size; out < end; out += 16) {
    const u2 = v128.load(squared);
    const u = f64x2.sqrt(u2);
    const inside = f64x2.sub(one, f64x2.mul(u, f64x2.sub(threeHalves, f64x2.mul(half, u2))));
    const correlation = v128.and(inside, f64x2.lt(u, one));
    v128.store(out, f64x2.add(v128.load(out), f64x2.mul(s, correlation)));
    squared += 16;
  }
}

function negate(at: usize, size: usize): void {
  for (const end = at + size; at < end; at += 16) v128.store(at, f64x2.neg(v128.load(at)));
}

function toNegativeRoot(at: usize, size: usize): void {
  for (const end = at + size; at < end; at += 16) v128.store(at, f64x2.neg(f64x2.sqrt(v128.load(at))));
}

/** 1 + u + third x u^2 from -u. */
function maternPolynomial(at: usize, out: usize, size: usize, third: f64): void {
  const one = v128.load_splat<f64>(ONE);
  const q = f64x2.splat(third);
  for (const end = at + size; at < end; at += 16) {
    const u = f64x2.neg(v128.load(at));
    v128.store(out, f64x2.add(f64x2.add(one, u), f64x2.mul(f64x2.mul(u, u), q)));
    out += 16;
  }
}

function multiply(at: usize, by: usize, size: usize): void {
  for (const end = at + size; at < end; at += 16) {
    v128.store(at, f64x2.mul(v128.load(at), v128.load(by)));
    by += 16;
  }
}

function addScaled(at: usize, out: usize, size: usize, scale: f64): void {
  const s = f64x2.splat(scale);
  for (const end = at + size; at < end; at += 16) {
    v128.store(out, f64x2.add(v128.load(out), f64x2.mul(s, v128.load(at))));
    out += 16;
  }
}

/** Pieces of the table, its lowest one by the highest 14 bits of u^2, and numbers a piece. */
const PIECES: i32 = 536;
const LOWEST_PIECE: i32 = 4 * (1023 - 120);
const PIECE_BYTES: usize = 112;

/** Correlation from u^2 in place, by the polynomial of the piece it lies in. */
function lookUp(at: usize, size: usize, table: usize): void {
  for (const end = at + size; at < end; at += 8) {
    const piece = <i32>(load<u64>(at) >> 50) - LOWEST_PIECE;
    let correlation = piece < 0 ? 1.0 : 0.0;
    if (piece >= 0 && piece < PIECES) {
      const p = table + <usize>piece * PIECE_BYTES;
      const t = load<f64>(at) * load<f64>(p) - load<f64>(p, 8);
      correlation = load<f64>(p, 104);
      correlation = correlation * t + load<f64>(p, 96);
      correlation = correlation * t + load<f64>(p, 88);
      correlation = correlation * t + load<f64>(p, 80);
      correlation = correlation * t + load<f64>(p, 72);
      correlation = correlation * t + load<f64>(p, 64);
      correlation = correlation * t + load<f64>(p, 56);
      correlation = correlation * t + load<f64>(p, 48);
      correlation = correlation * t + load<f64>(p, 40);
      correlation = correlation * t + load<f64>(p, 32);
      correlation = correlation * t + load<f64>(p, 24);
      correlation = correlation * t + load<f64>(p, 16);
    }
    store<f64>(at, correlation);
  }
}
