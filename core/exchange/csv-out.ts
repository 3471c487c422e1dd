/** Tables for spreadsheets and other programs: RFC 4180, units in the headers, numbers as exact as they are kept. */
import type { ProjectView, Sample } from '../contract/model.ts';
import {
  type Cell,
  type Column,
  column,
  probeColumns,
  type SampleRow,
  sampleColumns,
  sampleRows,
} from './columns.ts';

/**
 * One row a sample, with its probe's place and description and how it was treated. Coordinates are the project's own,
 * values SI. The file can be imported again and gives the same values.
 */
export function writeSamplesCsv(view: ProjectView): string {
  const radon = column<SampleRow>('radon_kbq_per_m3', 'Radon (kBq/m3)', 'text', ({ sample }) =>
    radonCell(sample),
  );
  return writeTable(sampleColumns(view, [radon]), sampleRows(view));
}

/** One row a probe, also those without a sample, with what its samples come to together. */
export function writeProbesCsv(view: ProjectView): string {
  return writeTable(probeColumns(view), view.probes);
}

function radonCell(sample: Sample): Cell {
  if (sample.radonKBqPerM3 !== null) return sample.radonKBqPerM3;
  return sample.radonBelowKBqPerM3 === null ? null : `<${sample.radonBelowKBqPerM3}`;
}

function writeTable<R>(columns: readonly Column<R>[], rows: readonly R[]): string {
  const head = csvLine(columns.map((column) => column.header));
  const lines = rows.map((row) => csvLine(columns.map((column) => cellText(column.cell(row)))));
  return [head, ...lines].join('');
}

/** One record of RFC 4180 with its line end. */
export function csvLine(cells: readonly string[]): string {
  return `${cells.map(quote).join(',')}\r\n`;
}

/** Numbers in the shortest form that reads back as the same number. */
function cellText(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  return String(cell);
}

function quote(text: string): string {
  return /[",\r\n]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
