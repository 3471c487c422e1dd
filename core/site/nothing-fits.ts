/** Why a footprint goes nowhere on a lot: what has to be given up before it does. */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { polygonsArea } from '../geo/planar.ts';
import type { JobContext } from '../jobs/job.ts';
import { findAnyPose, type TurnChoice } from './candidate-poses.ts';
import { convexHull } from './feasible-shifts.ts';

export interface NothingFits {
  readonly reason: 'too-large' | 'too-long' | 'too-wide' | 'shape' | 'turn' | 'setback' | 'keep-outs';
  readonly message: string;
  /** False where places were looked for and none was found; true where sizes alone rule it out. */
  readonly proven: boolean;
}

export interface GroundLayers {
  readonly lot: RingM;
  /** The lot without its setback strip, keep-outs still in it. */
  readonly withinSetback: readonly PolygonM[];
  /** Where a building may stand. */
  readonly ground: readonly PolygonM[];
}

/** Called once no place was found on `layers.ground`. */
export function explainNothingFits(
  footprint: RingM,
  layers: GroundLayers,
  choice: TurnChoice,
  context: JobContext,
): NothingFits {
  const own = extentsOf(footprint);
  const lot = extentsOf(layers.lot);
  const m = (value: number) => `${value.toFixed(1)} m`;
  const areaM2 = polygonsArea([[footprint]]);
  const lotM2 = polygonsArea([[layers.lot]]);
  const proven = (reason: NothingFits['reason'], message: string): NothingFits => ({
    reason,
    message,
    proven: true,
  });
  if (areaM2 > lotM2)
    return proven(
      'too-large',
      `The footprint covers ${areaM2.toFixed(0)} m², the whole lot ${lotM2.toFixed(0)} m².`,
    );
  if (own.lengthM > lot.lengthM)
    return proven(
      'too-long',
      `The footprint is ${m(own.lengthM)} from end to end; the lot measures ${m(lot.lengthM)} at its longest.`,
    );
  if (own.widthM > lot.widthM)
    return proven(
      'too-wide',
      `The footprint is ${m(own.widthM)} wide at its narrowest; the lot is ${m(lot.widthM)}.`,
    );
  const free = { mayTurn: true, mayMirror: true };
  if (!(choice.mayTurn && choice.mayMirror) && findAnyPose(footprint, layers.ground, free, context) !== null)
    return {
      reason: 'turn',
      message: 'The footprint fits, but only turned or mirrored in a way that is not allowed here.',
      proven: false,
    };
  if (findAnyPose(footprint, [[layers.lot]], free, context) === null)
    return {
      reason: 'shape',
      message: `No place was found for the footprint (${m(own.lengthM)} by ${m(own.widthM)}) on the lot even without setback and keep-outs: their shapes do not go together.`,
      proven: false,
    };
  if (findAnyPose(footprint, layers.withinSetback, free, context) === null) {
    const inside = extentsOf(layers.withinSetback.flatMap((polygon) => polygon[0] ?? []));
    return {
      reason: 'setback',
      message: `The footprint (${m(own.lengthM)} by ${m(own.widthM)}) fits on the lot but not within its setback, which leaves ground of at most ${m(inside.lengthM)} by ${m(inside.widthM)}.`,
      proven: false,
    };
  }
  const takenM2 = polygonsArea(layers.withinSetback) - polygonsArea(layers.ground);
  return {
    reason: 'keep-outs',
    message: `The footprint fits within the setback, but not beside the keep-outs and structures: they take ${takenM2.toFixed(0)} m² and cut up the rest.`,
    proven: false,
  };
}

/** Largest distance between two corners, and the narrowest strip between parallel lines that holds the ring. */
export function extentsOf(ring: RingM): { readonly lengthM: number; readonly widthM: number } {
  const hull = convexHull(ring);
  let [lengthM, widthM] = [0, Number.POSITIVE_INFINITY];
  hull.forEach((a, i) => {
    const b = hull[(i + 1) % hull.length] as PositionM;
    const edge = Math.hypot(b[0] - a[0], b[1] - a[1]);
    let far = 0;
    for (const p of hull) {
      lengthM = Math.max(lengthM, Math.hypot(p[0] - a[0], p[1] - a[1]));
      far = Math.max(far, Math.abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / edge);
    }
    widthM = Math.min(widthM, far);
  });
  return { lengthM, widthM: Number.isFinite(widthM) ? widthM : 0 };
}
