import type { ExportFormat } from '../contract/requests.ts';
import { toWire } from '../errors.ts';
import { writeSamplesCsv } from '../exchange/csv-out.ts';
import { writeGeoJson } from '../exchange/geojson-out.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { computeSurface } from './surface.ts';
import { buildView } from './view.ts';

/** The project's data as one file's text. Contours go along where the lot has a surface. */
export async function exportData(
  store: ProjectStore,
  jobs: JobRunner,
  format: ExportFormat,
  context: RequestContext,
): Promise<string> {
  const view = buildView(store);
  if (format === 'csv') return writeSamplesCsv(view);
  try {
    return writeGeoJson(view, await computeSurface(store, jobs, context, view));
  } catch (error) {
    const { code } = toWire(error);
    if (code !== 'BAD_INPUT' && code !== 'SINGULAR') throw error;
    return writeGeoJson(view, null);
  }
}
