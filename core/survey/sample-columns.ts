import type { ColumnChoice, ImportField, ImportMapping, RowIssue } from '../contract/requests.ts';
import { CLASS_WORD, FIELD_WORDS, type FieldWords } from './column-words.ts';
import type { CsvColumn, CsvTable } from './csv-table.ts';

/**
 * A column for each field that a header points to, with the unit the header names. Whole-header matches win over
 * words within a header, these over units alone; no column serves two fields.
 */
export function guessMapping(columns: readonly CsvColumn[]): ImportMapping {
  const bids: { field: ImportField; column: CsvColumn; score: number; order: number }[] = [];
  columns.forEach((column, order) => {
    for (const words of FIELD_WORDS) {
      const score = scoreHeader(words, column);
      if (score > 0) bids.push({ field: words.field, column, score, order });
    }
  });
  bids.sort((a, b) => b.score - a.score || a.order - b.order);
  const mapping: { [F in ImportField]?: ColumnChoice } = {};
  const used = new Set<string>();
  for (const { field, column } of bids) {
    if (mapping[field] !== undefined || used.has(column.name)) continue;
    mapping[field] =
      column.unit === null ? { column: column.name } : { column: column.name, unit: column.unit };
    used.add(column.name);
  }
  return mapping;
}

function scoreHeader(words: FieldWords, column: CsvColumn): number {
  const base = plainHeader(column.base);
  const whole = plainHeader(column.name);
  if (words.never?.test(whole) === true) return 0;
  if (words.field !== 'permeabilityClass' && CLASS_WORD.test(whole)) return 0;
  if (words.exact.includes(base) || words.exact.includes(whole)) return 3;
  if (words.within?.test(whole) === true) return 2;
  return column.unit !== null && words.units?.includes(column.unit) === true ? 1 : 0;
}

function plainHeader(header: string): string {
  return header
    .normalize('NFKD')
    .replace(/[\u0300-\u036f]/g, '')
    .toLowerCase()
    .replace(/[_./:#°]+/g, ' ')
    .replace(/(\w)-(\w)/g, '$1 $2')
    .replace(/\s+/g, ' ')
    .trim();
}

/** Units a field may be written in; the first is taken where neither mapping nor header names one. */
export const FIELD_UNITS: { readonly [F in ImportField]?: readonly string[] } = {
  depth: ['m', 'cm', 'ft', 'ft-us', 'in'],
  offsetEast: ['m', 'cm', 'ft', 'ft-us', 'in'],
  offsetNorth: ['m', 'cm', 'ft', 'ft-us', 'in'],
  radon: ['kBq/m3', 'Bq/m3', 'pCi/L'],
  radonU: ['kBq/m3', 'Bq/m3', 'pCi/L', '%'],
  oxygen: ['%', 'ppm'],
  carbonDioxide: ['%', 'ppm'],
  suction: ['Pa', 'kPa', 'hPa', 'mbar', 'inH2O', 'cmH2O', 'mmHg'],
  permeability: ['m2', 'cm2', 'um2', 'darcy'],
  fineFraction: ['%'],
  pumped: ['mL', 'L'],
  line: ['mL', 'L'],
  flow: ['mL/min', 'L/min'],
  airPorosity: ['share', '%'],
  tracer: ['%', 'ppm'],
  tracerShroud: ['%', 'ppm'],
};

export interface FieldColumn {
  readonly index: number;
  readonly name: string;
  /** null for fields without a unit. */
  readonly unit: string | null;
  readonly coverageFactor: number | null;
  readonly zoneMinutes: number | null;
}

export type FieldColumns = { readonly [F in ImportField]?: FieldColumn };

/** Fields whose usual units differ so much that an unnamed one is said. */
const UNIT_MATTERS = new Set<ImportField>([
  'depth',
  'offsetEast',
  'offsetNorth',
  'radon',
  'suction',
  'pumped',
  'line',
  'flow',
  'tracer',
  'tracerShroud',
]);

/** Columns without which no sample can be placed or valued. */
const REQUIRED: readonly ImportField[] = ['label', 'x', 'y', 'radon'];

/** Finds the mapping's columns in the table. Missing ones and units that do not fit the field become issues. */
export function resolveColumns(
  table: CsvTable,
  mapping: ImportMapping,
  needsPosition: boolean,
): { columns: FieldColumns; issues: RowIssue[] } {
  const issues: RowIssue[] = [];
  const columns: { [F in ImportField]?: FieldColumn } = {};
  const add = (severity: RowIssue['severity'], field: string, message: string) =>
    issues.push({ severity, file: table.file, row: table.headerRow, field, message });
  const have = table.columns.map((c) => `'${c.name}'`).join(', ');
  for (const words of FIELD_WORDS) {
    const { field } = words;
    const choice = mapping[field];
    if (choice === undefined) continue;
    const index = table.columns.findIndex((c) => c.name === choice.column);
    const column = table.columns[index];
    if (column === undefined) {
      add(
        'error',
        field,
        `${table.file} has no column '${choice.column}' for ${field}; row ${table.headerRow} has ${have}`,
      );
      continue;
    }
    const twin = Object.entries(columns).find(([, c]) => c.index === index)?.[0];
    if (twin !== undefined) {
      add('error', field, `column '${column.name}' of ${table.file} is chosen for both ${twin} and ${field}`);
      continue;
    }
    const allowed = FIELD_UNITS[field];
    const named = choice.unit ?? column.unit;
    let unit: string | null = allowed?.[0] ?? null;
    if (allowed !== undefined && named !== null && !allowed.includes(named)) {
      add(
        'error',
        field,
        `unit '${named}' of column '${column.name}' does not fit ${field}: use one of ${allowed.join(', ')}`,
      );
      continue;
    }
    if (allowed !== undefined && named !== null) unit = named;
    else if (field === 'radonU') unit = columns.radon?.unit ?? unit;
    else if (UNIT_MATTERS.has(field)) {
      add('warning', field, `column '${column.name}' of ${table.file} names no unit; taken as ${unit}`);
    }
    const { name, coverageFactor, zoneMinutes } = column;
    columns[field] = { index, name, unit, coverageFactor, zoneMinutes };
  }
  for (const field of REQUIRED) {
    if (mapping[field] !== undefined || columns[field] !== undefined) continue;
    if (!needsPosition && (field === 'x' || field === 'y')) continue;
    if (field === 'label' && columns.code !== undefined) continue;
    add(
      'error',
      field,
      `no column of ${table.file} is chosen for ${field}; row ${table.headerRow} has ${have}${field === 'radon' ? '. Where counts will give it, add an empty column Radon (kBq/m3)' : ''}`,
    );
  }
  return { columns, issues };
}
