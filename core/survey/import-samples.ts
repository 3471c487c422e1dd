import type { PermeabilityClass, ProbeState, SampleValues } from '../contract/model.ts';
import type { ImportMapping, RowIssue } from '../contract/requests.ts';
import type { RowReading } from './cell-reader.ts';
import { checkCoordinates, type ImportContext } from './check-coordinates.ts';
import {
  findDoubledRows,
  findDoubleLabels,
  findHalfPositions,
  findSharedHoles,
  findUnitClash,
  findUnplacedRows,
  groupByLabel,
  hasPosition,
  type KnownProbes,
  labelKey,
} from './check-rows.ts';
import type { CsvTable } from './csv-table.ts';
import { type MatchedRows, matchCodes, passOverEmpty, placeByOffset } from './match-codes.ts';
import { inferDateOrder } from './parse-cell.ts';
import type { FieldNotesDraft } from './read-field-notes.ts';
import { readSampleRow, type SheetRow } from './read-sample-row.ts';
import { guessMapping, resolveColumns } from './sample-columns.ts';
import { ASSUMED_RELATIVE_U } from './thresholds.ts';

/** A probe as the file describes it; coordinates in the system of the file. */
export interface ProbeDraft {
  readonly label: string;
  readonly x: number;
  readonly y: number;
  readonly state: ProbeState;
  readonly added: boolean;
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

export interface SampleDraft extends SampleValues {
  readonly probeLabel: string;
  readonly notes: FieldNotesDraft;
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
  /** By the scheme's limits; absent: a bound gives no class. */
  readonly classOfBound?: RowReading['classOfBound'];
}

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
    classOfBound: options.classOfBound ?? (() => null),
    onceSeen: new Map(),
  };
  const bad = new Set(issues.filter((i) => i.severity === 'error').map((i) => i.row));
  let rows: SheetRow[] = [];
  for (const source of table.rows) {
    if (bad.has(source.row)) continue;
    const read = readSampleRow(source, reading);
    issues.push(...read.issues);
    if (read.row !== null) rows.push(read.row);
  }
  const sheet = { file: table.file, headerRow: table.headerRow, columns };
  const take = (matched: MatchedRows) => {
    issues.push(...matched.issues);
    rows = [...matched.rows];
  };
  take(matchCodes(rows, context.codes ?? [], sheet));
  take(passOverEmpty(rows, sheet));
  take(placeByOffset(rows, known, context.system, sheet));
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

function buildProbes(
  rows: readonly SheetRow[],
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
      return (given[0]?.[field] ?? null) as SheetRow[K];
    };
    const refused = group.every((r) => r.saidRefused);
    const givenUp = group.every((r) => r.saidRefused || r.saidState === 'abandoned');
    const notes = group.map((r) => r.permeabilityNote).filter((n) => n !== null);
    probes.push({
      label: before?.label ?? first.label,
      x: place.x,
      y: place.y,
      added: group.some((r) => r.saidAdded),
      state: refused ? 'refused' : givenUp ? 'abandoned' : 'driven',
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
  rows: readonly SheetRow[],
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
      ...(r.radonAboveKBqPerM3 === null ? {} : { radonAboveKBqPerM3: r.radonAboveKBqPerM3 }),
      oxygenPct: r.oxygenPct,
      carbonDioxidePct: r.carbonDioxidePct,
      suctionPa: r.suctionPa,
      saidFreshAir: r.saidFreshAir,
      saidWater: r.saidWater,
      remark: r.remark,
      notes: r.notes,
      source: { file, row: r.row },
    };
  });
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
