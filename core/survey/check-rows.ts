/** Rows and probes of a sheet held against each other and against the project: what is doubled, misplaced or shared. */
import type { RowIssue } from '../contract/requests.ts';
import { distanceM, type FilePoint, type ImportContext } from './check-coordinates.ts';
import type { CsvTable } from './csv-table.ts';
import type { SheetRow } from './read-sample-row.ts';
import type { FieldColumns } from './sample-columns.ts';

/** Two positions of one label farther apart than this are two probes. */
const SAME_PROBE_M = 0.5;
/** A planned probe driven farther off than this is more likely a wrong label (common practice: rods move by metres). */
const FAR_FROM_PLAN_M = 10;
/** Two labels nearer than this share one hole. */
const SAME_HOLE_M = 0.05;

/** A header that names another unit of length than the coordinate system has. */
export function findUnitClash(table: CsvTable, columns: FieldColumns, context: ImportContext): RowIssue[] {
  const plain = (unit: string) => (unit === 'ft-us' ? 'ft' : unit);
  const { unitLabel, name } = context.system;
  return [columns.x, columns.y].flatMap((column) => {
    const unit = column === undefined ? null : (table.columns[column.index]?.unit ?? null);
    if (column === undefined || unit === null || plain(unit) === plain(unitLabel)) return [];
    return [
      {
        severity: 'warning' as const,
        file: table.file,
        row: table.headerRow,
        field: column.name,
        message: `column '${column.name}' of ${table.file} is headed in ${unit}, while ${name} is in ${unitLabel}; its numbers are taken as ${unitLabel}: choose a system in ${unit} if the header is right`,
      },
    ];
  });
}

/** Labels are compared without regard to case and spaces: `P 3` and `p3` in one file are one probe. */
export function labelKey(label: string): string {
  return label.toLowerCase().replace(/\s+/g, '');
}

export type KnownProbes = ReadonlyMap<string, NonNullable<ImportContext['knownProbes']>[number]>;

export function hasPosition(row: SheetRow): row is SheetRow & FilePoint {
  return row.x !== null && row.y !== null;
}

export function findDoubledRows(table: CsvTable, rows: readonly SheetRow[]): RowIssue[] {
  const cellsOf = new Map(table.rows.map((r) => [r.row, r.cells.join('\u0000')]));
  const first = new Map<string, number>();
  const issues: RowIssue[] = [];
  for (const { row, label } of rows) {
    const text = cellsOf.get(row) ?? '';
    const earlier = first.get(text);
    if (earlier === undefined) {
      first.set(text, row);
      continue;
    }
    issues.push({
      severity: 'error',
      file: table.file,
      row,
      field: null,
      message: `row ${row} of ${table.file} (probe '${label}') is row ${earlier} again, letter for letter; it is left out so as not to count twice`,
    });
  }
  return issues;
}

export function findHalfPositions(
  rows: readonly SheetRow[],
  file: string,
  names: { x: string; y: string },
): RowIssue[] {
  return rows
    .filter((r) => (r.x === null) !== (r.y === null))
    .map(({ row, label, x }) => {
      const field = x === null ? names.x : names.y;
      return {
        severity: 'error' as const,
        file,
        row,
        field,
        message: `row ${row} of ${file}: probe '${label}' has only one coordinate; column '${field}' is empty`,
      };
    });
}

/**
 * Rows whose label stands at two places: none of them is used, since either can be the wrong one. A planned place is
 * no second one.
 */
export function findDoubleLabels(
  rows: readonly SheetRow[],
  file: string,
  field: string,
  context: ImportContext,
  known: KnownProbes,
): RowIssue[] {
  const issues: RowIssue[] = [];
  for (const [key, group] of groupByLabel(rows.filter(hasPosition))) {
    const before = known.get(key);
    if (before !== undefined && before.isPlanned !== true) {
      for (const r of group) {
        const apart = distanceM(r, before, context.system);
        if (apart <= SAME_PROBE_M) continue;
        issues.push({
          severity: 'error',
          file,
          row: r.row,
          field,
          message: `row ${r.row} of ${file}: duplicate probe id '${r.label}': the project already has it ${apart.toFixed(1)} m away; rename it or correct its coordinates`,
        });
      }
      continue;
    }
    const first = group[0];
    const other = group.find(
      (r) => first !== undefined && distanceM(r, first, context.system) > SAME_PROBE_M,
    );
    if (first === undefined) continue;
    if (other === undefined) {
      const offPlan = before === undefined ? 0 : distanceM(first, before, context.system);
      if (offPlan > FAR_FROM_PLAN_M) {
        issues.push({
          severity: 'warning',
          file,
          row: first.row,
          field,
          message: `row ${first.row} of ${file}: probe '${first.label}' was planned ${offPlan.toFixed(1)} m from here; it is taken to stand here: check its label and coordinates`,
        });
      }
      continue;
    }
    const apart = distanceM(first, other, context.system).toFixed(1);
    for (const r of group) {
      issues.push({
        severity: 'error',
        file,
        row: r.row,
        field,
        message: `row ${r.row} of ${file}: duplicate probe id '${r.label}': rows ${first.row} and ${other.row} put it at two places ${apart} m apart; rename one or correct its coordinates`,
      });
    }
  }
  return issues;
}

/** First cells of the rows that people put under a table. */
const SUMMARY_WORDS =
  /^(?:grand )?(?:totals?|sums?|mean|average|avg\.?|median|min(?:imum)?\.?|max(?:imum)?\.?|st\.? ?dev\.?|std\.?|count|n|range|geometric mean|third quartile|75 ?%)\s*:?$/i;

export function findUnplacedRows(
  rows: readonly SheetRow[],
  file: string,
  field: string,
  known: KnownProbes,
): RowIssue[] {
  const placed = new Set(rows.filter(hasPosition).map((r) => labelKey(r.label)));
  return rows
    .filter((r) => !hasPosition(r) && !placed.has(labelKey(r.label)) && !known.has(labelKey(r.label)))
    .map(({ row, label, kind }) => ({
      severity: 'error' as const,
      file,
      row,
      field,
      message:
        kind === 'blank'
          ? `row ${row} of ${file}: blank '${label}' belongs to no placed probe; give it the label of the probe it was drawn at`
          : SUMMARY_WORDS.test(label)
            ? `row ${row} of ${file}: '${label}' is taken as a row of totals, since it has no coordinates; it is left out`
            : `row ${row} of ${file}: probe '${label}' has no coordinates in this or any other row`,
    }));
}

export function findSharedHoles(
  probes: readonly {
    readonly label: string;
    readonly x: number;
    readonly y: number;
    readonly rows: readonly number[];
  }[],
  file: string,
  context: ImportContext,
): RowIssue[] {
  const issues: RowIssue[] = [];
  const standing = (context.knownProbes ?? []).filter((p) => p.isPlanned !== true);
  const others = standing.map((p) => ({ ...p, row: null as number | null }));
  for (const p of probes) {
    const twin = others.find(
      (o) => distanceM(o, p, context.system) <= SAME_HOLE_M && labelKey(o.label) !== labelKey(p.label),
    );
    const row = p.rows[0] ?? null;
    if (twin !== undefined) {
      const where = twin.row === null ? 'of the project' : `of row ${twin.row}`;
      issues.push({
        severity: 'warning',
        file,
        row,
        field: null,
        message: `row ${row} of ${file}: probe '${p.label}' stands in the same place as '${twin.label}' ${where}; if it is one hole, give both rows one label`,
      });
    }
    others.push({ label: p.label, x: p.x, y: p.y, row });
  }
  return issues;
}

export function groupByLabel<R extends SheetRow>(rows: readonly R[]): Map<string, R[]> {
  const groups = new Map<string, R[]>();
  for (const r of rows) {
    const group = groups.get(labelKey(r.label));
    if (group === undefined) groups.set(labelKey(r.label), [r]);
    else group.push(r);
  }
  return groups;
}
