// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { LEAST_SMOOTHNESS, tabulate } from '../kernels/correlation-table.ts';
import { CORRELATION, type KernelStructure } from '../kernels/kernels.ts';
import { COMPILED_STRIDE, structuredCovariance } from './models.ts';

/** A model as the kernels take it. */
export interface KernelModel {
  /** `table` is an index into `tables` until these have a place in the kernels' memory. */
  readonly structures: readonly KernelStructure[];
  readonly tables: readonly Float64Array[];
  /** What the kernels do not know, as a compiled model of its own. */
  readonly others: Float64Array;
}

export function kernelModel(compiled: Float64Array): KernelModel {
  const structures: KernelStructure[] = [];
  const tables: Float64Array[] = [];
  const others: number[] = [0, 0];
  for (let at = 2; at < compiled.length; at += COMPILED_STRIDE) {
    const structure = compiled.subarray(at, at + COMPILED_STRIDE);
    const kind = kernelKind(structure[0]!, structure[2]!);
    if (kind === null) others.push(...structure);
    else {
      const [scale, a, b, c, d] = [1, 4, 5, 6, 7].map((i) => structure[i]!) as [
        number,
        number,
        number,
        number,
        number,
      ];
      structures.push({ kind, scale, a, b, c, d, table: tables.length });
      if (kind === CORRELATION.tabulated) tables.push(tableOf(structure));
    }
  }
  return { structures, tables, others: Float64Array.from(others) };
}

function kernelKind(kindCode: number, smoothness: number): number | null {
  if (kindCode === 0) return CORRELATION.spherical;
  if (kindCode === 1 || smoothness === 0.5) return CORRELATION.exponential;
  if (kindCode === 2) return CORRELATION.gaussian;
  if (smoothness === 1.5) return CORRELATION.matern15;
  if (smoothness === 2.5) return CORRELATION.matern25;
  return smoothness >= LEAST_SMOOTHNESS ? CORRELATION.tabulated : null;
}

/** Tables by smoothness: a person who moves a handle of the range needs the same one again and again. */
const known = new Map<number, Float64Array>();
const MOST_KNOWN = 8;

function tableOf(structure: Float64Array): Float64Array {
  const [kind, , smoothness, logConstant] = structure as unknown as [number, number, number, number];
  const found = known.get(smoothness);
  if (found !== undefined) return found;
  if (known.size >= MOST_KNOWN) known.clear();
  // of sill 1 and range 1, so that a distance is u
  const unit = Float64Array.of(0, 1, kind, 1, smoothness, logConstant, 0, 1, 1, 0);
  const table = tabulate((u) => structuredCovariance(unit, u, 0));
  known.set(smoothness, table);
  return table;
}
