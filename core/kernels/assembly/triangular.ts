/**
 * A lower triangular factor in panels of four rows: panel p has columns 0..4p-1 as rows of four numbers, then sixteen
 * numbers for its own triangle: 1/d0, l10, l20, l30, 1/d1, l21, l31, -, 1/d2, l32, -, -, 1/d3, -, -, -.
 * Right sides come in groups of four: rows of four numbers.
 */

const ROW: usize = 32;
/** Rows finished before the ones below are brought up to date: what they read stays in the nearest cache. */
const CHUNK: i32 = 64;

/** Byte offset of panel p. */
function panelAt(p: i32): usize {
  return (<usize>(8 * p * (p + 1))) << 3;
}

/** acc (4 x 4) -= l (columns of four) x b (rows of four), `count` of them; an even number. */
function reduceTile(l: usize, b: usize, acc: usize, count: i32): void {
  let s00 = v128.load(acc);
  let s01 = v128.load(acc, 16);
  let s10 = v128.load(acc, 32);
  let s11 = v128.load(acc, 48);
  let s20 = v128.load(acc, 64);
  let s21 = v128.load(acc, 80);
  let s30 = v128.load(acc, 96);
  let s31 = v128.load(acc, 112);
  for (const end = b + <usize>count * ROW; b < end; b += 2 * ROW) {
    let y0 = v128.load(b);
    let y1 = v128.load(b, 16);
    let x = v128.load_splat<f64>(l);
    s00 = f64x2.sub(s00, f64x2.mul(x, y0));
    s01 = f64x2.sub(s01, f64x2.mul(x, y1));
    x = v128.load_splat<f64>(l, 8);
    s10 = f64x2.sub(s10, f64x2.mul(x, y0));
    s11 = f64x2.sub(s11, f64x2.mul(x, y1));
    x = v128.load_splat<f64>(l, 16);
    s20 = f64x2.sub(s20, f64x2.mul(x, y0));
    s21 = f64x2.sub(s21, f64x2.mul(x, y1));
    x = v128.load_splat<f64>(l, 24);
    s30 = f64x2.sub(s30, f64x2.mul(x, y0));
    s31 = f64x2.sub(s31, f64x2.mul(x, y1));
    y0 = v128.load(b, 32);
    y1 = v128.load(b, 48);
    x = v128.load_splat<f64>(l, 32);
    s00 = f64x2.sub(s00, f64x2.mul(x, y0));
    s01 = f64x2.sub(s01, f64x2.mul(x, y1));
    x = v128.load_splat<f64>(l, 40);
    s10 = f64x2.sub(s10, f64x2.mul(x, y0));
    s11 = f64x2.sub(s11, f64x2.mul(x, y1));
    x = v128.load_splat<f64>(l, 48);
    s20 = f64x2.sub(s20, f64x2.mul(x, y0));
    s21 = f64x2.sub(s21, f64x2.mul(x, y1));
    x = v128.load_splat<f64>(l, 56);
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
function finishTile(t: usize, acc: usize): void {
  for (const end = acc + ROW; acc < end; acc += 16) {
    const y0 = f64x2.mul(v128.load(acc), v128.load_splat<f64>(t));
    v128.store(acc, y0);
    let s = f64x2.sub(v128.load(acc, 32), f64x2.mul(v128.load_splat<f64>(t, 8), y0));
    const y1 = f64x2.mul(s, v128.load_splat<f64>(t, 32));
    v128.store(acc, y1, 32);
    s = f64x2.sub(v128.load(acc, 64), f64x2.mul(v128.load_splat<f64>(t, 16), y0));
    s = f64x2.sub(s, f64x2.mul(v128.load_splat<f64>(t, 40), y1));
    const y2 = f64x2.mul(s, v128.load_splat<f64>(t, 64));
    v128.store(acc, y2, 64);
    s = f64x2.sub(v128.load(acc, 96), f64x2.mul(v128.load_splat<f64>(t, 24), y0));
    s = f64x2.sub(s, f64x2.mul(v128.load_splat<f64>(t, 48), y1));
    s = f64x2.sub(s, f64x2.mul(v128.load_splat<f64>(t, 72), y2));
    v128.store(acc, f64x2.mul(s, v128.load_splat<f64>(t, 96)), 96);
  }
}

/**
 * Solves L Y = B in place for `groups` groups of four right sides of `rows` rows each, `stride` rows apart.
 * Rows from `rows` to `wanted` (both multiples of four) are only reduced: B2 - L2 Y.
 */
export function solvePanels(factor: usize, rows: i32, wanted: i32, b: usize, groups: i32, stride: i32): void {
  const span = <usize>stride * ROW;
  for (let from: i32 = 0; from < rows; from += CHUNK) {
    const to = min(from + CHUNK, rows);
    const start = <usize>from * ROW;
    for (let row = from; row < wanted; row += 4) {
      const panel = factor + panelAt(row >> 2);
      const count = min(row, to) - from;
      const isOwn = row < to;
      const triangle = panel + <usize>row * ROW;
      let group = b;
      for (let g: i32 = 0; g < groups; g++) {
        const acc = group + <usize>row * ROW;
        if (count > 0) reduceTile(panel + start, group + start, acc, count);
        if (isOwn) finishTile(triangle, acc);
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
export function factorPanels(factor: usize, rows: i32, diagonal: usize, tolerance: f64): i32 {
  for (let row: i32 = 0; row < rows; row += 4) {
    const panel = factor + panelAt(row >> 2);
    // Seen from the panels above, the four rows of this one are four right sides.
    for (let column: i32 = 0; column < row; column += 4) {
      const above = factor + panelAt(column >> 2);
      const acc = panel + <usize>column * ROW;
      reduceTile(above, panel, acc, column);
      finishTile(above + <usize>column * ROW, acc);
    }
    const own = panel + <usize>row * ROW;
    reduceTile(panel, panel, own, row);
    const failed = factorTriangle(own, diagonal + ((<usize>row) << 3), tolerance);
    if (failed >= 0) return row + failed;
  }
  return -1;
}

/** Turns the lower half of 4 x 4 rows into the sixteen numbers of a panel's triangle. */
function factorTriangle(at: usize, diagonal: usize, tolerance: f64): i32 {
  const a00 = load<f64>(at);
  if (!(a00 > tolerance * load<f64>(diagonal))) return 0;
  const i0 = 1 / Math.sqrt(a00);
  const l10 = load<f64>(at, 32) * i0;
  const a11 = load<f64>(at, 40) - l10 * l10;
  if (!(a11 > tolerance * load<f64>(diagonal, 8))) return 1;
  const i1 = 1 / Math.sqrt(a11);
  const l20 = load<f64>(at, 64) * i0;
  const l21 = (load<f64>(at, 72) - l20 * l10) * i1;
  const a22 = load<f64>(at, 80) - l20 * l20 - l21 * l21;
  if (!(a22 > tolerance * load<f64>(diagonal, 16))) return 2;
  const i2 = 1 / Math.sqrt(a22);
  const l30 = load<f64>(at, 96) * i0;
  const l31 = (load<f64>(at, 104) - l30 * l10) * i1;
  const l32 = (load<f64>(at, 112) - l30 * l20 - l31 * l21) * i2;
  const a33 = load<f64>(at, 120) - l30 * l30 - l31 * l31 - l32 * l32;
  if (!(a33 > tolerance * load<f64>(diagonal, 24))) return 3;
  store<f64>(at, i0);
  store<f64>(at, l10, 8);
  store<f64>(at, l20, 16);
  store<f64>(at, l30, 24);
  store<f64>(at, i1, 32);
  store<f64>(at, l21, 40);
  store<f64>(at, l31, 48);
  store<f64>(at, i2, 64);
  store<f64>(at, l32, 72);
  store<f64>(at, 1 / Math.sqrt(a33), 96);
  return -1;
}

/** out (groups x 4) = sum over rows of weight x b; for the estimate. */
export function project(weights: usize, rows: i32, b: usize, groups: i32, stride: i32, out: usize): void {
  const size = <usize>rows * ROW;
  const span = <usize>stride * ROW;
  for (let g: i32 = 0; g < groups; g++) {
    let s0 = f64x2.splat(0);
    let s1 = f64x2.splat(0);
    let w = weights;
    for (let at = b, end = b + size; at < end; at += ROW) {
      const x = v128.load_splat<f64>(w);
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
export function sumSquares(rows: i32, b: usize, groups: i32, stride: i32, out: usize): void {
  const size = <usize>rows * ROW;
  const span = <usize>stride * ROW;
  for (let g: i32 = 0; g < groups; g++) {
    for (let half: usize = 0; half < ROW; half += 16) {
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
