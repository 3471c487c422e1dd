import type { PermeabilityClass, ProbeState, SampleKind } from '../contract/model.ts';
import type { ImportMapping, RowIssue } from '../contract/requests.ts';
import { checkCoordinates, distanceM, type FilePoint, type ImportContext } from './check-coordinates.ts';
import type { CsvTable } from './csv-table.ts';
import { inferDateOrder } from './parse-cell.ts';
import { type RowReading, readSampleRow, type SampleRow } from './read-sample-row.ts';
import { type FieldColumns, guessMapping, resolveColumns } from './sample-columns.ts';
import { ASSUMED_RELATIVE_U } from './thresholds.ts';

/** A probe as the file describes it; coordinates in the system of the file. */
export interface ProbeDraft {
  readonly label: string;
  readonly x: number;
  readonly y: number;
  readonly state: ProbeState;
  readonly depthM: number | null;
  readonly soil: string | null;
  readonly fineFractionPct: number | null;
  readonly permeabilityM2: number | null;
  readonly permeabilityClass: PermeabilityClass | null;
  readonly note: string | null;
  /** True where the project already holds a probe of this label at this place. */
  readonly known: boolean;
  /** Set where it is a planned probe: driven where the plan has it, or where the file says. */
  readonly meetsPlan: 'as-planned' | 'moved' | null;
  readonly rows: readonly number[];
}

export interface SampleDraft {
  readonly probeLabel: string;
  readonly kind: SampleKind;
  readonly takenUtc: string | null;
  readonly depthM: number | null;
  readonly radonKBqPerM3: number | null;
  /** k = 1; null where the file gives none, which is not zero. */
  readonly radonUKBqPerM3: number | null;
  /** Set instead of a value where the file has `<x`. */
  readonly radonBelowKBqPerM3: number | null;
  readonly oxygenPct: number | null;
  readonly carbonDioxidePct: number | null;
  readonly suctionPa: number | null;
  readonly saidFreshAir: boolean;
  readonly saidWater: boolean;
  readonly remark: string | null;
  readonly source: { readonly file: string; readonly row: number };
}

export interface SampleDrafts {
  readonly mapping: ImportMapping;
  readonly probes: readonly ProbeDraft[];
  readonly samples: readonly SampleDraft[];
  /** The table's issues and these, in order of rows; an error with a row means that row is in neither list above. */
  readonly issues: readonly RowIssue[];
  readonly rowCount: number;
  readonly goodRows: number;
}

export interface DraftOptions {
  /** Guessed from the headers where absent. */
  readonly mapping?: ImportMapping;
  /** Coverage factor of the file's uncertainties; a factor in the header itself wins. 1 where absent. */
  readonly coverageFactor?: number;
}

/** Two positions of one label farther apart than this are two probes. */
const SAME_PROBE_M = 0.5;
/** A planned probe driven farther off than this is more likely a wrong label (common practice: rods move by metres). */
const FAR_FROM_PLAN_M = 10;
/** Two labels nearer than this share one hole. */
const SAME_HOLE_M = 0.05;

/**
 * Probes and samples of a table. A row with an error is left out and named, every other row is kept; rows of one
 * label are samples of one probe, the later ones repeats unless the file says otherwise.
 */
export function draftSamples(table: CsvTable, options: DraftOptions, context: ImportContext): SampleDrafts {
  const mapping = options.mapping ?? guessMapping(table.columns);
  const known = new Map((context.knownProbes ?? []).map((p) => [labelKey(p.label), p]));
  const { columns, issues } = resolveColumns(table, mapping, known.size === 0);
  issues.unshift(...table.issues);
  const nothing = { mapping, probes: [], samples: [], rowCount: table.rows.length, goodRows: 0 };
  if (issues.some((i) => i.severity === 'error' && i.row === table.headerRow)) return { ...nothing, issues };

  issues.push(...findUnitClash(table, columns, context));
  const takenIndex = columns.taken?.index;
  const reading: RowReading = {
    file: table.file,
    columns,
    decimal: table.decimal,
    dateOrder:
      takenIndex === undefined ? 'unknown' : inferDateOrder(table.rows.map((r) => r.cells[takenIndex] ?? '')),
    coverageFactor: options.coverageFactor ?? 1,
    onceSeen: new Map(),
  };
  const bad = new Set(issues.filter((i) => i.severity === 'error').map((i) => i.row));
  let rows: SampleRow[] = [];
  for (const source of table.rows) {
    if (bad.has(source.row)) continue;
    const read = readSampleRow(source, reading);
    issues.push(...read.issues);
    if (read.row !== null) rows.push(read.row);
  }
  const drop = (found: readonly RowIssue[]) => {
    issues.push(...found);
    const out = new Set(found.filter((i) => i.severity === 'error').map((i) => i.row));
    rows = rows.filter((r) => !out.has(r.row));
  };
  const names = { x: columns.x?.name ?? 'x', y: columns.y?.name ?? 'y' };
  drop(findDoubledRows(table, rows));
  drop(findHalfPositions(rows, table.file, names));
  drop(checkCoordinates(rows.filter(hasPosition), names, table.file, context));
  drop(findDoubleLabels(rows, table.file, columns.label?.name ?? 'label', context, known));
  drop(findUnplacedRows(rows, table.file, names.x, known));
  const probes = buildProbes(rows, table.file, known, issues);
  issues.push(...findSharedHoles(probes, table.file, context));
  issues.push(...sayOnce(reading, columns.radonU?.name ?? null, columns.taken?.name ?? 'taken'));
  const sampled = (context.knownProbes ?? [])
    .filter((p) => p.hasSamples === true)
    .map((p) => labelKey(p.label));
  const samples = buildSamples(rows, table.file, probes, sampled);
  issues.sort((a, b) => (a.row ?? 0) - (b.row ?? 0));
  return { mapping, probes, samples, issues, rowCount: table.rows.length, goodRows: rows.length };
}

/** A header that names another unit of length than the coordinate system has. */
function findUnitClash(table: CsvTable, columns: FieldColumns, context: ImportContext): RowIssue[] {
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
function labelKey(label: string): string {
  return label.toLowerCase().replace(/\s+/g, '');
}

type KnownProbes = ReadonlyMap<string, NonNullable<ImportContext['knownProbes']>[number]>;

function hasPosition(row: SampleRow): row is SampleRow & FilePoint {
  return row.x !== null && row.y !== null;
}

function findDoubledRows(table: CsvTable, rows: readonly SampleRow[]): RowIssue[] {
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

function findHalfPositions(
  rows: readonly SampleRow[],
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
function findDoubleLabels(
  rows: readonly SampleRow[],
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

function findUnplacedRows(
  rows: readonly SampleRow[],
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
          : `row ${row} of ${file}: probe '${label}' has no coordinates in this or any other row`,
    }));
}

function buildProbes(
  rows: readonly SampleRow[],
  file: string,
  known: KnownProbes,
  issues: RowIssue[],
): ProbeDraft[] {
  const probes: ProbeDraft[] = [];
  for (const [key, group] of groupByLabel(rows)) {
    const before = known.get(key);
    const isPlanned = before?.isPlanned === true;
    const own = group.find(hasPosition);
    const place = isPlanned ? (own ?? before) : (before ?? own);
    const first = group[0];
    if (place === undefined || first === undefined) continue;
    const pick = <K extends 'soil' | 'fineFractionPct' | 'permeabilityM2' | 'permeabilityClass'>(
      field: K,
    ) => {
      const given = group.filter((r) => r[field] !== null);
      const differing = given.find((r) => r[field] !== given[0]?.[field]);
      if (differing !== undefined) {
        issues.push({
          severity: 'warning',
          file,
          row: differing.row,
          field,
          message: `row ${differing.row} of ${file}: probe '${first.label}' has ${field} '${differing[field]}' here and '${given[0]?.[field]}' in row ${given[0]?.row}; the earlier one is kept`,
        });
      }
      return (given[0]?.[field] ?? null) as SampleRow[K];
    };
    const refused = group.every((r) => r.saidRefused);
    const notes = group.map((r) => r.permeabilityNote).filter((n) => n !== null);
    probes.push({
      label: before?.label ?? first.label,
      x: place.x,
      y: place.y,
      state: refused ? 'refused' : 'driven',
      depthM: group.find((r) => r.depthM !== null)?.depthM ?? null,
      soil: pick('soil'),
      fineFractionPct: pick('fineFractionPct'),
      permeabilityM2: pick('permeabilityM2'),
      permeabilityClass: pick('permeabilityClass'),
      note: notes.length === 0 ? null : notes.join('; '),
      known: before !== undefined,
      meetsPlan: !isPlanned ? null : own === undefined ? 'as-planned' : 'moved',
      rows: group.map((r) => r.row),
    });
  }
  return probes;
}

function buildSamples(
  rows: readonly SampleRow[],
  file: string,
  probes: readonly ProbeDraft[],
  sampled: readonly string[],
): SampleDraft[] {
  const labels = new Map(probes.map((p) => [labelKey(p.label), p.label]));
  const begun = new Set<string>(sampled);
  return rows.map((r) => {
    const key = labelKey(r.label);
    const kind = r.kind ?? (begun.has(key) ? 'repeat' : 'grab');
    if (kind !== 'blank') begun.add(key);
    return {
      probeLabel: labels.get(key) ?? r.label,
      kind,
      takenUtc: r.takenUtc,
      depthM: r.depthM,
      radonKBqPerM3: r.radonKBqPerM3,
      radonUKBqPerM3: r.radonUKBqPerM3,
      radonBelowKBqPerM3: r.radonBelowKBqPerM3,
      oxygenPct: r.oxygenPct,
      carbonDioxidePct: r.carbonDioxidePct,
      suctionPa: r.suctionPa,
      saidFreshAir: r.saidFreshAir,
      saidWater: r.saidWater,
      remark: r.remark,
      source: { file, row: r.row },
    };
  });
}

function findSharedHoles(probes: readonly ProbeDraft[], file: string, context: ImportContext): RowIssue[] {
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

function sayOnce(reading: RowReading, uColumn: string | null, takenColumn: string): RowIssue[] {
  const issues: RowIssue[] = [];
  const bare = reading.onceSeen.get('uncertainty');
  if (bare !== undefined) {
    issues.push({
      severity: 'warning',
      file: reading.file,
      row: bare[0] ?? null,
      field: uColumn,
      message:
        `${bare.length} radon values of ${reading.file} carry no uncertainty (rows ${listRows(bare)}). It is not taken as zero: ` +
        `${ASSUMED_RELATIVE_U * 100} % of the value (k = 1) is assumed until one is entered`,
    });
  }
  const local = reading.onceSeen.get('zone');
  if (local !== undefined) {
    issues.push({
      severity: 'warning',
      file: reading.file,
      row: local[0] ?? null,
      field: takenColumn,
      message: `times in column '${takenColumn}' of ${reading.file} name no time zone (rows ${listRows(local)}); taken as UTC`,
    });
  }
  return issues;
}

function listRows(rows: readonly number[]): string {
  return rows.length <= 8 ? rows.join(', ') : `${rows.slice(0, 7).join(', ')} and ${rows.length - 7} more`;
}

function groupByLabel<R extends SampleRow>(rows: readonly R[]): Map<string, R[]> {
  const groups = new Map<string, R[]>();
  for (const r of rows) {
    const group = groups.get(labelKey(r.label));
    if (group === undefined) groups.set(labelKey(r.label), [r]);
    else group.push(r);
  }
  return groups;
}
