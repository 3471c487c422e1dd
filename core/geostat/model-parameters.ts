/** Between the one-structure model a person sees and the model that is computed with. */
import type { VariogramParameters } from '../contract/settings.ts';
import type { VariogramModel } from './models.ts';

export function toModel(p: VariogramParameters): VariogramModel {
  const { nugget, ...structure } = p;
  return { nugget, structures: [structure] };
}

/** A model without structure is shown as a spherical one of sill 0, so that every model has the same fields. */
export function fromModel(model: VariogramModel): VariogramParameters {
  const [structure] = model.structures;
  if (structure === undefined) return { kind: 'spherical', nugget: model.nugget, partialSill: 0, rangeM: 1 };
  return { nugget: model.nugget, ...structure };
}
