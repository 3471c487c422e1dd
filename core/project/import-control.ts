/** Control points of a local grid from a table: a name, a place in the grid and one in a mapped system. */
import { basename } from 'node:path';
import type { ControlPointView, ControlView } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { type CsvTable, readTable } from '../survey/csv-table.ts';
import { numberAt } from '../survey/number-at.ts';
import { setControl } from './control-points.ts';
import { readWhole } from './files.ts';

/** Headers in small letters, spaces and underscores alike. */
const COLUMNS = {
  label: /^(label|name|point|control( point)?|id)$/,
  localX: /^(local (x|east(ing)?)|x local|grid x)$/,
  localY: /^(local (y|north(ing)?)|y local|grid y)$/,
  mappedX: /^((mapped |map )?(x|e|east(ing)?)|x mapped)$/,
  mappedY: /^((mapped |map )?(y|n|north(ing)?)|y mapped)$/,
} as const;

/**
 * All points at once, in place of those there are.
 * @param code EPSG code of the mapped system
 * @throws AppError BAD_INPUT naming file, row and column; as `setControl`
 */
export function importControl(store: ProjectStore, path: string, code: number): ControlView | null {
  const table = readTable(readWhole(path), basename(path));
  return setControl(store, { code, points: readPoints(table) });
}

function readPoints(table: CsvTable): ControlPointView[] {
  const { file } = table;
  const headers = table.columns.map((c) =>
    c.base
      .trim()
      .toLowerCase()
      .replace(/[\s_]+/g, ' '),
  );
  const find = (key: keyof typeof COLUMNS) => {
    const at = headers.findIndex((header) => COLUMNS[key].test(header));
    if (at >= 0) return at;
    const have = table.columns.map((c) => `"${c.name}"`).join(', ');
    throw new AppError(
      'BAD_INPUT',
      `${file}: control points need the columns label, local x, local y, mapped x and mapped y; it has ${have}.`,
      { file, row: table.headerRow },
    );
  };
  const at = {
    label: find('label'),
    localX: find('localX'),
    localY: find('localY'),
    mappedX: find('mappedX'),
    mappedY: find('mappedY'),
  };
  return table.rows.map((line) => {
    const { row, cells } = line;
    const label = (cells[at.label] ?? '').trim();
    if (label === '')
      throw new AppError('BAD_INPUT', `Row ${row} of ${file}: the control point has no name.`, {
        file,
        row,
        field: 'label',
      });
    return {
      label,
      local: [numberAt(table, line, at.localX), numberAt(table, line, at.localY)],
      mapped: [numberAt(table, line, at.mappedX), numberAt(table, line, at.mappedY)],
    };
  });
}
