/** `gasplat surface` on bare tables, so that anyone can set it beside another library. */
import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { AppError } from '../errors.ts';
import { csvLine } from '../exchange/csv-out.ts';
import type { VariogramModel } from '../geostat/models.ts';
import type { PointSet } from '../geostat/points.ts';
import { writeWhole } from '../project/files.ts';
import { type FoundModel, findModel, type WantedSurface } from '../project/find-model.ts';
import { type CsvTable, readTable } from '../survey/csv-table.ts';
import { parseNumber } from '../survey/parse-cell.ts';
import type { CommandContext, CommandOutput } from './command.ts';
import { choice, numberFlag, positional, required, text, usage } from './flags.ts';

const KINDS = ['spherical', 'exponential', 'gaussian', 'matern'] as const;

const RESULTS: readonly string[] = ['estimate', 'standard_error'];

export async function surfaceOfTable(context: CommandContext): Promise<CommandOutput> {
  const pointsTable = open(positional(context, 0, 'A table of points'));
  const cellsTable = open(required(context, 'at'));
  const out = required(context, 'out');
  const columns = { x: required(context, 'x'), y: required(context, 'y'), value: required(context, 'value') };
  const want = wanted(context);
  const limit = numberFlag(context, 'limit');
  refuseTakenNames(cellsTable, limit === undefined ? RESULTS : [...RESULTS, 'probability']);
  const points = readPoints(pointsTable, columns, text(context, 'error'));
  if (want.method === 'kriging' && want.transform === 'log') refuseForLog(pointsTable, columns.value, points);
  const cellsXy = interleave(numbers(cellsTable, columns.x), numbers(cellsTable, columns.y));
  const run = { signal: context.signal, onProgress: context.progress };
  const model = await findModel(context.jobs, points, want, run);
  const result = await context.jobs.run(
    'surface-tiles',
    { points: model.points, cellsXy, surface: model.surface, ...(limit === undefined ? {} : { limit }) },
    run,
  );
  const added = limit === undefined ? RESULTS : [...RESULTS, 'probability'];
  const head = csvLine([...cellsTable.columns.map((c) => c.name), ...added]);
  const lines = cellsTable.rows.map(({ cells }, i) =>
    csvLine([
      ...cells,
      numberText(result.estimate[i]),
      numberText(result.standardError[i]),
      ...(limit === undefined ? [] : [numberText(result.exceedance?.[i])]),
    ]),
  );
  writeWhole(out, [head, ...lines].join(''));
  return { json: summary(model, points, out), text: summaryText(model, out, cellsTable.rows.length) };
}

function open(path: string): CsvTable {
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(path);
  } catch (cause) {
    throw new AppError('BAD_INPUT', `${path} cannot be read.`, { file: basename(path) }, cause);
  }
  const table = readTable(bytes, basename(path));
  const fault = table.issues.find((issue) => issue.severity === 'error');
  if (fault === undefined) return table;
  throw new AppError('BAD_INPUT', fault.message, {
    file: table.file,
    ...(fault.row === null ? {} : { row: fault.row }),
    ...(fault.field === null ? {} : { field: fault.field }),
  });
}

/** @throws AppError BAD_INPUT naming file, row and column of a cell that is no number */
function numbers(table: CsvTable, column: string): Float64Array {
  const index = table.columns.findIndex((c) => c.name === column || c.base === column);
  if (index < 0) {
    const have = table.columns.map((c) => `"${c.name}"`).join(', ');
    throw new AppError('BAD_INPUT', `${table.file} has no column "${column}"; it has ${have}.`, {
      file: table.file,
      row: table.headerRow,
      field: column,
    });
  }
  return Float64Array.from(table.rows, ({ row, cells }) => {
    const cell = cells[index] ?? '';
    const parsed = parseNumber(cell, table.decimal);
    if (parsed.kind === 'number') return parsed.value;
    throw new AppError(
      'BAD_INPUT',
      `Row ${row} of ${table.file}: "${cell}" in column "${column}" is not a number.`,
      {
        file: table.file,
        row,
        field: column,
      },
    );
  });
}

/** Two columns of one name, and whoever reads the file by name may get the old one. */
function refuseTakenNames(cells: CsvTable, names: readonly string[]): void {
  const taken = cells.columns.find((c) => names.includes(c.name));
  if (taken === undefined) return;
  throw new AppError(
    'BAD_INPUT',
    `${cells.file} has a column "${taken.name}" already, which is a name of the results: rename it.`,
    { file: cells.file, row: cells.headerRow, field: taken.name },
  );
}

function refuseForLog(table: CsvTable, column: string, { values }: PointSet): void {
  const at = values.findIndex((v) => v <= 0);
  if (at < 0) return;
  const row = table.rows[at]?.row ?? 0;
  throw new AppError(
    'BAD_INPUT',
    `Row ${row} of ${table.file}: ${values[at]} in column "${column}" has no logarithm; leave --log out, or the row.`,
    { file: table.file, row, field: column },
  );
}

function readPoints(
  table: CsvTable,
  columns: { x: string; y: string; value: string },
  error: string | undefined,
): PointSet {
  const xy = interleave(numbers(table, columns.x), numbers(table, columns.y));
  const values = numbers(table, columns.value);
  if (error === undefined) return { xy, values };
  return { xy, values, errorVariances: numbers(table, error).map((u) => u * u) };
}

function interleave(x: Float64Array, y: Float64Array): Float64Array {
  return Float64Array.from({ length: 2 * x.length }, (_, i) => (i % 2 === 0 ? x : y)[i >> 1] ?? Number.NaN);
}

function wanted(context: CommandContext): WantedSurface {
  const nearestCount = numberFlag(context, 'nearest', { integer: true, above: 0 });
  const nearest = nearestCount === undefined ? {} : { nearest: nearestCount };
  const power = numberFlag(context, 'power', { above: 0 });
  numberFlag(context, 'seed', { integer: true });
  if (choice(context, 'method', ['kriging', 'idw'], 'kriging') === 'idw') {
    for (const name of ['log', 'model', 'anisotropy', 'drift', 'limit']) {
      if (context.flags[name] !== undefined) throw usage(`--${name} does not go with --method idw.`);
    }
    return { method: 'idw', power: power ?? 2, ...nearest };
  }
  if (power !== undefined) throw usage('--power goes with --method idw.');
  const model = withAnisotropy(readModel(text(context, 'model') ?? 'auto'), text(context, 'anisotropy'));
  const drift =
    text(context, 'drift') === undefined ? {} : { drift: choice(context, 'drift', ['linear'], 'linear') };
  const isLog = context.flags['log'] === true;
  return {
    method: 'kriging',
    model,
    transform: isLog ? 'log' : model === 'auto' ? 'auto' : 'none',
    ...drift,
    ...nearest,
  };
}

function readModel(raw: string): 'auto' | VariogramModel {
  if (raw === 'auto') return 'auto';
  const [kindText, ...rest] = raw.split(',').map((s) => s.trim());
  const kind = KINDS.find((k) => k === kindText);
  const [nugget, partialSill, rangeM, smoothness, ...more] = rest.map(Number);
  const all = [nugget, partialSill, rangeM, ...(smoothness === undefined ? [] : [smoothness])];
  if (
    kind === undefined ||
    more.length > 0 ||
    rest.some((s) => s === '') ||
    nugget === undefined ||
    partialSill === undefined ||
    rangeM === undefined ||
    !all.every((v) => v !== undefined && Number.isFinite(v)) ||
    (smoothness !== undefined && kind !== 'matern')
  ) {
    throw usage(
      `--model takes auto or KIND,NUGGET,PSILL,RANGE with KIND one of ${KINDS.join(', ')}, not "${raw}".`,
    );
  }
  return {
    nugget,
    structures: [{ kind, partialSill, rangeM, ...(smoothness === undefined ? {} : { smoothness }) }],
  };
}

function withAnisotropy(model: 'auto' | VariogramModel, raw: string | undefined): 'auto' | VariogramModel {
  if (raw === undefined) return model;
  if (model === 'auto')
    throw usage('--anisotropy goes with a given --model; the model found by itself has none.');
  const [azimuthDeg, ratio, ...more] = raw.split(',').map(Number);
  if (
    azimuthDeg === undefined ||
    ratio === undefined ||
    more.length > 0 ||
    !Number.isFinite(azimuthDeg) ||
    !(ratio > 0 && ratio <= 1)
  ) {
    throw usage(`--anisotropy takes AZIMUTH,RATIO with a ratio above 0, at most 1, not "${raw}".`);
  }
  return { ...model, structures: model.structures.map((s) => ({ ...s, anisotropy: { azimuthDeg, ratio } })) };
}

/** The variogram along four azimuths, of what was kriged: long axes show as slower rise. */
function directional(model: FoundModel) {
  return (model.variogram?.directions ?? []).map(({ azimuthDeg, variogram }) => ({
    azimuthDeg,
    pairs: [...variogram.pairs],
    distM: [...variogram.distM],
    semivariance: [...variogram.semivariance],
  }));
}

/** Shortest text that reads back as the same number; empty where there is none. */
function numberText(value: number | undefined): string {
  return value === undefined || !Number.isFinite(value) ? '' : String(value);
}

function summary(model: FoundModel, points: PointSet, out: string) {
  const { surface, leaveOneOut } = model;
  const empirical = model.variogram?.empirical;
  return {
    out,
    n: points.values.length,
    method: surface.method,
    transform: model.transform,
    model: model.model,
    averaged: surface.method === 'kriging' ? surface.members : null,
    idw: surface.method === 'idw' ? surface.options : null,
    reasons: model.reasons,
    warnings: model.warnings,
    variogram:
      empirical === undefined
        ? null
        : {
            pairs: [...empirical.pairs],
            distM: [...empirical.distM],
            semivariance: [...empirical.semivariance],
          },
    directionalVariograms: directional(model),
    fittedByLeastSquares: model.variogram?.fitted ?? null,
    crossValidation: {
      ...leaveOneOut.summary,
      residual: [...leaveOneOut.residual],
      z: [...leaveOneOut.z],
    },
  };
}

function summaryText(model: FoundModel, out: string, cells: number): string {
  const { summary: cv } = model.leaveOneOut;
  return [
    `${out}: ${cells} cells`,
    ...model.reasons,
    cv.n === 0
      ? cv.verdict
      : `Left out one at a time (n = ${cv.n}): mean error ${cv.meanError.toPrecision(3)}, RMSE ${cv.rmse.toPrecision(4)}. ${cv.verdict}`,
    ...model.warnings.map((w) => `warning: ${w}`),
  ].join('\n');
}
