import type { PermeabilityClass } from '../contract/model.ts';
import type { ImportField, RowIssue } from '../contract/requests.ts';
import { clip, withoutAccents } from '../text.ts';
import type { CsvRow } from './csv-table.ts';
import {
  type DateOrder,
  type DecimalSign,
  type ParsedNumber,
  parseNumber,
  parseYesNo,
} from './parse-cell.ts';
import type { FieldColumn, FieldColumns } from './sample-columns.ts';

export interface RowReading {
  readonly file: string;
  readonly columns: FieldColumns;
  readonly decimal: DecimalSign;
  readonly dateOrder: DateOrder;
  readonly coverageFactor: number;
  /** Class of a permeability that is only known as more or less than so much; null where that leaves several. */
  readonly classOfBound: (side: 'above' | 'below', permeabilityM2: number) => PermeabilityClass | null;
  /** Kinds of remark that need saying once only, with the row that first showed them. */
  readonly onceSeen: Map<'zone' | 'uncertainty', number[]>;
}

type Convert = (value: number, unit: string) => number | string;

/** The cells of one row by the field they are mapped to; what cannot be read is named with file, row and column. */
export class CellReader {
  readonly issues: RowIssue[] = [];
  readonly source: CsvRow;
  readonly reading: RowReading;

  constructor(source: CsvRow, reading: RowReading) {
    this.source = source;
    this.reading = reading;
  }

  get failed(): boolean {
    return this.issues.some((i) => i.severity === 'error');
  }

  column(field: ImportField): FieldColumn | undefined {
    return this.reading.columns[field];
  }

  cell(field: ImportField): string {
    const column = this.column(field);
    return column === undefined ? '' : (this.source.cells[column.index] ?? '').trim();
  }

  text(field: ImportField): string | null {
    const cell = this.cell(field);
    return cell === '' ? null : cell;
  }

  error(field: ImportField, message: string): void {
    this.say('error', field, message);
  }

  warn(field: ImportField, message: string): void {
    this.say('warning', field, message);
  }

  /** Place in words, for the start of a message. */
  place(field: ImportField): string {
    return `row ${this.source.row} of ${this.reading.file}, column '${this.column(field)?.name ?? field}'`;
  }

  parse(field: ImportField): ParsedNumber {
    return parseNumber(this.cell(field), this.reading.decimal);
  }

  /** @param convert gives the value in SI or what is wrong with it */
  number(field: ImportField, convert: Convert): number | null {
    const parsed = this.parse(field);
    if (parsed.kind === 'missing' || parsed.kind === 'not-detected') return null;
    if (parsed.kind === 'bad') {
      this.error(field, `${this.place(field)}: ${parsed.problem}`);
      return null;
    }
    if (parsed.kind !== 'number') {
      this.error(field, `${this.place(field)}: '${this.cell(field)}' gives a limit where a number is needed`);
      return null;
    }
    return this.convert(field, parsed.value, convert);
  }

  /** As `number`; a limit is taken as the number it names, and it says so: the row holds more than this cell. */
  numberOrLimit(field: ImportField, convert: Convert): number | null {
    const parsed = this.parse(field);
    if (parsed.kind !== 'below' && parsed.kind !== 'above') return this.number(field, convert);
    this.warn(field, `${this.place(field)}: '${this.cell(field)}' is a limit; taken as ${parsed.value}`);
    return this.convert(field, parsed.value, convert);
  }

  private convert(field: ImportField, value: number, convert: Convert): number | null {
    const converted = convert(value, this.column(field)?.unit ?? '');
    if (typeof converted === 'number') return converted;
    this.error(field, `${this.place(field)}: '${this.cell(field)}' ${converted}`);
    return null;
  }

  yesNo(field: ImportField): boolean {
    const answer = parseYesNo(this.cell(field));
    if (answer !== null) return answer;
    this.error(field, `${this.place(field)}: '${clip(this.cell(field))}' is neither yes nor no`);
    return false;
  }

  private say(severity: RowIssue['severity'], field: ImportField, message: string): void {
    const { file } = this.reading;
    this.issues.push({
      severity,
      file,
      row: this.source.row,
      field: this.column(field)?.name ?? field,
      message,
    });
  }
}

/** A word as lists of words are compared with it. */
export function plainWord(text: string): string {
  return withoutAccents(text).trim();
}
