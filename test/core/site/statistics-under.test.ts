import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { RingM } from '../../../core/contract/model.ts';
import { intersectPolygons, polygonsArea } from '../../../core/geo/planar.ts';
import { comparePlacements } from '../../../core/site/compare-placements.ts';
import { AS_DRAWN, placeRing } from '../../../core/site/placement.ts';
import { type Ensemble, statisticsUnder } from '../../../core/site/statistics-under.ts';
import { seededNormal } from '../geostat/simulate.ts';

const grid = { x0M: 0.5, y0M: 0.5, cellM: 1, columns: 24, rows: 20 };
const cells = 24 * 20;
const rectangle = (x: number, y: number, w: number, h: number): RingM => [
  [x, y],
  [x + w, y],
  [x + w, y + h],
  [x, y + h],
];
const ell: RingM = [
  [6, 6],
  [16, 6],
  [16, 9],
  [10, 9],
  [10, 14],
  [6, 14],
];
function madeEnsemble(count: number, seed = 1): Ensemble {
  const normal = seededNormal(seed);
  return {
    grid,
    count,
    values: Float32Array.from({ length: count * cells }, () => Math.exp(3.5 + 0.6 * normal())),
  };
}
const meanOf = (ensemble: Ensemble) => {
  const out = new Float64Array(cells);
  ensemble.values.forEach((v, i) => {
    out[i % cells] = (out[i % cells] as number) + v / ensemble.count;
  });
  return { grid, estimateKBqPerM3: out };
};

/** The slow way: shares by overlay in the plane, quantile by sorting everything. */
function slowly(ring: RingM, values: ArrayLike<number>, limit: number) {
  const parts: { value: number; share: number }[] = [];
  for (let c = 0; c < cells; c++) {
    const share = polygonsArea(intersectPolygons([[ring]], [[rectangle(c % 24, Math.floor(c / 24), 1, 1)]]));
    if (share > 1e-9) parts.push({ value: values[c] as number, share });
  }
  const total = parts.reduce((s, p) => s + p.share, 0);
  const mean = parts.reduce((s, p) => s + p.share * p.value, 0) / total;
  parts.sort((a, b) => a.value - b.value);
  let [below, quartile] = [0, Number.NaN];
  for (const part of parts) {
    below += part.share;
    if (below >= 0.75 * total - 1e-9) {
      quartile = part.value;
      break;
    }
  }
  const over = parts.filter((p) => p.value > limit).reduce((s, p) => s + p.share, 0) / total;
  return { mean, quartile, over };
}

describe('statistics under a footprint', () => {
  const ensemble = madeEnsemble(40);
  const estimate = meanOf(ensemble);

  test('the same as sorting and overlaying cell by cell, wherever it is put', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -4, max: 4, noNaN: true }),
        fc.double({ min: -4, max: 4, noNaN: true }),
        fc.double({ min: 0, max: 360, noNaN: true }),
        (dxM, dyM, turnDeg) => {
          const ring = placeRing(ell, { dxM, dyM, turnDeg, mirrored: false });
          const found = statisticsUnder(ring, estimate, ensemble, [45]);
          const slow = Array.from({ length: 40 }, (_, r) =>
            slowly(ring, ensemble.values.subarray(r * cells, (r + 1) * cells), 45),
          );
          const average = (pick: (s: (typeof slow)[0]) => number) =>
            slow.reduce((s, v) => s + pick(v), 0) / 40;
          expect(found.estimateKBqPerM3).toBeCloseTo(
            average((s) => s.mean),
            5,
          );
          expect(found.blockMeanKBqPerM3?.mean).toBeCloseTo(
            average((s) => s.mean),
            5,
          );
          expect(found.upperQuartileKBqPerM3?.mean).toBeCloseTo(
            average((s) => s.quartile),
            5,
          );
          expect(found.overLimits[0]?.area).toBeCloseTo(
            average((s) => s.over),
            6,
          );
          expect(found.overLimits[0]?.upperQuartile).toBeCloseTo(
            average((s) => Number(s.quartile > 45)),
            12,
          );
          expect(found.overLimits[0]?.blockMean).toBeCloseTo(
            average((s) => Number(s.mean > 45)),
            12,
          );
          expect(found.offSurfaceShare).toBeCloseTo(0, 9);
        },
      ),
      { numRuns: 6, seed: 12 },
    );
  }, 60_000);

  test('worst cell is the highest of the estimate under it', () => {
    const found = statisticsUnder(rectangle(3, 4, 5, 3), estimate, ensemble, []);
    let worst = 0;
    for (let x = 3; x < 8; x++)
      for (let y = 4; y < 7; y++) worst = Math.max(worst, estimate.estimateKBqPerM3[y * 24 + x] ?? 0);
    expect(found.worstCell?.estimateKBqPerM3).toBe(worst);
    expect(found.worstCell?.sdKBqPerM3).toBeGreaterThan(0);
  });

  test('one value everywhere comes out as that value', () => {
    const flat: Ensemble = { grid, count: 25, values: new Float64Array(25 * cells).fill(31) };
    const found = statisticsUnder(ell, meanOf(flat), flat, [30, 31, 32]);
    expect(found.upperQuartileKBqPerM3).toEqual({ mean: 31, sd: 0, low: 31, high: 31 });
    expect(found.blockMeanKBqPerM3?.mean).toBeCloseTo(31, 9);
    expect(found.overLimits.map((o) => o.area)).toEqual([expect.closeTo(1, 9), 0, 0]);
  });

  test('ground without a surface is left out and said; all of it: nothing is claimed', () => {
    const holed = ensemble.values.map((v, i) => ((i % cells) % 24 < 9 ? Number.NaN : v));
    const found = statisticsUnder(
      rectangle(6, 2, 12, 4),
      meanOf({ ...ensemble, values: holed }),
      { ...ensemble, values: holed },
      [45],
    );
    expect(found.offSurfaceShare).toBeCloseTo(0.25, 9);
    expect(found.blockMeanKBqPerM3?.mean).toBeCloseTo(
      statisticsUnder(rectangle(9, 2, 9, 4), estimate, ensemble, []).blockMeanKBqPerM3?.mean ?? 0,
      6,
    );
    const off = statisticsUnder(rectangle(100, 100, 5, 5), estimate, ensemble, [45]);
    expect(off).toMatchObject({
      offSurfaceShare: 1,
      estimateKBqPerM3: null,
      blockMeanKBqPerM3: null,
      worstCell: null,
      overLimits: [],
    });
    const half = statisticsUnder(rectangle(-5, 2, 10, 4), estimate, ensemble, []);
    expect(half.offSurfaceShare).toBeCloseTo(0.5, 9);
    expect(structuredClone(found)).toEqual(found);
  });

  test('data that do not fit together are refused', () => {
    expect(() => statisticsUnder(ell, estimate, { ...ensemble, count: 39 }, [])).toThrow(
      /are not 39 x 24 x 20/,
    );
    expect(() => statisticsUnder(ell, { ...estimate, grid: { ...grid, cellM: 2 } }, ensemble, [])).toThrow(
      /not on the same grid/,
    );
  });
});

describe('difference between placements', () => {
  const options = { statistic: 'block-mean', leastDifferenceKBqPerM3: 2 } as const;
  const left = rectangle(1, 4, 6, 8);
  const right = rectangle(15, 4, 6, 8);

  /** Each realisation has a level of its own over all the lot, and the right half lies `step` higher. */
  const stepped = (step: number): Ensemble => {
    const normal = seededNormal(4);
    const values = new Float64Array(200 * cells);
    for (let r = 0; r < 200; r++) {
      const level = 40 + 15 * normal();
      for (let c = 0; c < cells; c++) values[r * cells + c] = level + (c % 24 >= 12 ? step : 0) + normal();
    }
    return { grid, count: 200, values };
  };

  test('a step of 5 is seen though the level of the lot is uncertain by 15', () => {
    const [difference] = comparePlacements([left, right], ['A', 'B'], stepped(5), options).differences;
    expect(difference?.difference.mean).toBeCloseTo(5, 1);
    expect(difference?.difference.sd).toBeLessThan(0.5);
    expect(difference?.verdict).toBe('first-lower');
    expect(difference?.message).toMatch(/^A is lower than B by 5\.0 kBq\/m³/);
  });

  test('a certain difference too small to matter, and a large one that is not certain, are no real difference', () => {
    const small = comparePlacements([left, right], ['A', 'B'], stepped(1), options).differences[0];
    expect(small?.verdict).toBe('no-real-difference');
    expect(small?.message).toMatch(/under the 2 kBq/);
    const noisy = comparePlacements([left, rectangle(15, 4, 1, 1)], ['A', 'B'], madeEnsemble(200), {
      ...options,
      leastDifferenceKBqPerM3: 0,
    });
    expect(noisy.differences[0]?.verdict).toBe('no-real-difference');
    expect(noisy.cautions.join(' ')).toMatch(/protection/);
  });

  test('whole sentences: a capital only at the start, the higher less the lower, a true minus sign', () => {
    const names = ['placement 2', 'the building as drawn'];
    const [known] = comparePlacements([right, left], names, stepped(5), options).differences;
    expect(known?.message).toMatch(
      /^The building as drawn is lower than placement 2 by 5\.0 kBq\/m³ \(90 % of the realisations from 4\.\d to 5\.\d kBq\/m³\)/,
    );
    const [open] = comparePlacements([left, right], names, madeEnsemble(60), {
      ...options,
      leastDifferenceKBqPerM3: 100,
    }).differences;
    expect(open?.message).toMatch(/^No real difference between placement 2 and the building as drawn in /);
    expect(open?.message).toMatch(/from −\d/);
    expect(open?.message).not.toMatch(/-\d| The /);
  });

  test('a placement against itself: half and half, no difference', () => {
    const [difference] = comparePlacements([left, left], ['A', 'A'], madeEnsemble(50), {
      ...options,
      leastDifferenceKBqPerM3: 0,
    }).differences;
    expect(difference).toMatchObject({ probabilityFirstLower: 0.5, verdict: 'no-real-difference' });
  });

  test('three placements: three pairs; off the surface is refused', () => {
    const three = [left, right, placeRing(left, { ...AS_DRAWN, dxM: 7 })];
    expect(comparePlacements(three, ['A', 'B', 'C'], madeEnsemble(50), options).differences).toHaveLength(3);
    expect(() =>
      comparePlacements([left, rectangle(22, 4, 6, 8)], ['A', 'B'], madeEnsemble(50), options),
    ).toThrow(/67 % of B lies where there is no surface/);
    expect(() => comparePlacements([left, right], ['A', 'B'], madeEnsemble(5), options)).toThrow(
      /5 realisations/,
    );
  });
});
