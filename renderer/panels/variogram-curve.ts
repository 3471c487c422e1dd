import type { VariogramParameters } from '../../core/contract/settings.ts';

/**
 * Semivariance for drawing the curve only; surfaces are worked out by the engine. Matern is drawn for the
 * half-integer smoothness nearest to the one given, whose form is elementary.
 */
export function semivarianceAt(model: VariogramParameters, lagM: number): number {
  if (lagM <= 0) return 0;
  const h = lagM / model.rangeM;
  return model.nugget + model.partialSill * (1 - correlationAt(model, h));
}

function correlationAt(model: VariogramParameters, h: number): number {
  switch (model.kind) {
    case 'spherical':
      return h >= 1 ? 0 : 1 - 1.5 * h + 0.5 * h ** 3;
    case 'exponential':
      return Math.exp(-h);
    case 'gaussian':
      return Math.exp(-h * h);
    case 'matern': {
      const smoothness = model.smoothness ?? 0.5;
      if (smoothness < 1) return Math.exp(-h);
      if (smoothness < 2) return (1 + h) * Math.exp(-h);
      return (1 + h + (h * h) / 3) * Math.exp(-h);
    }
  }
}
