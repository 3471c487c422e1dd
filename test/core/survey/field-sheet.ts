import type { ImportContext } from '../../../core/survey/check-coordinates.ts';
import { type CsvTable, readTable, type TableOptions } from '../../../core/survey/csv-table.ts';

/** Invented sheets for the tests of this folder. */
export function bytes(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}

export function table(text: string, options: TableOptions = {}): CsvTable {
  return readTable(bytes(text), 'sheet.csv', options);
}

export const LOCAL: ImportContext = {
  system: { kind: 'local', metresPerUnit: 1, unitLabel: 'm', name: 'the local grid' },
  lotRing: [
    [0, 0],
    [40, 0],
    [40, 25],
    [0, 25],
  ],
};

/** A lot in a projected system; the numbers are of a size as UTM gives them. */
export const PROJECTED: ImportContext = {
  system: { kind: 'projected', metresPerUnit: 1, unitLabel: 'm', name: 'EPSG 32633' },
  lotRing: [
    [458_300, 5_548_700],
    [458_340, 5_548_700],
    [458_340, 5_548_725],
    [458_300, 5_548_725],
  ],
};

export interface SheetRow {
  readonly label: string;
  readonly x: number | string;
  readonly y: number | string;
  readonly radon: number | string;
  readonly u?: number | string;
  readonly rest?: string;
}

/** A plain comma-separated sheet with columns probe, x, y, depth (m), radon (kBq/m3), u. */
export function sheet(
  rows: readonly SheetRow[],
  header = 'probe,x,y,depth (m),radon (kBq/m3),u (kBq/m3)',
): string {
  const lines = rows.map((r) => `${r.label},${r.x},${r.y},0.8,${r.radon},${r.u ?? 2}${r.rest ?? ''}`);
  return [header, ...lines, ''].join('\n');
}

/** 15 invented probes on a 5 m grid of the local lot. */
export function plainRows(): SheetRow[] {
  return Array.from({ length: 15 }, (_, i) => ({
    label: `P${i + 1}`,
    x: 5 + 5 * (i % 5),
    y: 5 + 5 * Math.floor(i / 5),
    radon: 20 + ((i * 7) % 15),
  }));
}
