/** All jobs of the program: what each takes and gives, and the functions that do it in a worker. */
import type { JobSet } from './job.ts';
import { type SurfaceTilesInput, type SurfaceTilesOutput, surfaceTiles } from './surface-tiles.ts';

export interface JobMap {
  'surface-tiles': { readonly input: SurfaceTilesInput; readonly output: SurfaceTilesOutput };
}

export const jobs: JobSet<JobMap> = {
  'surface-tiles': surfaceTiles,
};
