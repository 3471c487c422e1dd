// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import type { PolygonM, PositionM } from '../contract/model.ts';

/** A point inside a polygon, in the middle of its widest part at one height; holes are passed by. */
export function innerPoint(polygon: PolygonM): PositionM {
  const corners = polygon.flat();
  const heights = [...new Set(corners.map(([, y]) => y))].sort((a, b) => a - b);
  let best = { play: -1, at: corners[0] ?? ([0, 0] as PositionM) };
  for (let k = 0; k + 1 < heights.length; k++) {
    const y = (heights[k]! + heights[k + 1]!) / 2;
    const crossings: number[] = [];
    for (const ring of polygon) {
      for (let i = 0; i < ring.length; i++) {
        const [ax, ay] = ring[i]!;
        const [bx, by] = ring[(i + 1) % ring.length]!;
        if (ay > y !== by > y) crossings.push(ax + ((bx - ax) * (y - ay)) / (by - ay));
      }
    }
    crossings.sort((a, b) => a - b);
    for (let c = 0; c + 1 < crossings.length; c += 2) {
      const play = Math.min(crossings[c + 1]! - crossings[c]!, heights[k + 1]! - heights[k]!);
      if (play > best.play) best = { play, at: [(crossings[c]! + crossings[c + 1]!) / 2, y] };
    }
  }
  return best.at;
}
