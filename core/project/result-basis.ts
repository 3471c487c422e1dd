import { createHash } from 'node:crypto';
import type { ResultBasis } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { classInputs } from './classify-lot.ts';
import { planSurface, type SurfaceBasis } from './plan-surface.ts';

/** Names what surface and class are worked out from; where there can be none, the reason stands in its place. */
export function basisOf(view: SurfaceBasis): ResultBasis {
  return {
    surface: orReason(() => planSurface(view).key),
    class: orReason(() =>
      createHash('sha256')
        .update(JSON.stringify(classInputs(view)))
        .digest('hex'),
    ),
  };
}

function orReason(find: () => string): string {
  try {
    return find();
  } catch (error) {
    if (error instanceof AppError) return error.message;
    throw error;
  }
}
