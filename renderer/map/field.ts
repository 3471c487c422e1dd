/** Fields that come cell by cell (standard error, probability): levels, colours and a picture. */
import type { PositionM } from '../../core/contract/model.ts';
import type { GridSpec, SurfaceResult } from '../../core/contract/results.ts';
import { fromKBqPerM3 } from '../../core/units.ts';
import type { ShownRadonUnit } from '../format.ts';
import type { AppState, ShownField } from '../state/app-state.ts';

export interface CellField {
  readonly grid: GridSpec;
  readonly values: Float64Array;
  readonly levels: readonly number[];
}

const PROBABILITY_LEVELS = [0.1, 0.25, 0.5, 0.75, 0.9];

/**
 * Round steps of 1, 2 or 5 over the finite values; about `count` of them.
 * @param shownPerUnit - what 1 of the values is in the unit they are shown in, where the steps are round
 */
export function roundLevels(values: Float64Array, shownPerUnit = 1, count = 5): number[] {
  let [least, most] = [Infinity, -Infinity];
  for (const value of values) {
    if (!Number.isFinite(value)) continue;
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  if (!(most > least)) return [];
  [least, most] = [least * shownPerUnit, most * shownPerUnit];
  const raw = (most - least) / (count + 1);
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = ([1, 2, 5, 10].find((m) => m * decade >= raw) ?? 10) * decade;
  const levels: number[] = [];
  for (let k = Math.floor(least / step) + 1; k * step < most; k++)
    levels.push(Number((k * step).toPrecision(12)) / shownPerUnit);
  return levels;
}

/** @returns null where surface and placement search have no such field */
export function cellField(
  surface: SurfaceResult | null,
  site: AppState['site'],
  shown: ShownField,
  unit: ShownRadonUnit,
): CellField | null {
  const shownPerUnit = fromKBqPerM3(1, unit);
  if (shown === 'suitability') {
    const found = site?.result.suitability;
    if (!found?.lowest.some(Number.isFinite)) return null;
    const isChance = site?.request.objective === 'lowest-probability';
    return {
      grid: found.grid,
      values: found.lowest,
      levels: roundLevels(found.lowest, isChance ? 100 : shownPerUnit),
    };
  }
  if (!surface) return null;
  const { grid } = surface;
  if (shown === 'probability') {
    return surface.exceedance?.probability.some(Number.isFinite)
      ? { grid, values: surface.exceedance.probability, levels: PROBABILITY_LEVELS }
      : null;
  }
  if (shown === 'error' && surface.standardErrorKBqPerM3.some(Number.isFinite)) {
    return {
      grid,
      values: surface.standardErrorKBqPerM3,
      levels: roundLevels(surface.standardErrorKBqPerM3, shownPerUnit),
    };
  }
  return null;
}

/** Tints of one blue-grey, so that doubt is never mistaken for radon. */
export function fieldColour(index: number, count: number): [r: number, g: number, b: number] {
  const t = count <= 1 ? 0.3 : index / (count - 1);
  return [mix(240, 62, t), mix(243, 92, t), mix(244, 122, t)];
}

function mix(from: number, to: number, t: number): number {
  return Math.round(from + (to - from) * t);
}

/** Value at a place by the cell it falls in; NaN outside. */
export function valueAt(grid: GridSpec, values: Float64Array, [xM, yM]: PositionM): number {
  const column = Math.round((xM - grid.x0M) / grid.cellM);
  const row = Math.round((yM - grid.y0M) / grid.cellM);
  if (column < 0 || row < 0 || column >= grid.columns || row >= grid.rows) return Number.NaN;
  return values[row * grid.columns + column] ?? Number.NaN;
}

/** Cells without a value take their nearest neighbours' mean, twice over, so that the lot line can cut the picture. */
function withFilledRim(grid: GridSpec, values: Float64Array): Float64Array {
  let current = values;
  for (let pass = 0; pass < 2; pass++) {
    const next = Float64Array.from(current);
    for (let row = 0; row < grid.rows; row++) {
      for (let column = 0; column < grid.columns; column++) {
        const at = row * grid.columns + column;
        if (Number.isFinite(current[at])) continue;
        let [sum, n] = [0, 0];
        for (let dy = -1; dy <= 1; dy++) {
          for (let dx = -1; dx <= 1; dx++) {
            const [r, c] = [row + dy, column + dx];
            if (r < 0 || c < 0 || r >= grid.rows || c >= grid.columns) continue;
            const value = current[r * grid.columns + c] ?? Number.NaN;
            if (!Number.isFinite(value)) continue;
            sum += value;
            n++;
          }
        }
        if (n > 0) next[at] = sum / n;
      }
    }
    current = next;
  }
  return current;
}

/**
 * Picture of a field, north up, `scale` pixels to a cell, bilinear between cell centres, in steps of its levels.
 * Its corners are the outer edges of the corner cells.
 */
export function paintField(field: CellField, scale: number): ImageData {
  const { grid } = field;
  const values = withFilledRim(grid, field.values);
  const [width, height] = [grid.columns * scale, grid.rows * scale];
  const image = new ImageData(width, height);
  const colours = Array.from({ length: field.levels.length + 1 }, (_, i) =>
    fieldColour(i, field.levels.length + 1),
  );
  const at = (row: number, column: number) =>
    values[
      Math.max(0, Math.min(grid.rows - 1, row)) * grid.columns +
        Math.max(0, Math.min(grid.columns - 1, column))
    ] ?? Number.NaN;
  for (let py = 0; py < height; py++) {
    const y = (height - 1 - py + 0.5) / scale - 0.5;
    const row = Math.floor(y);
    const fy = y - row;
    for (let px = 0; px < width; px++) {
      const x = (px + 0.5) / scale - 0.5;
      const column = Math.floor(x);
      const fx = x - column;
      const value =
        (at(row, column) * (1 - fx) + at(row, column + 1) * fx) * (1 - fy) +
        (at(row + 1, column) * (1 - fx) + at(row + 1, column + 1) * fx) * fy;
      if (!Number.isFinite(value)) continue;
      const colour = colours[field.levels.filter((level) => value >= level).length];
      if (colour) image.data.set([...colour, 255], (py * width + px) * 4);
    }
  }
  return image;
}
