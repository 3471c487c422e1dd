/** Hatching over a rectangle, to be clipped to an outline. */
import type { PathSegment, PointMm, RectMm } from './scene.ts';

/** Lines that rise from left to right. */
export function hatch(box: RectMm, spacingMm: number): PathSegment[] {
  const segments: PathSegment[] = [];
  const right = box.xMm + box.widthMm;
  const bottom = box.yMm + box.heightMm;
  for (let s = Math.ceil((box.xMm + box.yMm) / spacingMm) * spacingMm; s < right + bottom; s += spacingMm) {
    segments.push(['M', s - bottom, bottom], ['L', s - box.yMm, box.yMm]);
  }
  return segments;
}

export function boxAround(points: readonly PointMm[]): RectMm {
  const xs = points.map(([x]) => x);
  const ys = points.map(([, y]) => y);
  const [xMm, yMm] = [Math.min(...xs), Math.min(...ys)];
  return { xMm, yMm, widthMm: Math.max(...xs) - xMm, heightMm: Math.max(...ys) - yMm };
}

/** Hatching that falls from left to right, where that of keep-outs rises. */
export function backHatch(box: RectMm, spacingMm: number): PathSegment[] {
  const right = box.xMm + box.widthMm;
  return hatch(box, spacingMm).map((segment) => {
    const [command, x, y] = segment as readonly ['M' | 'L', number, number];
    return [command, box.xMm + right - x, y];
  });
}
