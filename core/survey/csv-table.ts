import type { RowIssue } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { clip } from '../text.ts';
import { decodeText } from './decode-text.ts';
import { type HeaderParts, recogniseUnit, splitHeader, zoneOf } from './header-unit.ts';
import type { DecimalSign } from './parse-cell.ts';
import { guessMapping } from './sample-columns.ts';
import { type Delimiter, detectDelimiter, mostCommon, type RawRow, splitRows } from './split-rows.ts';

export interface CsvColumn {
  /** Header as the file has it, made unique; what a mapping names. */
  readonly name: string;
  /** Header without unit and brackets. */
  readonly base: string;
  /** From the header or from a row of units beneath it. */
  readonly unit: string | null;
  readonly coverageFactor: number | null;
  /** Minutes of its clock ahead of UTC, where header or row of units name one. */
  readonly zoneMinutes: number | null;
}

export interface CsvRow {
  /** 1-based line of the file where the row begins, as an editor shows it. */
  readonly row: number;
  /** One cell for each column, trimmed. */
  readonly cells: readonly string[];
}

export interface CsvTable {
  readonly file: string;
  readonly encoding: string;
  readonly delimiter: Delimiter;
  readonly decimal: DecimalSign;
  readonly headerRow: number;
  readonly columns: readonly CsvColumn[];
  /** Every row of data, also those an error in `issues` keeps out of use. */
  readonly rows: readonly CsvRow[];
  readonly issues: readonly RowIssue[];
}

export interface TableOptions {
  readonly delimiter?: Delimiter;
  readonly decimal?: DecimalSign;
}

/** Read in a few seconds; a subdivision has 2,000 probes. */
const MOST_LINES = 250_000;
const NAMES: Record<Delimiter, string> = { ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'bar' };
/**
 * Reads a delimited text table as people's programs write them: any common encoding and line end, quoted line
 * breaks, comment lines, titles above the header, a row of units, ragged rows. Nothing is dropped without an issue.
 * @throws AppError BAD_INPUT naming file, row and field where the file as a whole is no table
 */
export function readTable(bytes: Uint8Array, file: string, options: TableOptions = {}): CsvTable {
  const { text, encoding, guessed } = decodeText(bytes, file);
  if (text.trim() === '') throw new AppError('BAD_INPUT', `${file} is empty.`, { file });
  const issues: RowIssue[] = [];
  const warn = (row: number | null, field: string | null, message: string) =>
    issues.push({ severity: 'warning', file, row, field, message });
  if (guessed) {
    warn(
      null,
      null,
      `${file} does not say how its letters are coded; read as ${encoding}. Check names with accents.`,
    );
  }
  refuseTooLong(text, file);
  // A first line 'sep=;' is a note to the reader of the table, not a title.
  const noted = /^\s*"?sep=([,;\t|])"?[ \t]*(?:\n|$)/i.exec(text)?.[1] as Delimiter | undefined;
  const delimiter = options.delimiter ?? noted ?? detectDelimiter(text);
  const split = splitRows(text, delimiter, file, issues).filter((r) => r.cells.some((c) => c !== ''));
  const raw = noted === undefined ? split : split.slice(1);
  const { header, data: rest } = findHeader(raw, delimiter, text, file, issues);
  const unitRow = findUnitRow(rest[0], header.cells.length);
  const dataRows = takeOutHeaders(unitRow === null ? rest : rest.slice(1), header, unitRow, file, issues);
  const kept = takeOutComments(dataRows, header.cells.length, file, issues);
  if (kept.length === 0) {
    throw new AppError('BAD_INPUT', `${file} has a header in row ${header.row} and no rows beneath it.`, {
      file,
      row: header.row,
    });
  }
  const { columns, indices } = nameColumns(header, unitRow, kept, file, issues);
  const bad = new Set(issues.flatMap((i) => (i.severity === 'error' && i.row !== null ? [i.row] : [])));
  const rows = kept.map((r) => fitToHeader(r, indices, header.cells.length, file, issues, bad));
  const decimal = options.decimal ?? detectDecimal(rows, delimiter, file, issues);
  return { file, encoding, delimiter, decimal, headerRow: header.row, columns, rows, issues };
}

function refuseTooLong(text: string, file: string): void {
  let lines = 1;
  for (let i = text.indexOf('\n'); i >= 0; i = text.indexOf('\n', i + 1)) lines++;
  if (lines <= MOST_LINES) return;
  throw new AppError(
    'BAD_INPUT',
    `${file} has ${lines} lines, and no more than ${MOST_LINES} are read at once: a table of samples has a row for each sample. Cut it into parts, or leave the rest out.`,
    { file, lines },
  );
}

/** Sheets pasted under each other bring their header, and the row of units, again. */
function takeOutHeaders(
  rows: readonly RawRow[],
  header: RawRow,
  unitRow: RawRow | null,
  file: string,
  issues: RowIssue[],
): RawRow[] {
  const textOf = (r: RawRow) => r.cells.join('\t').trimEnd().toLowerCase();
  const again = new Set([textOf(header), ...(unitRow === null ? [] : [textOf(unitRow)])]);
  return rows.filter((r) => {
    if (!again.has(textOf(r))) return true;
    issues.push({
      severity: 'warning',
      file,
      row: r.row,
      field: null,
      message: `row ${r.row} of ${file} repeats the header of row ${header.row} and is passed over`,
    });
    return false;
  });
}

function findHeader(
  raw: readonly RawRow[],
  delimiter: Delimiter,
  text: string,
  file: string,
  issues: RowIssue[],
): { header: RawRow; data: RawRow[] } {
  const isComment = (r: RawRow) => (r.cells[0] ?? '').startsWith('#');
  const plain = raw.filter((r) => !isComment(r));
  const width = mostCommon(plain.map((r) => r.cells.length));
  const first = plain[0];
  if (first === undefined) {
    throw new AppError('BAD_INPUT', `${file} holds only comment lines.`, { file });
  }
  if (width < 2) {
    const other = detectDelimiter(text);
    const remedy =
      other === delimiter
        ? 'No comma, semicolon, tab or bar cuts it into columns.'
        : `The ${NAMES[other]} would give several: choose it as the delimiter.`;
    throw new AppError(
      'BAD_INPUT',
      `${file} has only one column when cut at the ${NAMES[delimiter]} (row ${first.row}: '${clip(first.cells[0] ?? '')}'). ${remedy}`,
      { file, row: first.row, field: clip(first.cells[0] ?? '') },
    );
  }
  const isHeader = (r: RawRow) => filledCount(r.cells) >= Math.max(2, Math.ceil(width / 2));
  const header = plain.slice(0, 30).find(hasFieldNames) ?? plain.find(isHeader) ?? first;
  if (header.cells.filter((c) => c !== '').every((c) => /^[-+\d.,\s]+$/.test(c))) {
    throw new AppError(
      'BAD_INPUT',
      `${file} has no header: row ${header.row} holds only numbers. Put a row of column names above the data.`,
      { file, row: header.row },
    );
  }
  for (const title of plain) {
    if (title === header) break;
    issues.push({
      severity: 'warning',
      file,
      row: title.row,
      field: null,
      message: `row ${title.row} stands above the header and is taken as a title: '${clip(title.cells.join(' ').trim())}'`,
    });
  }
  return { header, data: raw.filter((r) => r.row > header.row) };
}

/** Three headers that this program knows make a header row, however ragged the rows beneath. */
function hasFieldNames(row: RawRow): boolean {
  const columns = row.cells.map((name) => {
    const { name: base, ...parts } = splitHeader(name);
    return { name, base, ...parts };
  });
  return Object.keys(guessMapping(columns)).length >= 3;
}

function filledCount(cells: readonly string[]): number {
  return cells.filter((c) => c !== '').length;
}

/** A row right under the header that holds nothing but units and dashes. */
function findUnitRow(row: RawRow | undefined, width: number): RawRow | null {
  if (row === undefined || row.cells.length > width) return null;
  const filled = row.cells.map((c) => c.replace(/^[([]|[)\]]$/g, '').trim()).filter((c) => c !== '');
  const units = filled.filter((c) => recogniseUnit(c) !== null).length;
  const others = filled.filter(
    (c) => recogniseUnit(c) === null && !/^[-–/]+$/.test(c) && !/^(text|yes\/no|y\/n|utc)$/i.test(c),
  );
  return units > 0 && others.length === 0 ? row : null;
}

/** `#` begins a comment, unless most rows begin with `#` and a letter or digit: then it belongs to the labels. */
function takeOutComments(rows: readonly RawRow[], width: number, file: string, issues: RowIssue[]): RawRow[] {
  const isMarked = (r: RawRow) => (r.cells[0] ?? '').startsWith('#');
  const marked = rows.filter(isMarked);
  const fullMarked = marked.filter((r) => filledCount(r.cells) >= Math.max(2, width / 2));
  const labelLike = fullMarked.filter((r) => /^#\S/.test(r.cells[0] ?? ''));
  const labelLikeSet = new Set(labelLike);
  if (labelLike.length > rows.length / 2) return rows.filter((r) => !isMarked(r) || labelLikeSet.has(r));
  for (const r of fullMarked) {
    issues.push({
      severity: 'warning',
      file,
      row: r.row,
      field: null,
      message: `row ${r.row} of ${file} begins with '#' and is taken as a comment, though it has the cells of a sample: '${clip(r.cells.join(', '))}'`,
    });
  }
  return rows.filter((r) => !isMarked(r));
}

function nameColumns(
  header: RawRow,
  unitRow: RawRow | null,
  rows: readonly RawRow[],
  file: string,
  issues: RowIssue[],
): { columns: CsvColumn[]; indices: number[] } {
  const columns: CsvColumn[] = [];
  const indices: number[] = [];
  const seen = new Map<string, number>();
  header.cells.forEach((cell, i) => {
    const empty = rows.every((r) => (r.cells[i] ?? '') === '');
    if (cell === '' && empty) return;
    const parts: HeaderParts = splitHeader(cell);
    let name = cell;
    if (cell === '') {
      name = `column ${i + 1}`;
      issues.push({
        severity: 'warning',
        file,
        row: header.row,
        field: name,
        message: `column ${i + 1} of ${file} has no header; it is called '${name}'`,
      });
    }
    const times = (seen.get(name.toLowerCase()) ?? 0) + 1;
    seen.set(name.toLowerCase(), times);
    if (times > 1) {
      const unique = `${name} [${times}]`;
      issues.push({
        severity: 'warning',
        file,
        row: header.row,
        field: name,
        message: `header '${name}' stands ${times} times in row ${header.row} of ${file}; the one in column ${i + 1} is called '${unique}'`,
      });
      name = unique;
    }
    const unitText = (unitRow?.cells[i] ?? '').replace(/^[([]|[)\]]$/g, '');
    columns.push({
      name,
      base: parts.name === '' ? name : parts.name,
      unit: parts.unit ?? recogniseUnit(unitText),
      coverageFactor: parts.coverageFactor,
      zoneMinutes: parts.zoneMinutes ?? zoneOf(unitText),
    });
    indices.push(i);
  });
  return { columns, indices };
}

function fitToHeader(
  raw: RawRow,
  indices: readonly number[],
  width: number,
  file: string,
  issues: RowIssue[],
  bad: ReadonlySet<number>,
): CsvRow {
  const extra = raw.cells.slice(width).filter((c) => c !== '');
  if (extra.length > 0) {
    issues.push({
      severity: 'error',
      file,
      row: raw.row,
      field: null,
      message:
        `row ${raw.row} of ${file} has ${raw.cells.length} cells where the header has ${width}: cells have shifted ` +
        `(a decimal comma in a comma-separated file, or a delimiter inside a remark without quotes?)`,
    });
  } else if (raw.cells.length < width && !bad.has(raw.row)) {
    issues.push({
      severity: 'warning',
      file,
      row: raw.row,
      field: null,
      message: `row ${raw.row} of ${file} has ${raw.cells.length} cells where the header has ${width}; the missing ones are taken as empty`,
    });
  }
  return { row: raw.row, cells: indices.map((i) => raw.cells[i] ?? '') };
}

function detectDecimal(
  rows: readonly CsvRow[],
  delimiter: Delimiter,
  file: string,
  issues: RowIssue[],
): DecimalSign {
  let comma = 0;
  let point = 0;
  let unclear = 0;
  for (const { cells } of rows) {
    for (const cell of cells) {
      const match = /^[<>≤≥=\s]*[-+]?(\d*)([.,])(\d+)(?:[eE][-+]?\d+)?$/u.exec(cell);
      if (match === null) continue;
      const whole = match[1] ?? '';
      // Three digits behind a comma may be thousands; a leading zero or a long whole part shows that they are not.
      const maybeGrouping = (match[3] ?? '').length === 3 && /^[1-9]\d{0,2}$/.test(whole);
      if (match[2] === '.') point++;
      else if (maybeGrouping) unclear++;
      else comma++;
    }
  }
  if (comma > point) return ',';
  if (point === 0 && unclear > 0 && delimiter !== ',') {
    issues.push({
      severity: 'warning',
      file,
      row: null,
      field: null,
      message: `every comma in the numbers of ${file} has three digits behind it; taken as decimal comma. Choose '.' as the decimal sign if they are thousands.`,
    });
    return ',';
  }
  return '.';
}
