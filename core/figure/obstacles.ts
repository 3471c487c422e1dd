/** What already stands on the map, as boxes in millimetres, found quickly by a square grid. */
import type { PointMm, RectMm } from './scene.ts';

const CELL_MM = 8;

export function overlaps(a: RectMm, b: RectMm): boolean {
  return (
    a.xMm < b.xMm + b.widthMm &&
    b.xMm < a.xMm + a.widthMm &&
    a.yMm < b.yMm + b.heightMm &&
    b.yMm < a.yMm + a.heightMm
  );
}

export function contains(outer: RectMm, inner: RectMm): boolean {
  return (
    inner.xMm >= outer.xMm &&
    inner.yMm >= outer.yMm &&
    inner.xMm + inner.widthMm <= outer.xMm + outer.widthMm &&
    inner.yMm + inner.heightMm <= outer.yMm + outer.heightMm
  );
}

export function inflate(rect: RectMm, byMm: number): RectMm {
  return {
    xMm: rect.xMm - byMm,
    yMm: rect.yMm - byMm,
    widthMm: rect.widthMm + 2 * byMm,
    heightMm: rect.heightMm + 2 * byMm,
  };
}

export class Obstacles {
  readonly #cells = new Map<string, RectMm[]>();

  #cellsOf(rect: RectMm): string[] {
    const keys: string[] = [];
    const x1 = Math.floor((rect.xMm + rect.widthMm) / CELL_MM);
    const y1 = Math.floor((rect.yMm + rect.heightMm) / CELL_MM);
    for (let x = Math.floor(rect.xMm / CELL_MM); x <= x1; x++) {
      for (let y = Math.floor(rect.yMm / CELL_MM); y <= y1; y++) keys.push(`${x},${y}`);
    }
    return keys;
  }

  add(rect: RectMm): void {
    for (const key of this.#cellsOf(rect)) {
      const cell = this.#cells.get(key);
      if (cell === undefined) this.#cells.set(key, [rect]);
      else cell.push(rect);
    }
  }

  /** A line as a chain of small boxes. */
  addLine(from: PointMm, to: PointMm, halfWidthMm = 0.2): void {
    for (const rect of lineBoxes(from, to, halfWidthMm)) this.add(rect);
  }

  hits(rect: RectMm, except: RectMm | null = null): boolean {
    return this.#cellsOf(rect).some((key) =>
      (this.#cells.get(key) ?? []).some((other) => other !== except && overlaps(rect, other)),
    );
  }
}

/** Small boxes along a segment, so that a slanted line does not block its whole bounding box. */
export function lineBoxes(from: PointMm, to: PointMm, halfWidthMm: number): RectMm[] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const count = Math.max(1, Math.ceil(length / Math.max(0.6, 2 * halfWidthMm)));
  return Array.from({ length: count }, (_, i) => {
    const at = (t: number): PointMm => [from[0] + (to[0] - from[0]) * t, from[1] + (to[1] - from[1]) * t];
    const [ax, ay] = at(i / count);
    const [bx, by] = at((i + 1) / count);
    return {
      xMm: Math.min(ax, bx) - halfWidthMm,
      yMm: Math.min(ay, by) - halfWidthMm,
      widthMm: Math.abs(bx - ax) + 2 * halfWidthMm,
      heightMm: Math.abs(by - ay) + 2 * halfWidthMm,
    };
  });
}
