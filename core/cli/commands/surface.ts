import { computeSurface } from '../../project/surface.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command, CommandContext, CommandOutput } from '../command.ts';
import { positional } from '../flags.ts';
import { surfaceOfTable } from '../surface-of-table.ts';

export const surfaceCommand: Command = {
  name: 'surface',
  usage:
    'surface PROJECT.gasplat | surface POINTS.csv --x COLUMN --y COLUMN --value COLUMN --at CELLS.csv --out FILE.csv',
  summary: "the lot's surface with cross-validation; or a surface of any table of points",
  positionals: { min: 1, max: 1 },
  options: {
    x: { type: 'string', value: 'COLUMN', help: 'column of the x coordinates, metres (also in the cells)' },
    y: { type: 'string', value: 'COLUMN', help: 'column of the y coordinates, metres' },
    value: { type: 'string', value: 'COLUMN', help: 'column of the values' },
    error: { type: 'string', value: 'COLUMN', help: "column of each value's own standard uncertainty" },
    at: { type: 'string', value: 'FILE', help: 'table of the places wanted' },
    out: {
      type: 'string',
      value: 'FILE',
      help: 'table to write: the cells with estimate and standard_error',
    },
    log: { type: 'boolean', help: 'krige the logarithms; results are means of the value, back-transformed' },
    method: { type: 'string', value: 'kriging|idw', help: 'kriging unless said' },
    model: {
      type: 'string',
      value: 'KIND,NUGGET,PSILL,RANGE|auto',
      help: 'spherical, exponential, gaussian, matern (smoothness as a fifth number); auto unless said',
    },
    anisotropy: {
      type: 'string',
      value: 'AZIMUTH,RATIO',
      help: 'of a given model: long axis in degrees clockwise from north (+y), short range over long',
    },
    drift: { type: 'string', value: 'linear', help: 'with a linear drift in x and y' },
    nearest: { type: 'string', value: 'N', help: 'only the nearest points for each place' },
    power: { type: 'string', value: 'P', help: 'of inverse distances (2)' },
    limit: { type: 'string', value: 'VALUE', help: 'adds a column with the probability of a value above it' },
    seed: { type: 'string', value: 'N', help: 'accepted for scripts; nothing in this command is random' },
  },
  run: (context) =>
    /\.gasplat$/i.test(positional(context, 0, 'A project or a table of points'))
      ? surfaceOfProject(context)
      : surfaceOfTable(context),
};

async function surfaceOfProject(context: CommandContext): Promise<CommandOutput> {
  const store = openProject(positional(context, 0, 'The project'), { actor: context.actor });
  try {
    const result = await computeSurface(store, context.jobs, {
      signal: context.signal,
      onProgress: context.progress,
    });
    const { grid, variogram, crossValidation } = result;
    const inside = result.estimateKBqPerM3.filter(Number.isFinite);
    const range = inside.length === 0 ? null : { low: Math.min(...inside), high: Math.max(...inside) };
    const summary = {
      method: result.method,
      grid,
      estimateKBqPerM3: range,
      variogram,
      crossValidation,
      boundedSampleIds: result.boundedSampleIds,
      depthCorrected: result.depthCorrected,
      notUsed: result.notUsed,
      warnings: result.warnings,
      seconds: result.seconds,
    };
    const text = [
      `${result.method} on ${inside.length} cells of ${grid.cellM} m, ${range?.low.toFixed(1)} to ${range?.high.toFixed(1)} kBq/m3`,
      ...(variogram?.reasons ?? []).filter((reason) => reason !== crossValidation.verdict),
      `Left out one at a time (n = ${crossValidation.n}): RMSE ${crossValidation.rmse.toFixed(2)} kBq/m3. ${crossValidation.verdict}`,
      ...result.notUsed.map((n) => `not used: ${n.reason}`),
      ...result.warnings.map((w) => `warning: ${w}`),
    ];
    return { json: summary, text: text.join('\n') };
  } finally {
    store.close();
  }
}
