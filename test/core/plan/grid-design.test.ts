import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { schemeById } from '../../../core/classify/scheme.ts';
import type { PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import { subtractPolygons } from '../../../core/geo/planar.ts';
import { checkPlan } from '../../../core/plan/check-plan.ts';
import { designGrid } from '../../../core/plan/grid-design.ts';
import type { GridPattern, GridRequest } from '../../../core/plan/grid-types.ts';
import { prepareGround } from '../../../core/plan/ground-test.ts';
import { latticeNodes } from '../../../core/plan/layouts.ts';
import { prepareInterest, worstGap } from '../../../core/plan/worst-gap.ts';

const quiet = { stopped: () => false, progress: () => {} };
const rectangle = (x: number, y: number, w: number, h: number): RingM => [
  [x, y],
  [x + w, y],
  [x + w, y + h],
  [x, y + h],
];
const lot: RingM = [
  [0, 0],
  [50, 5],
  [60, 45],
  [10, 40],
];
const house = rectangle(20, 15, 15, 10);
const trench: PolygonM = [rectangle(-5, 30, 80, 2)];
const ground = subtractPolygons([[lot]], [trench]);
const PATTERNS: GridPattern[] = ['square', 'triangular', 'offset', 'adaptive', 'along-footprint'];

describe('published layouts', () => {
  // Layouts in use of a Czech licensed firm (trade facts, check value 63)
  const layouts = [
    [10, 20, 5, 15],
    [15, 15, 5, 16],
    [20, 40, 10, 15],
    [30, 30, 10, 16],
  ] as const;

  test.each(layouts)('%d x %d m at %d m has %d nodes', (w, h, spacingM, count) => {
    const nodes = latticeNodes(
      { pattern: 'square', spacingM, turnDeg: 0, originM: [0, 0] },
      prepareGround([[rectangle(0, 0, w, h)]]),
      null,
    );
    expect(nodes).toHaveLength(count);
  });

  test.each(layouts)(
    '%d x %d m at %d m: the search finds the same layout when 15 are asked for',
    (w, h, spacingM, count) => {
      const design = designGrid(
        {
          pattern: 'square',
          size: { spacingM },
          ground: [[rectangle(3, 7, w, h)]],
          footprint: null,
          around: 'all',
          minimumCount: 15,
        },
        quiet,
      );
      expect(design.probes).toHaveLength(count);
      // half the diagonal of a cell: no square grid of this spacing does better
      expect(design.worstGapM).toBeCloseTo(spacingM * Math.SQRT1_2, 2);
    },
  );

  test('without a minimum, half a cell off the edges leaves the same gap with fewer probes', () => {
    const design = designGrid(
      {
        pattern: 'square',
        size: { spacingM: 5 },
        ground: [[rectangle(0, 0, 10, 20)]],
        footprint: null,
        around: 'all',
      },
      quiet,
    );
    expect(design.probes).toHaveLength(8);
    expect(design.worstGapM).toBeCloseTo(5 * Math.SQRT1_2, 3);
  });
});

describe('worst gap', () => {
  // covering radius of the lattices (Conway and Sloane, Sphere Packings, Lattices and Groups, chapter 2)
  test.each([
    ['square', Math.SQRT1_2],
    ['triangular', 1 / Math.sqrt(3)],
    ['offset', 0.625],
  ] as const)('%s lattice far from edges has its covering radius', (pattern, radius) => {
    const nodes = latticeNodes(
      { pattern, spacingM: 4, turnDeg: 17, originM: [1, 2] },
      prepareGround([[rectangle(-40, -40, 80, 80)]]),
      null,
    );
    const gap = worstGap(nodes, prepareInterest([[rectangle(-12, -12, 24, 24)]], 600));
    expect(gap.gapM).toBeCloseTo(4 * radius, 2);
  });

  test('agrees with a fine scan', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(fc.double({ min: 0, max: 50, noNaN: true }), fc.double({ min: 0, max: 40, noNaN: true })),
          {
            minLength: 1,
            maxLength: 60,
          },
        ),
        (nodes) => {
          const gap = worstGap(nodes, prepareInterest([[lot]], 400));
          let scanned = 0;
          const inLot = prepareGround([[lot]]);
          for (let x = 0; x <= 60; x += 0.5)
            for (let y = 0; y <= 45; y += 0.5)
              if (inLot.contains(x, y))
                scanned = Math.max(scanned, Math.min(...nodes.map(([a, b]) => Math.hypot(a - x, b - y))));
          expect(gap.gapM).toBeGreaterThan(scanned - 0.05);
          expect(gap.gapM).toBeLessThan(scanned + 0.5);
        },
      ),
      { numRuns: 25, seed: 3 },
    );
  });
});

describe('designed layouts', () => {
  test.each(PATTERNS.flatMap((pattern) => [15, 33].map((count) => [pattern, count] as const)))(
    '%s with %d probes: that many, all on allowed ground, the same every time',
    (pattern, count) => {
      const request: GridRequest = { pattern, size: { count }, ground, footprint: house, around: 'all' };
      const first = designGrid(request, quiet);
      expect(first.probes).toHaveLength(count);
      const allowed = prepareGround(ground);
      for (const { positionM } of first.probes) expect(allowed.contains(...positionM)).toBe(true);
      expect(new Set(first.probes.map((p) => p.label)).size).toBe(count);
      expect(designGrid(request, quiet)).toEqual(first);
      expect(structuredClone(first)).toEqual(first);
    },
  );

  test('turn and shift do better than most layouts put down at random', () => {
    const design = designGrid(
      { pattern: 'square', size: { spacingM: 9 }, ground, footprint: house, around: 'all' },
      quiet,
    );
    const interest = prepareInterest(ground, 400);
    const allowed = prepareGround(ground);
    let better = 0;
    for (let k = 0; k < 400; k++) {
      const originM: PositionM = [((k * 7.13) % 9) + 1, ((k * 3.77) % 9) + 1];
      const nodes = latticeNodes(
        { pattern: 'square', spacingM: 9, turnDeg: (k * 11.7) % 90, originM },
        allowed,
        null,
      );
      if (worstGap(nodes, interest).gapM < design.worstGapM * 0.99) better++;
    }
    expect(better).toBeLessThanOrEqual(2);
  });

  test('adaptive is denser at the house than away from it', () => {
    const { probes, spacingM } = designGrid(
      { pattern: 'adaptive', size: { spacingM: 4 }, ground, footprint: house, around: 'all' },
      quiet,
    );
    const near = probes.filter(({ positionM: [x, y] }) => x >= 16 && x <= 39 && y >= 11 && y <= 29);
    const nearDensity = near.length / (23 * 18);
    const farDensity = (probes.length - near.length) / (2000 - 23 * 18);
    expect(spacingM).toBe(4);
    expect(nearDensity / farDensity).toBeGreaterThan(2.5);
  });

  test('around the footprint only', () => {
    const { probes, worstGapInFootprintM } = designGrid(
      { pattern: 'square', size: { count: 15 }, ground, footprint: house, around: { footprintPlusM: 3 } },
      quiet,
    );
    for (const {
      positionM: [x, y],
    } of probes) {
      expect(x).toBeGreaterThan(16.99);
      expect(x).toBeLessThan(38.01);
      expect(y).toBeGreaterThan(11.99);
      expect(y).toBeLessThan(28.01);
    }
    expect(worstGapInFootprintM).toBeLessThan(4.5);
  });

  test.each([
    [{ size: { spacingM: 0 } }, /spacing of 0 m/],
    [{ size: { spacingM: 0.1 } }, /About \d+ probes.*Is the spacing in metres/],
    [{ size: { count: 2.5 } }, /2.5 probes/],
    [{ ground: [] }, /no ground/],
    [{ footprint: null, pattern: 'adaptive' as const }, /needs a footprint/],
    [
      { footprint: rectangle(500, 500, 10, 10), around: { footprintPlusM: 3 } },
      /within 3 m of the footprint/,
    ],
    [
      {
        footprint: [
          [0, 0],
          [5, 5],
          [5, 0],
          [0, 5],
        ] as RingM,
      },
      /footprint crosses itself/,
    ],
  ])('refused: %j', (change, message) => {
    const request: GridRequest = {
      pattern: 'square',
      size: { count: 15 },
      ground,
      footprint: house,
      around: 'all',
    };
    expect(() => designGrid({ ...request, ...change }, quiet)).toThrow(message);
  });

  test('stops when asked', () => {
    const request: GridRequest = {
      pattern: 'square',
      size: { count: 15 },
      ground,
      footprint: house,
      around: 'all',
    };
    expect(() => designGrid(request, { ...quiet, stopped: () => true })).toThrow(/stopped/);
  });
});

describe('a plan against a scheme', () => {
  const czech = schemeById('czech-building-site-index');
  const planOf = (count: number, depthM: number | null = 0.8) => ({
    probes: designGrid(
      { pattern: 'square', size: { count }, ground, footprint: house, around: { footprintPlusM: 3 } },
      quiet,
    ).probes,
    depthM,
  });
  const outcomes = (findings: ReturnType<typeof checkPlan>) =>
    findings.map((f) => `${f.subject} ${f.outcome}`);

  test('15 around the house at 0.8 m meets all, and says that none is to spare', () => {
    const findings = checkPlan(planOf(15), czech, house);
    expect(outcomes(findings)).toEqual(['number met', 'spacing met', 'depth met', 'place met']);
    expect(findings[0]?.message).toMatch(/None is to spare/);
    expect(findings[3]?.unconfirmed).toBe(true);
  });

  test('12 are 3 too few; 0.6 m is too shallow', () => {
    const findings = checkPlan(planOf(12, 0.6), czech, house);
    expect(findings[0]?.message).toMatch(/^3 probes are missing: 12 are planned/);
    expect(findings.find((f) => f.subject === 'depth')?.message).toMatch(/shallower.*rock or water/);
  });

  test('20 probes at the far end of the lot do not count for the house', () => {
    const far = {
      probes: Array.from({ length: 20 }, (_, i) => ({
        label: `${i}`,
        positionM: [45 + (i % 5), 36 + i / 5] as const,
      })),
      depthM: 0.8,
    };
    const findings = checkPlan(far, czech, house);
    expect(outcomes(findings)).toEqual(['number missing', 'spacing missing', 'depth met', 'place missing']);
    expect(findings[0]?.message).toMatch(/15 probes are missing.*The other 20 lie farther off/);
  });

  test('a footprint over 800 m² needs the 10 m grid', () => {
    const hall = rectangle(0, 0, 40, 30);
    const grid = (s: number) => ({
      probes: latticeNodes(
        { pattern: 'square', spacingM: s, turnDeg: 0, originM: [0, 0] },
        prepareGround([[hall]]),
        null,
      ).map((positionM, i) => ({ label: `${i}`, positionM })),
      depthM: null,
    });
    expect(outcomes(checkPlan(grid(10), czech, hall))).toEqual([
      'number met',
      'spacing met',
      'depth unknown',
      'place met',
    ]);
    expect(outcomes(checkPlan(grid(20), czech, hall))[1]).toBe('spacing missing');
  });
});
