import { AppError } from '../errors.ts';

/**
 * Shape factors F (m) of k = mu Q / (F dP): how a cavity of that form draws from the ground round it. Uniform ground
 * without directions is assumed in all.
 */
export type CavityShape =
  | {
      readonly kind: 'cylinder';
      readonly lengthM: number;
      readonly diameterM: number;
      readonly centreDepthM: number;
    }
  | { readonly kind: 'sphere'; readonly radiusM: number }
  | { readonly kind: 'disc'; readonly radiusM: number }
  /** As calibrated for the probe, with its source. */
  | { readonly kind: 'stated'; readonly shapeFactorM: number };

/**
 * Cylinder: 2 pi L / ln((2L/d) sqrt((4D - L)/(4D + L))), a line sink with its image above the surface (Damkjaer and
 * Korsbech 1992, from memory; derived anew in the test). Sphere 4 pi r, disc flush at a wall 4 r (from memory).
 * @throws AppError BAD_INPUT for a cylinder too stubby for the formula (L under 2 d) or reaching the surface
 */
export function shapeFactorM(shape: CavityShape): number {
  switch (shape.kind) {
    case 'stated':
      return positive(shape.shapeFactorM, 'shapeFactorM');
    case 'sphere':
      return 4 * Math.PI * positive(shape.radiusM, 'radiusM');
    case 'disc':
      return 4 * positive(shape.radiusM, 'radiusM');
    case 'cylinder': {
      const { lengthM: l, diameterM: d, centreDepthM: depth } = shape;
      positive(d, 'diameterM');
      if (!(l >= 2 * d && depth > l / 2))
        throw new AppError(
          'BAD_INPUT',
          `A cavity of ${l} m length, ${d} m width and ${depth} m depth of its centre is too stubby or too shallow for the formula`,
          { field: 'lengthM' },
        );
      return (2 * Math.PI * l) / Math.log(((2 * l) / d) * Math.sqrt((4 * depth - l) / (4 * depth + l)));
    }
  }
}

function positive(value: number, field: string): number {
  if (value > 0 && Number.isFinite(value)) return value;
  throw new AppError('BAD_INPUT', `${field} must be over 0, not ${value}`, { field });
}
