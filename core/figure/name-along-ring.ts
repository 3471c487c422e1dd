import { contains, lineBoxes, type Obstacles } from './obstacles.ts';
import type { PointMm, RectMm, TextNode } from './scene.ts';
import { INK, PAPER, SMALL_PT } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, measureText } from './text.ts';

/** A name along an edge of a ring, on the first edge and side where it lies free; none where there is no such place. */
export function nameAlongRing(
  ring: readonly PointMm[],
  text: string,
  within: RectMm,
  obstacles: Obstacles,
): TextNode | null {
  const width = measureText(text, 'italic', SMALL_PT);
  const capHeight = CAP_HEIGHT * SMALL_PT * MM_PER_PT;
  const edges = ring
    .map((from, i) => ({ from, to: ring[(i + 1) % ring.length] as PointMm }))
    .map((edge) => ({ ...edge, length: Math.hypot(edge.to[0] - edge.from[0], edge.to[1] - edge.from[1]) }))
    .filter((edge) => edge.length > 0)
    .sort((a, b) => b.length - a.length)
    .slice(0, 8);
  for (const { from, to, length } of edges) {
    const along: PointMm = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
    for (const offset of [-1, 1]) {
      for (const part of [0.5, 0.25, 0.75]) {
        const lift = offset * (capHeight / 2 + 0.9);
        const centre: PointMm = [
          from[0] + along[0] * length * part - along[1] * lift,
          from[1] + along[1] * length * part + along[0] * lift,
        ];
        const half = (width / 2) * 1.02;
        const boxes = lineBoxes(
          [centre[0] - along[0] * half, centre[1] - along[1] * half],
          [centre[0] + along[0] * half, centre[1] + along[1] * half],
          capHeight / 2 + 0.35,
        );
        if (boxes.some((box) => !contains(within, box) || obstacles.hits(box))) continue;
        for (const box of boxes) obstacles.add(box);
        let angle = (Math.atan2(along[1], along[0]) * 180) / Math.PI;
        if (angle > 90.01) angle -= 180;
        if (angle <= -89.99) angle += 180;
        const radians = (angle * Math.PI) / 180;
        return {
          kind: 'text',
          text,
          xMm: centre[0] - (Math.sin(radians) * capHeight) / 2,
          yMm: centre[1] + (Math.cos(radians) * capHeight) / 2,
          sizePt: SMALL_PT,
          face: 'italic',
          colour: INK,
          anchor: 'middle',
          rotationDeg: angle,
          halo: { colour: PAPER, widthMm: 0.35 },
          role: 'outline-label',
        };
      }
    }
  }
  return null;
}
