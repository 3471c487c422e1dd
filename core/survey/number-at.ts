import { AppError } from '../errors.ts';
import type { CsvRow, CsvTable } from './csv-table.ts';
import { parseNumber } from './parse-cell.ts';

/**
 * A number that a row of a table must have.
 * @throws AppError BAD_INPUT naming file, row and column where the cell holds none
 */
export function numberAt(table: CsvTable, { row, cells }: CsvRow, index: number): number {
  const raw = cells[index] ?? '';
  const parsed = parseNumber(raw, table.decimal);
  if (parsed.kind === 'number') return parsed.value;
  const field = table.columns[index]?.name ?? '';
  throw new AppError(
    'BAD_INPUT',
    `Row ${row} of ${table.file}: "${raw}" in column "${field}" is not a number.`,
    { file: table.file, row, field },
  );
}
