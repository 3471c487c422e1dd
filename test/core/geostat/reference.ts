/** Reads the reference files in test/reference/geostat (sources and licences in its README). */
import { readFileSync } from 'node:fs';
import type { StructureKind, VariogramModel } from '../../../core/geostat/models.ts';

const FOLDER = new URL('../../reference/geostat/', import.meta.url);

export function readJson(name: string): unknown {
  return JSON.parse(readFileSync(new URL(name, FOLDER), 'utf8'));
}

/** Columns as numbers (NaN where empty or text), rows as text. */
export function readTable(name: string): {
  column(name: string): Float64Array;
  readonly rows: readonly Record<string, string>[];
} {
  const lines = readFileSync(new URL(name, FOLDER), 'utf8').trim().split('\n');
  const header = (lines[0] as string).split(',');
  const rows = lines.slice(1).map((line) => {
    const cells = line.split(',');
    return Object.fromEntries(header.map((h, i) => [h, cells[i] ?? '']));
  });
  return {
    rows,
    column(wanted) {
      if (!header.includes(wanted)) throw new Error(`${name} has no column ${wanted}`);
      return Float64Array.from(rows, (r) => (r[wanted] === '' ? Number.NaN : Number(r[wanted])));
    },
  };
}

export function interleave(x: Float64Array, y: Float64Array): Float64Array {
  const out = new Float64Array(2 * x.length);
  x.forEach((v, i) => {
    out[2 * i] = v;
    out[2 * i + 1] = y[i] as number;
  });
  return out;
}

interface CaseStructure {
  readonly model: string;
  readonly psill: number;
  readonly range: number;
  readonly kappa?: number;
  readonly angle_deg_cw_from_north?: number;
  readonly ratio_minor_over_major?: number;
}

const KINDS: Record<string, StructureKind> = {
  Sph: 'spherical',
  Exp: 'exponential',
  Gau: 'gaussian',
  Mat: 'matern',
};

/** The exact model of a case in cases.json; `Err` parts are given back apart. */
export function caseModel(
  name: string,
  field = 'model',
): { readonly model: VariogramModel; readonly errorVariance: number } {
  const all = readJson('cases.json') as Record<string, Record<string, readonly CaseStructure[]>>;
  const parts = all[name]?.[field];
  if (parts === undefined) throw new Error(`cases.json has no ${name}.${field}`);
  const sum = (what: string) => parts.filter((p) => p.model === what).reduce((s, p) => s + p.psill, 0);
  const structures = parts
    .filter((p) => KINDS[p.model] !== undefined)
    .map((p) => ({
      kind: KINDS[p.model] as StructureKind,
      partialSill: p.psill,
      rangeM: p.range,
      ...(p.model === 'Mat' ? { smoothness: p.kappa ?? 0.5 } : {}),
      ...(p.angle_deg_cw_from_north === undefined
        ? {}
        : {
            anisotropy: { azimuthDeg: p.angle_deg_cw_from_north, ratio: p.ratio_minor_over_major as number },
          }),
    }));
  return { model: { nugget: sum('Nug'), structures }, errorVariance: sum('Err') };
}

const meuse = readTable('meuse.csv');
const grid = readTable('meuse_grid.csv');

export const meuseXy = interleave(meuse.column('x'), meuse.column('y'));
export const zinc = meuse.column('zinc');
export const logZinc = zinc.map(Math.log);
export const gridXy = interleave(grid.column('x'), grid.column('y'));
export const meuseColumn = (name: string) => meuse.column(name);

export function largestDifference(
  a: ArrayLike<number>,
  b: ArrayLike<number>,
  skip: readonly number[] = [],
): number {
  if (a.length !== b.length) throw new Error(`lengths ${a.length} and ${b.length} differ`);
  let worst = 0;
  for (let i = 0; i < a.length; i++) {
    if (skip.includes(i)) continue;
    const x = a[i] as number;
    const y = b[i] as number;
    if (Number.isNaN(x) && Number.isNaN(y)) continue;
    const d = Math.abs(x - y);
    // a NaN on one side only must fail, not vanish in Math.max
    worst = Number.isNaN(d) ? Number.POSITIVE_INFINITY : Math.max(worst, d);
  }
  return worst;
}

export function largestRelativeDifference(a: ArrayLike<number>, b: ArrayLike<number>): number {
  return largestDifference(
    Float64Array.from(a, (v, i) => v / (b[i] as number)),
    new Float64Array(a.length).fill(1),
  );
}
