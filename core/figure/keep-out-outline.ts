import type { KeepOut, RingM } from '../contract/model.ts';
import { bufferLine, bufferPolygons } from '../geo/planar.ts';

/**
 * Rings of the ground a keep-out takes, its shape widened by its buffer, in project metres, holes included (to be
 * filled by the even-odd rule). Empty for a line or polygon with too few points to take any ground.
 */
export function keepOutRings(keepOut: KeepOut): RingM[] {
  const { points, shape, bufferM } = keepOut;
  if (shape === 'line') return points.length < 2 || bufferM <= 0 ? [] : bufferLine(points, bufferM).flat();
  if (points.length < 3) return [];
  return bufferM <= 0 ? [points] : bufferPolygons([[points]], bufferM).flat();
}
