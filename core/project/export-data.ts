import { simplifyContours } from '../contour/simplify.ts';
import { simplifyBands } from '../contour/simplify-bands.ts';
import type { ExportFormat, ExportOptions } from '../contract/requests.ts';
import { toWire } from '../errors.ts';
import { dataFormat } from '../exchange/export-formats.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { codesOf, walkProbes } from './field-sheets.ts';
import { gridTie } from './frame-of.ts';
import { computeSurface } from './surface.ts';
import { buildView } from './view.ts';

/**
 * The project's data as one file's content. The surface goes along where the format has room for it and the lot has
 * one; it is not computed for a format without.
 * @throws AppError BAD_INPUT where the format wants what the project has not: a surface, a place on the map
 */
export async function exportData(
  store: ProjectStore,
  jobs: JobRunner,
  id: ExportFormat,
  options: ExportOptions,
  context: RequestContext,
): Promise<Uint8Array | string> {
  const view = buildView(store);
  const format = dataFormat(id);
  const surface = async () => {
    if (format.surface === 'not-used') return null;
    try {
      return await computeSurface(store, jobs, context, view);
    } catch (error) {
      const { code } = toWire(error);
      if (format.surface === 'needed' || (code !== 'BAD_INPUT' && code !== 'SINGULAR')) throw error;
      return null;
    }
  };
  const found = await surface();
  const { simplifyM = 0, ...writing } = options;
  const drawn =
    found === null
      ? null
      : {
          ...found,
          lines: simplifyContours(found.lines, simplifyM),
          bands: simplifyBands(found.bands, simplifyM),
        };
  const tie = gridTie(store);
  const out = { ...writing, tie, codes: codesOf(store) };
  const isStakeOut = options.rows === 'stake-out' && id === 'csv';
  const hasPlanned = view.probes.some((p) => p.state === 'planned');
  // A route through probes that are all driven already leads nobody anywhere.
  const hasWalk = (isStakeOut && view.probes.length > 0) || (id === 'gpx' && hasPlanned);
  if (!hasWalk) return format.write(view, drawn, out);
  const walk = await walkProbes(view, jobs, hasPlanned ? 'planned' : 'all', options.startM, context);
  const route = walk.probes.map((p) => p.id);
  return format.write(view, drawn, { ...out, route, walkM: walk.line.points });
}
