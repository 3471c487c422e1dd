/** Moving and resizing a part of a sheet, in millimetres; pure, so that it can be tested without a window. */
import type { PartPlace, SheetLayoutView, SheetPartView } from '../../core/contract/sheet.ts';

/** Which sides of the rectangle a pull takes along: both of an axis move it, one resizes it. */
export interface Grip {
  readonly left: boolean;
  readonly right: boolean;
  readonly top: boolean;
  readonly bottom: boolean;
}

export const MOVE: Grip = { left: true, right: true, top: true, bottom: true };

export const GRIPS: readonly (readonly [name: string, grip: Grip])[] = [
  ['nw', { left: true, right: false, top: true, bottom: false }],
  ['n', { left: false, right: false, top: true, bottom: false }],
  ['ne', { left: false, right: true, top: true, bottom: false }],
  ['e', { left: false, right: true, top: false, bottom: false }],
  ['se', { left: false, right: true, top: false, bottom: true }],
  ['s', { left: false, right: false, top: false, bottom: true }],
  ['sw', { left: true, right: false, top: false, bottom: true }],
  ['w', { left: true, right: false, top: false, bottom: false }],
];

const SNAP_MM = 1.5;

/** Lines that edges of a part fall onto: the margins, and the edges of the other parts of its page. */
export function snapLines(
  layout: SheetLayoutView,
  part: SheetPartView,
): { readonly xs: readonly number[]; readonly ys: readonly number[] } {
  const { marginMm, widthMm, heightMm } = layout;
  const others = layout.parts.filter((p) => p.id !== part.id && p.page === part.page && !p.hidden);
  return {
    xs: [marginMm, widthMm - marginMm, ...others.flatMap((p) => [p.xMm, p.xMm + p.widthMm])],
    ys: [marginMm, heightMm - marginMm, ...others.flatMap((p) => [p.yMm, p.yMm + p.heightMm])],
  };
}

/** What brings the nearest of the edges onto a line; 0 where none is near. */
function snapBy(edges: readonly number[], lines: readonly number[]): number {
  let best = 0;
  let least = SNAP_MM;
  for (const edge of edges) {
    for (const line of lines) {
      const off = line - edge;
      if (Math.abs(off) < least) {
        least = Math.abs(off);
        best = off;
      }
    }
  }
  return best;
}

interface Axis {
  readonly from: number;
  readonly size: number;
  readonly least: number;
  readonly edge: number;
  readonly whole: number;
}

function pullAxis(
  axis: Axis,
  by: number,
  lower: boolean,
  upper: boolean,
  lines: readonly number[] | null,
): readonly [from: number, size: number] {
  let [from, to] = [axis.from, axis.from + axis.size];
  if (!lower && !upper) return [from, axis.size];
  const snap = (edges: readonly number[]) => (lines === null ? 0 : snapBy(edges, lines));
  const last = axis.whole - axis.edge;
  if (lower && upper) {
    const moved = by + snap([from + by, to + by]);
    from = Math.min(Math.max(axis.edge, from + moved), last - axis.size);
    return [from, axis.size];
  }
  if (lower) {
    const wanted = from + by + snap([from + by]);
    from = Math.max(axis.edge, Math.min(wanted, to - axis.least));
  } else {
    const wanted = to + by + snap([to + by]);
    to = Math.min(last, Math.max(wanted, from + axis.least));
  }
  return [from, to - from];
}

/** To the tenth of a millimetre: finer than a hand places, and short to read. */
function tenth(value: number): number {
  return Math.round(value * 10) / 10;
}

/** The part after a pull by (dx, dy) at a grip: on the paper, no smaller than it may be, snapped where asked. */
export function pullPart(
  layout: SheetLayoutView,
  part: SheetPartView,
  grip: Grip,
  [dxMm, dyMm]: readonly [number, number],
  snapping: boolean,
): PartPlace {
  const lines = snapping ? snapLines(layout, part) : null;
  const { edgeMm: edge } = layout;
  const [xMm, widthMm] = pullAxis(
    { from: part.xMm, size: part.widthMm, least: part.leastWidthMm, edge, whole: layout.widthMm },
    dxMm,
    grip.left,
    grip.right,
    lines?.xs ?? null,
  );
  const [yMm, heightMm] = pullAxis(
    { from: part.yMm, size: part.heightMm, least: part.leastHeightMm, edge, whole: layout.heightMm },
    dyMm,
    grip.top,
    grip.bottom,
    lines?.ys ?? null,
  );
  return {
    page: part.page,
    xMm: tenth(xMm),
    yMm: tenth(yMm),
    widthMm: tenth(widthMm),
    heightMm: tenth(heightMm),
  };
}
