/** Tables for spreadsheets and other programs: RFC 4180, units in the headers, numbers as exact as they are kept. */
import type { ProjectView, Sample } from '../contract/model.ts';
import {
  type Cell,
  type Column,
  column,
  placeColumns,
  probeColumns,
  type SampleRow,
  sampleColumns,
  sampleRows,
} from './columns.ts';
import { type ExportOptions, lonLatPlace, mapPlace } from './map-place.ts';

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

/**
 * One row a probe for the receiver in the field: place in the project's own system and, where the project lies on a
 * map, on WGS 84.
 * @param options.order - ids of the probes to stake out, in the order they are walked; all of them where absent
 * @throws AppError BAD_INPUT where the datum operation is not to be had offline
 */
export function writeStakeOutCsv(
  view: ProjectView,
  options: ExportOptions & { readonly order?: readonly string[] } = {},
): string {
  const byId = new Map(view.probes.map((probe) => [probe.id, probe]));
  const probes = options.order?.flatMap((id) => byId.get(id) ?? []) ?? view.probes;
  const hasMap = mapPlace(view, options).code !== null;
  const places = hasMap
    ? lonLatPlace(view, 'CSV', options).toLonLat(probes.map((probe) => probe.positionM))
    : [];
  const { order, codes } = options;
  const rows = probes.map((probe, i) => ({ probe, stop: i + 1, lonLat: places[i] ?? null }));
  const columns: Column<(typeof rows)[number]>[] = [
    ...(order === undefined
      ? []
      : [column<(typeof rows)[number]>('stop', 'Stop', 'whole', ({ stop }) => stop)]),
    ...(codes === undefined
      ? []
      : [column<(typeof rows)[number]>('code', 'Code', 'text', ({ probe }) => codes.get(probe.id) ?? null)]),
    ...placeColumns<(typeof rows)[number]>(view, ({ probe }) => probe),
    column('depth_m', 'Depth (m)', 'number', ({ probe }) => probe.depthM),
  ];
  if (hasMap) {
    columns.push(
      column('longitude_deg', 'WGS 84 longitude (deg)', 'number', ({ lonLat }) => lonLat?.[0] ?? null),
      column('latitude_deg', 'WGS 84 latitude (deg)', 'number', ({ lonLat }) => lonLat?.[1] ?? null),
    );
  }
  return writeTable(columns, rows);
}

function radonCell(sample: Sample): Cell {
  if (sample.radonKBqPerM3 !== null) return sample.radonKBqPerM3;
  if (sample.radonAboveKBqPerM3 !== undefined) return `>${sample.radonAboveKBqPerM3}`;
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
