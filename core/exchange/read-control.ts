/** Control points of an image from a table: where each is in the image and on the ground. */
import type { SitePlanPoint } from '../contract/site-plans.ts';
import { type CsvTable, readTable } from '../survey/csv-table.ts';
import { parseNumber } from '../survey/parse-cell.ts';
import { bad } from './geometry.ts';

const HEADERS = {
  column: /^(column|col|pixel ?x|px|image ?x|u)$/i,
  row: /^(row|line|pixel ?y|py|image ?y|v)$/i,
  x: /^(x|east(ing)?|e)$/i,
  y: /^(y|north(ing)?|n)$/i,
  label: /^(label|point|name|id|no\.?)$/i,
} as const;

/**
 * @returns points in the order of the file, unnamed ones numbered; ground coordinates as the file has them
 * @throws AppError BAD_INPUT naming file, row and column
 */
export function readControlPoints(bytes: Uint8Array, file: string): SitePlanPoint[] {
  const table = readTable(bytes, file);
  const find = (field: keyof typeof HEADERS) =>
    table.columns.findIndex(({ base }) => HEADERS[field].test(base.trim().replace(/_/g, ' ')));
  const missing = (['column', 'row', 'x', 'y'] as const).filter((field) => find(field) < 0);
  if (missing.length > 0) {
    const have = table.columns.map(({ name }) => `"${name}"`).join(', ');
    throw bad(
      `${file}: control points need the columns column and row (pixels from the upper left corner), x and y; missing: ${missing.join(', ')}. It has ${have}.`,
      { file, row: table.headerRow },
    );
  }
  const label = find('label');
  return table.rows.map(({ row, cells }, i) => {
    const read = (field: 'column' | 'row' | 'x' | 'y') => readCell(table, row, cells, find(field));
    const own = label < 0 ? '' : (cells[label] ?? '').trim();
    return {
      label: own === '' ? String(i + 1) : own,
      pixel: [read('column'), read('row')],
      native: [read('x'), read('y')],
    };
  });
}

function readCell(table: CsvTable, row: number, cells: readonly string[], index: number): number {
  const raw = cells[index] ?? '';
  const parsed = parseNumber(raw, table.decimal);
  if (parsed.kind === 'number') return parsed.value;
  const field = table.columns[index]?.name ?? '';
  throw bad(`Row ${row} of ${table.file}: "${raw}" in column "${field}" is not a number.`, {
    file: table.file,
    row,
    field,
  });
}
