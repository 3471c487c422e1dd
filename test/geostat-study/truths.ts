/** Invented lots for the calibration study: probes, other places, and the truth at both. */
import type { VariogramModel, VariogramStructure } from '../../core/geostat/models.ts';
import { SHAPES, spanOf } from '../../core/geostat/plausible-models.ts';
import { seededNormal, seededUniform, simulateField } from '../core/geostat/simulate.ts';

export interface InventedLot {
  readonly kind: string;
  readonly xy: Float64Array;
  readonly values: Float64Array;
  readonly unseenXy: Float64Array;
  readonly truth: Float64Array;
}

export const UNSEEN = 40;
const WIDTH_M = 30;
const DEPTH_M = 40;

export type TruthGroup = 'inside the priors' | 'outside the priors';

/** Kinds of ground that no model of the priors describes. */
export const OUTSIDE = [
  'range under a third of the spacing',
  'range four times the extent',
  'two scales',
  'longer one way (3 : 1)',
  'slope across the lot',
  'two soils with an edge',
  'heavy tails',
  'square root is Gaussian',
] as const;

/** Practical range over the scale of the formula, within 1 %. */
const PRACTICAL = new Map([
  ['exponential', 3],
  ['spherical', 1],
  ['gaussian', 1.73],
  ['matern1.5', 4.74],
  ['matern2.5', 5.92],
]);

/** Probes near the nodes of a grid (moved by up to a third of the spacing, as trees and stones ask for). */
function placeProbes(n: number, uniform: () => number): Float64Array {
  const across = Math.max(2, Math.round(Math.sqrt((n * WIDTH_M) / DEPTH_M)));
  const along = Math.ceil(n / across);
  const nodes = Array.from({ length: across * along }, (_, i) => i);
  while (nodes.length > n) nodes.splice(Math.floor(uniform() * nodes.length), 1);
  const [dx, dy] = [WIDTH_M / across, DEPTH_M / along];
  return Float64Array.from(
    nodes.flatMap((i) => [
      dx * ((i % across) + 0.5 + (uniform() - 0.5) / 1.5),
      dy * (Math.floor(i / across) + 0.5 + (uniform() - 0.5) / 1.5),
    ]),
  );
}

export function inventLot(group: TruthGroup, n: number, seed: number): InventedLot {
  const uniform = seededUniform(seed);
  const normal = seededNormal(seed + 1_000_000_007);
  const xy = placeProbes(n, uniform);
  const unseenXy = Float64Array.from(
    { length: 2 * UNSEEN },
    (_, k) => uniform() * (k % 2 === 0 ? WIDTH_M : DEPTH_M),
  );
  const all = Float64Array.from([...xy, ...unseenXy]);
  const { spacingM, extentM } = spanOf(xy);
  const kind =
    group === 'inside the priors' ? 'as the priors say' : (OUTSIDE[seed % OUTSIDE.length] as string);
  const practical = spacingM * ((1.5 * extentM) / spacingM) ** uniform();
  const shape = SHAPES[Math.floor(uniform() * SHAPES.length)] as (typeof SHAPES)[number];
  const share = uniform();
  const skewed = uniform() < 0.5;
  const factor = PRACTICAL.get(`${shape.kind}${shape.smoothness ?? ''}`) as number;
  const structure = (practicalM: number, sill: number, more = {}): VariogramStructure => ({
    ...shape,
    partialSill: sill,
    rangeM: practicalM / factor,
    ...more,
  });
  const model = (...structures: VariogramStructure[]): VariogramModel => ({ nugget: share, structures });
  const simulate = (m: VariogramModel) => simulateField(all, m, normal);
  const field = ((): Float64Array => {
    switch (kind) {
      case 'range under a third of the spacing':
        return simulate(model(structure(spacingM / 3, 1 - share)));
      case 'range four times the extent':
        return simulate(model(structure(4 * extentM, 1 - share)));
      case 'two scales':
        return simulate({
          nugget: 0.1,
          structures: [structure(spacingM, 0.4), structure(1.5 * extentM, 0.5)],
        });
      case 'longer one way (3 : 1)': {
        const anisotropy = { azimuthDeg: 180 * uniform(), ratio: 1 / 3 };
        return simulate({
          nugget: 0.5 * share,
          structures: [structure(practical, 1 - 0.5 * share, { anisotropy })],
        });
      }
      case 'slope across the lot': {
        const turn = 2 * Math.PI * uniform();
        return simulate(model(structure(practical, 1 - share))).map(
          (v, i) =>
            v +
            (3 * ((all[2 * i] as number) * Math.cos(turn) + (all[2 * i + 1] as number) * Math.sin(turn))) /
              extentM,
        );
      }
      case 'two soils with an edge': {
        const edge = DEPTH_M * (0.25 + 0.5 * uniform());
        return simulate(model(structure(practical, 1 - share))).map((v, i) => v + ((all[2 * i + 1] as number) > edge ? 2 : 0)); // biome-ignore format: one line
      }
      case 'heavy tails': {
        // each value of its own scale: Student's t with 4 degrees of freedom
        return simulate(model(structure(practical, 1 - share))).map((v) => {
          let squares = 0;
          for (let k = 0; k < 4; k++) squares += normal() ** 2;
          return v / Math.sqrt(squares / 4);
        });
      }
      default:
        // share 1 in 20 without any structure, as the priors say
        return simulate(
          uniform() < 0.05 ? { nugget: 1, structures: [] } : model(structure(practical, 1 - share)),
        );
    }
  })();
  const spread = 0.25 + 0.75 * uniform();
  const toValue =
    kind === 'square root is Gaussian'
      ? (v: number) => Math.max(0.02, 5 + 2 * spread * v) ** 2
      : // a logarithm with such tails would have no mean
        skewed && kind !== 'heavy tails'
        ? (v: number) => Math.exp(3.4 + spread * v)
        : (v: number) => 100 + 20 * spread * v;
  const values = field.map(toValue);
  return { kind, xy, values: values.slice(0, n), unseenXy, truth: values.slice(n) };
}
