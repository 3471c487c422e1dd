/** Rows of a returned sheet: the code says which probe, an offset where it was driven, an empty row that it was not. */
import type { RowIssue } from '../contract/requests.ts';
import type { ImportContext } from './check-coordinates.ts';
import { type KnownProbes, labelKey } from './check-rows.ts';
import { holdsCodes, type KnownCode, readCode } from './probe-code.ts';
import type { SheetRow } from './read-sample-row.ts';
import type { FieldColumns } from './sample-columns.ts';

export interface MatchedRows {
  readonly rows: readonly SheetRow[];
  readonly issues: readonly RowIssue[];
}

interface Sheet {
  readonly file: string;
  readonly headerRow: number;
  readonly columns: FieldColumns;
}

/**
 * Every row with a code gets the label of its probe, whatever label it came with; a code that names none costs the row.
 * A column in which nothing looks like a code is another's, and is said not to be used.
 */
export function matchCodes(
  rows: readonly SheetRow[],
  known: readonly KnownCode[],
  { file, headerRow, columns }: Sheet,
): MatchedRows {
  const field = columns.code?.name;
  if (field === undefined) return { rows, issues: [] };
  const written = rows.flatMap((r) => r.code ?? []);
  if (!holdsCodes(written, known)) {
    if (written.length === 0) return { rows, issues: [] };
    const message = `column '${field}' of ${file} holds no codes of field sheets and is not used`;
    return dropNameless(rows, file, columns, [{ severity: 'warning', file, row: headerRow, field, message }]);
  }
  const issues: RowIssue[] = [];
  const matched = rows.flatMap((r): SheetRow[] => {
    if (r.code === null) return [r];
    const place = `row ${r.row} of ${file}, column '${field}'`;
    const read = readCode(r.code, known);
    if ('problem' in read) {
      issues.push({ severity: 'error', file, row: r.row, field, message: `${place}: ${read.problem}` });
      return [];
    }
    if (r.label !== '' && labelKey(r.label) !== labelKey(read.label)) {
      issues.push({
        severity: 'warning',
        file,
        row: r.row,
        field,
        message: `${place}: ${r.code} is the code of probe '${read.label}', and the row says '${r.label}'; the code decides`,
      });
    }
    return [{ ...r, label: read.label }];
  });
  return dropNameless(matched, file, columns, issues);
}

function dropNameless(
  rows: readonly SheetRow[],
  file: string,
  columns: FieldColumns,
  issues: readonly RowIssue[],
): MatchedRows {
  const nameless = rows.filter((r) => r.label === '');
  const field = columns.label?.name ?? columns.code?.name ?? 'label';
  return {
    rows: rows.filter((r) => r.label !== ''),
    issues: [
      ...issues,
      ...nameless.map(({ row }) => ({
        severity: 'error' as const,
        file,
        row,
        field,
        message: `row ${row} of ${file} has neither a code nor a probe label`,
      })),
    ],
  };
}

/** Rows that a sheet came with and nobody wrote on: their probes stay as they are. */
export function passOverEmpty(rows: readonly SheetRow[], { file, columns }: Sheet): MatchedRows {
  if (columns.code === undefined) return { rows, issues: [] };
  const empty = rows.filter((r) => r.code !== null && saysNothing(r));
  if (empty.length === 0) return { rows, issues: [] };
  const labels = empty.map((r) => r.label);
  const listed =
    labels.length <= 8 ? labels.join(', ') : `${labels.slice(0, 7).join(', ')} and ${labels.length - 7} more`;
  const left = new Set(empty);
  return {
    rows: rows.filter((r) => !left.has(r)),
    issues: [
      {
        severity: 'warning',
        file,
        row: empty[0]?.row ?? null,
        field: null,
        message: `${empty.length} rows of ${file} are not filled in and are passed over: ${listed}`,
      },
    ],
  };
}

function saysNothing(row: SheetRow): boolean {
  const {
    row: _row,
    label: _label,
    code: _code,
    kind: _kind,
    notes,
    saidState,
    saidAdded: _added,
    ...said
  } = row;
  if (saidState !== null && saidState !== 'planned') return false;
  return [...Object.values(said), ...Object.values(notes)].every(
    (value) => value === null || value === false,
  );
}

/** An offset from the planned place, as a tape gives it, becomes a place. Coordinates of the row's own hold against it. */
export function placeByOffset(
  rows: readonly SheetRow[],
  known: KnownProbes,
  system: ImportContext['system'],
  { file, columns }: Sheet,
): MatchedRows {
  const issues: RowIssue[] = [];
  const field = columns.offsetEast?.name ?? columns.offsetNorth?.name ?? null;
  const placed = rows.flatMap((r): SheetRow[] => {
    if (r.offsetEastM === null && r.offsetNorthM === null) return [r];
    const say = (severity: RowIssue['severity'], problem: string) =>
      issues.push({ severity, file, row: r.row, field, message: `row ${r.row} of ${file}: ${problem}` });
    const planned = known.get(labelKey(r.label));
    if (r.x !== null || r.y !== null) {
      say('warning', `probe '${r.label}' has coordinates and an offset; the coordinates are used`);
      return [r];
    }
    if (planned?.isPlanned !== true) {
      say(
        'warning',
        `the offset of '${r.label}' is not used: it counts from a planned place, and this probe ${planned === undefined ? 'has none' : 'was driven before'}`,
      );
      return [r];
    }
    if (system.kind === 'geographic') {
      say('error', `an offset counts in metres or feet, and ${system.name} is in degrees`);
      return [];
    }
    return [
      {
        ...r,
        x: planned.x + (r.offsetEastM ?? 0) / system.metresPerUnit,
        y: planned.y + (r.offsetNorthM ?? 0) / system.metresPerUnit,
      },
    ];
  });
  return { rows: placed, issues };
}
