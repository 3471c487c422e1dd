/** Tables of counts and of instruments: columns found by their headers, cells read with messages that name the place. */
import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import type { RowIssue } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import type { CsvColumn, CsvRow, CsvTable, TableOptions } from '../survey/csv-table.ts';
import { readTable } from '../survey/csv-table.ts';
import { zoneOf } from '../survey/header-unit.ts';
import type { DateOrder } from '../survey/parse-cell.ts';
import { inferDateOrder, parseDate, parseNumber } from '../survey/parse-cell.ts';
import { clip } from '../text.ts';

/** Factor of each unit a header may name; '' where it names none. */
export type Units = Readonly<Record<string, number>>;

export const PLAIN: Units = { '': 1 };
export const SECONDS: Units = { '': 1, s: 1, sec: 1, min: 60, h: 3600 };
export const MILLILITRES: Units = { '': 1, ml: 1, cm3: 1, l: 1000 };
export const PER_CENT: Units = { '': 1, '%': 1 };
/** A header must name it: the numbers of the three can be mistaken for each other. */
export const RADON: Units = { 'kbq/m3': 1, 'bq/m3': 0.001, 'pci/l': 0.037 };
/** Written in per cent, kept as a share. */
export const PER_CENT_AS_SHARE: Units = { '': 0.01, '%': 0.01 };

export interface ColumnSpec {
  /** Headers in lower case, without unit and signs. */
  readonly names: readonly string[];
  readonly units?: Units;
}

interface FoundColumn {
  readonly index: number;
  readonly name: string;
  readonly factor: number;
  /** Minutes of its clock ahead of UTC, where the header names one. */
  readonly zoneMinutes: number | null;
}

/** `Counts Po-218`: a column of one window. */
interface WindowColumn {
  readonly index: number;
  readonly name: string;
  readonly window: string;
}

export interface ReadFile {
  readonly bytes: Uint8Array;
  readonly table: CsvTable;
}

/** @throws AppError BAD_INPUT where the file cannot be read or is no table */
export function openTable(path: string, options: TableOptions = {}): ReadFile {
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(path);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    const reason = code === 'ENOENT' ? 'there is no such file' : String(error);
    throw new AppError('BAD_INPUT', `${path} cannot be read: ${reason}.`, { file: basename(path) }, error);
  }
  return { bytes, table: readTable(bytes, basename(path), options) };
}

function splitHeader(header: string): { base: string; unit: string } {
  const [, name = header, unit = ''] = /^(.*?)\s*[([]([^)\]]*)[)\]]\s*$/.exec(header) ?? [];
  return { base: plain(name), unit: unit.trim().toLowerCase().replace('³', '3') };
}

function plain(text: string): string {
  return text
    .toLowerCase()
    .replace(/[_\s.-]+/g, ' ')
    .trim();
}

/** What one table holds by the fields of `specs`. Columns that nothing is known of are named in a warning. */
export class FieldTable<F extends string> {
  readonly file: string;
  readonly issues: RowIssue[];
  readonly windows: readonly WindowColumn[];
  readonly rows: readonly CsvRow[];
  readonly #table: CsvTable;
  readonly #columns = new Map<F, FoundColumn>();
  #order: DateOrder = 'unknown';
  #zoneSaid = false;

  /**
   * @param windowPrefix header before the name of a window, such as 'counts'
   * @param dates fields that hold dates
   * @throws AppError BAD_INPUT for a unit no column of its kind has, or two columns of one kind
   */
  constructor(
    table: CsvTable,
    specs: Readonly<Record<F, ColumnSpec>>,
    windowPrefix: string,
    dates: readonly F[],
  ) {
    this.file = table.file;
    this.#table = table;
    this.issues = [...table.issues];
    const windows: WindowColumn[] = [];
    table.columns.forEach((column, index) => {
      const header = splitHeader(column.name);
      const { base } = header;
      // `(UTC)` in brackets is a clock, no unit.
      const unit = zoneOf(`(${header.unit})`) === null ? header.unit : '';
      const field = (Object.keys(specs) as F[]).find((f) => specs[f].names.includes(base));
      if (field !== undefined) {
        this.#take(field, specs[field].units ?? PLAIN, unit, column, index);
        return;
      }
      if (base.startsWith(`${windowPrefix} `)) {
        windows.push({ index, name: column.name, window: column.name.slice(windowPrefix.length).trim() });
        return;
      }
      this.#say(
        'warning',
        table.headerRow,
        column.name,
        `column '${column.name}' of ${this.file} is not known here and not read`,
      );
    });
    this.windows = windows;
    const bad = new Set(table.issues.filter((i) => i.severity === 'error').map((i) => i.row));
    this.rows = table.rows.filter((r) => !bad.has(r.row));
    this.#order = inferDateOrder(
      dates.flatMap((f) => table.rows.map((r) => r.cells[this.#columns.get(f)?.index ?? -1] ?? '')),
    );
  }

  #take(field: F, units: Units, unit: string, column: CsvColumn, index: number): void {
    const { name, zoneMinutes } = column;
    const factor = units[unit];
    const details = { file: this.file, row: this.#table.headerRow, field: name };
    if (factor === undefined) {
      const known = Object.keys(units).filter((u) => u !== '');
      throw new AppError(
        'BAD_INPUT',
        `Column '${name}' of ${this.file} ${unit === '' ? 'names no unit in brackets' : `is in '${unit}'`}; ${known.length === 0 ? 'it takes no unit' : `it can be in ${known.join(', ')}`}.`,
        details,
      );
    }
    const twin = this.#columns.get(field);
    if (twin !== undefined)
      throw new AppError(
        'BAD_INPUT',
        `Columns '${twin.name}' and '${name}' of ${this.file} say the same: take one out.`,
        details,
      );
    this.#columns.set(field, { index, name, factor, zoneMinutes });
  }

  /** @throws AppError BAD_INPUT naming what the file has instead */
  need(field: F, why: string): void {
    if (this.has(field)) return;
    const have = this.#table.columns.map((c) => `"${c.name}"`).join(', ');
    throw new AppError('BAD_INPUT', `${this.file} has no column for ${why}; it has ${have}.`, {
      file: this.file,
      row: this.#table.headerRow,
      field,
    });
  }

  has(field: F): boolean {
    return this.#columns.has(field);
  }

  error(row: number, field: F | null, message: string): null {
    const name = field === null ? null : (this.#columns.get(field)?.name ?? field);
    this.#say(
      'error',
      row,
      name,
      `row ${row} of ${this.file}${name === null ? '' : `, column '${name}'`}: ${message}`,
    );
    return null;
  }

  warn(row: number, field: F | null, message: string): void {
    const name = field === null ? null : (this.#columns.get(field)?.name ?? field);
    this.#say(
      'warning',
      row,
      name,
      `row ${row} of ${this.file}${name === null ? '' : `, column '${name}'`}: ${message}`,
    );
  }

  hasError(row: number): boolean {
    return this.issues.some((i) => i.severity === 'error' && i.row === row);
  }

  text(source: CsvRow, field: F): string | null {
    const column = this.#columns.get(field);
    const cell = column === undefined ? '' : (source.cells[column.index] ?? '').trim();
    return cell === '' || cell === '-' ? null : cell;
  }

  /** In the unit the field is kept in; null where empty or, with an error said, no number from `low` to `high`. */
  number(source: CsvRow, field: F, low: number, high = Number.POSITIVE_INFINITY): number | null {
    const cell = this.text(source, field);
    if (cell === null) return null;
    const parsed = parseNumber(cell, this.#table.decimal);
    if (parsed.kind === 'missing') return null;
    if (parsed.kind === 'bad') return this.error(source.row, field, parsed.problem);
    if (parsed.kind !== 'number')
      return this.error(source.row, field, `'${clip(cell)}' is not a plain number`);
    const value = parsed.value * (this.#columns.get(field)?.factor ?? 1);
    if (value >= low && value <= high) return value;
    const range = high === Number.POSITIVE_INFINITY ? `from ${low} on` : `from ${low} to ${high}`;
    return this.error(source.row, field, `'${clip(cell)}' is not ${range}`);
  }

  /** A whole number of counts in a window's column; null where empty or not one, which is then said. */
  counts(source: CsvRow, column: { readonly index: number; readonly name: string }): number | null {
    const cell = (source.cells[column.index] ?? '').trim();
    const place = `row ${source.row} of ${this.file}, column '${column.name}'`;
    const parsed = parseNumber(cell, this.#table.decimal);
    if (parsed.kind === 'missing') return null;
    if (parsed.kind === 'number' && Number.isInteger(parsed.value) && parsed.value >= 0) return parsed.value;
    const problem =
      parsed.kind === 'bad' ? parsed.problem : `'${clip(cell)}' is not a whole number of counts`;
    this.#say('error', source.row, column.name, `${place}: ${problem}`);
    return null;
  }

  column(field: F): FoundColumn | undefined {
    return this.#columns.get(field);
  }

  /** Milliseconds of a date with a time, or of a time on the day of `day`; without a zone it is taken as UTC. */
  clock(source: CsvRow, field: F, day: string | null): number | null {
    const cell = this.text(source, field);
    if (cell === null) return null;
    const isTimeOnly = /^\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?\s*([AaPp][Mm])?$/.test(cell);
    if (isTimeOnly && day === null)
      return this.error(
        source.row,
        field,
        `'${cell}' has no day: write the date before it, or add a column 'Date'`,
      );
    const zone = this.#columns.get(field)?.zoneMinutes ?? null;
    const parsed = parseDate(isTimeOnly ? `${day} ${cell}` : cell, this.#order, zone);
    if (parsed.kind !== 'date')
      return this.error(source.row, field, parsed.kind === 'missing' ? 'is empty' : parsed.problem);
    if (!parsed.zoneGiven && !this.#zoneSaid) {
      this.#zoneSaid = true;
      this.warn(source.row, field, 'times name no time zone; taken as UTC');
    }
    return Date.parse(parsed.utc);
  }

  /** A calendar day as YYYY-MM-DD. */
  day(source: CsvRow, field: F): string | null {
    const cell = this.text(source, field);
    if (cell === null) return null;
    const parsed = parseDate(cell, this.#order);
    if (parsed.kind !== 'date')
      return this.error(source.row, field, parsed.kind === 'missing' ? 'is empty' : parsed.problem);
    return parsed.utc.slice(0, 10);
  }

  #say(severity: RowIssue['severity'], row: number | null, field: string | null, message: string): void {
    this.issues.push({ severity, file: this.file, row, field, message });
  }
}
