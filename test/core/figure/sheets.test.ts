import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import type { GridSpec, SurfaceResult } from '../../../core/contract/results.ts';
import { differenceColour } from '../../../core/figure/band-fill.ts';
import { composeFigure } from '../../../core/figure/compose-figure.ts';
import type { FigureInput, Orientation, PageName, SheetTemplate } from '../../../core/figure/figure-model.ts';
import { errorInset, insetShade, probabilityInset } from '../../../core/figure/inset.ts';
import { crossValidationBlock, histogramBlock, variogramBlock } from '../../../core/figure/plots.ts';
import { figureMetadata, renderFigure } from '../../../core/figure/render-figure.ts';
import type { PathNode, Scene, TextNode } from '../../../core/figure/scene.ts';
import { flattenScene } from '../../../core/figure/scene.ts';
import { measureText, textCorners, wrapText } from '../../../core/figure/text.ts';
import {
  convexHull,
  findWeakGround,
  medianSpacingM,
  WEAK_RELATIVE_ERROR,
} from '../../../core/figure/weak-ground.ts';
import { pointInPolygons, polygonsArea } from '../../../core/geo/planar.ts';
import { CAUTIONS, CLASS, inventedFigure, inventedProbes } from './fixture.ts';

const PAGES: PageName[] = ['A4', 'A3', 'Letter', 'Tabloid'];
const WAYS: Orientation[] = ['portrait', 'landscape'];
const TEMPLATES: SheetTemplate[] = ['map', 'quality', 'permit'];

const LOT: RingM = [
  [0, 0],
  [40, 0],
  [40, 30],
  [0, 30],
];
const GRID: GridSpec = { x0M: -1.5, y0M: -1.5, cellM: 1, columns: 44, rows: 34 };
const PROBES: PositionM[] = [5, 15, 25, 35].flatMap((x) => [5, 15, 25].map((y): PositionM => [x, y]));

function surfaceOf(error: (p: PositionM) => number, estimate = 40): SurfaceResult {
  const at = (i: number): PositionM => [
    GRID.x0M + (i % GRID.columns),
    GRID.y0M + Math.floor(i / GRID.columns),
  ];
  const n = GRID.columns * GRID.rows;
  const inside = (i: number) => pointInPolygons(at(i), [[LOT]]);
  return {
    revision: 1,
    method: 'kriging',
    grid: GRID,
    estimateKBqPerM3: Float64Array.from({ length: n }, (_, i) => (inside(i) ? estimate : Number.NaN)),
    standardErrorKBqPerM3: Float64Array.from({ length: n }, (_, i) =>
      inside(i) ? error(at(i)) : Number.NaN,
    ),
    exceedance: {
      limitKBqPerM3: 70,
      probability: Float64Array.from({ length: n }, (_, i) => (inside(i) ? at(i)[0] / 40 : Number.NaN)),
    },
    levelsKBqPerM3: [],
    lines: [],
    bands: [],
    variogram: null,
    crossValidation: { n: 0, meanError: 0, rmse: 0, msdr: null, correlation: 0, verdict: '', points: [] },
    boundedSampleIds: [],
    depthCorrected: [],
    usedSampleIds: [],
    notUsed: [],
    warnings: [],
    seconds: 0,
  };
}

function full(changes: Partial<FigureInput> = {}): FigureInput {
  const base = inventedFigure();
  const { surface } = base;
  if (surface === null) throw new Error('the fixture has a surface');
  return {
    ...base,
    surface: {
      ...surface,
      variogram: {
        bins: [
          { lagM: 4, semivariance: 90, pairs: 22 },
          { lagM: 9, semivariance: 210, pairs: 41 },
          { lagM: 15, semivariance: 340, pairs: 38 },
        ],
        directions: [],
        drift: 'constant',
        model: { kind: 'spherical', nugget: 38, partialSill: 312, rangeM: 17.5 },
        fitted: { kind: 'spherical', nugget: 20, partialSill: 330, rangeM: 15 },
        transform: 'none',
        unit: '(kBq/m3)^2',
        reasons: [],
      },
      crossValidation: {
        ...(surface.crossValidation ?? {
          n: 3,
          meanError: 0,
          rmse: 0,
          msdr: 1,
          correlation: 1,
          verdict: 'v',
        }),
        points: [
          { probeId: 'a', observed: 20, predicted: 25, z: -0.5 },
          { probeId: 'b', observed: 60, predicted: 30, z: 2.8 },
          { probeId: 'c', observed: 35, predicted: 33, z: 0.2 },
        ],
      },
    },
    weakGround: {
      polygons: [
        [
          [
            [2, 2],
            [10, 2],
            [10, 10],
          ],
        ],
      ],
      statement: 'Weak ground, drawn faded: own rule',
    },
    insets: [
      errorInset(
        surfaceOf(([x]) => x / 2),
        LOT,
        'kBq/m3',
      ),
      probabilityInset(
        surfaceOf(() => 4),
        LOT,
        'kBq/m3',
      ),
    ].filter((i) => i !== null),
    sheet: {
      sheetNumber: '1 of 1',
      jobNumber: '26-014',
      licenceNumber: 'RN-0042',
      address: '1 Invented Lane',
      reviewedBy: 'Bo Example',
    },
    highRulings: ['HIGH VALUE LEFT OUT BY RULING: P14, 67.3 kBq/m³; Ann Example, 2025-05-08: label swapped'],
    lotSource: 'survey.geojson',
    dataFiles: [{ name: 'samples.csv', sha256: 'ab'.repeat(32) }],
    ...changes,
  };
}

const textsOf = (scene: Scene): TextNode[] =>
  flattenScene(scene.nodes).filter((n): n is TextNode => n.kind === 'text');
const said = (scene: Scene): string =>
  textsOf(scene)
    .map((n) => n.text)
    .join(' ');

describe('templates on every page', () => {
  for (const template of TEMPLATES) {
    for (const page of PAGES) {
      for (const orientation of WAYS) {
        test(`${template}, ${page} ${orientation}: inside the margins; page 1 has class, exceptions, legend, cautions`, () => {
          const scenes = composeFigure(full(), { template, page, orientation });
          for (const scene of scenes) {
            for (const node of textsOf(scene)) {
              for (const [x, y] of textCorners(node)) {
                expect(x, node.text).toBeGreaterThan(8);
                expect(y, node.text).toBeGreaterThan(8);
                expect(x, node.text).toBeLessThan(scene.widthMm - 8);
                expect(y, node.text).toBeLessThan(scene.heightMm - 8);
              }
            }
          }
          const first = said(scenes[0] as Scene);
          expect(first).toContain('Medium radon index');
          expect(first).toContain('HIGH VALUE LEFT OUT BY RULING: P14');
          expect(first).toContain('FLAGGED AND LEFT OUT (4)');
          expect(first).toContain('LEGEND');
          for (const caution of CAUTIONS) expect(first).toContain(caution);
          if (template === 'permit') {
            for (const word of [
              'SEAL',
              'Licence RN-0042',
              'Sheet 1 of 1',
              'REVIEWED BY',
              'Signature, date',
              'revision 41',
            ])
              expect(first).toContain(word);
          }
          const all = scenes.map(said).join(' ');
          if (template === 'quality') {
            for (const word of [
              'VARIOGRAM',
              'EACH PROBE AS THE OTHERS FORETELL IT',
              'VALUES OF THE PROBES',
              'Standard error of the surface',
              'Chance of more than 70',
            ])
              expect(all).toContain(word);
          }
          expect(all).toContain('Data: samples.csv, SHA-256 abababab');
          expect(all).toContain('Lot line: survey.geojson.');
        });
      }
    }
  }

  test('a refusal stands where the class would', () => {
    const refused = { ...CLASS, className: null, classId: null, refusal: 'Too few valid values: 9 of 15.' };
    for (const template of TEMPLATES) {
      const [first] = composeFigure(full({ classResult: refused }), { template });
      expect(said(first as Scene)).toMatch(/No class .*Too few valid values: 9 of 15\./);
    }
  });

  test('without a wish the page turns the way in which the lot comes out larger', () => {
    const denominator = (scene: Scene | undefined) => Number(/Scale 1:(\d+)/.exec(said(scene as Scene))?.[1]);
    let upright = 0;
    for (let heightM = 30; heightM <= 90; heightM += 6) {
      const lot = LOT.map(([x, y]): PositionM => [y / 2, (x * heightM) / 40]);
      const input = full({ lot, footprint: null, keepOuts: [], probes: [] });
      const [chosen, wide, tall] = [{}, { orientation: 'landscape' }, { orientation: 'portrait' }].map(
        (options) => composeFigure(input, options as { orientation?: Orientation })[0],
      );
      expect(denominator(chosen)).toBe(Math.min(denominator(wide), denominator(tall)));
      if ((chosen?.heightMm ?? 0) > (chosen?.widthMm ?? 0)) upright += 1;
    }
    expect(upright).toBeGreaterThan(0);
    expect(composeFigure(full())[0]?.widthMm).toBeGreaterThan(280);
  });

  test('whatever a person types into the title block stays on the sheet', () => {
    const words = fc.string({ unit: 'grapheme', maxLength: 200 });
    fc.assert(
      fc.property(
        fc.constantFrom(...TEMPLATES),
        fc.constantFrom(...PAGES),
        fc.constantFrom(...WAYS),
        fc.array(words, { minLength: 7, maxLength: 7 }),
        (template, page, orientation, typed) => {
          const [address = '', job = '', number = '', licence = '', reviewer = '', ruling = '', origin = ''] =
            typed;
          const input = full({
            projectName: address,
            preparedBy: reviewer,
            sheet: {
              address,
              jobNumber: job,
              sheetNumber: number,
              licenceNumber: licence,
              reviewedBy: reviewer,
              issue: job,
            },
            highRulings: [ruling],
            lotSource: origin,
          });
          for (const scene of composeFigure(input, { template, page, orientation })) {
            for (const node of textsOf(scene)) {
              for (const [x, y] of textCorners(node)) {
                const isInside = x > 8 && y > 8 && x < scene.widthMm - 8 && y < scene.heightMm - 8;
                expect(isInside, `"${node.text}" at ${x.toFixed(1)}, ${y.toFixed(1)}`).toBe(true);
              }
            }
          }
        },
      ),
      { numRuns: 25, seed: 11 },
    );
  });

  test('a preview of 60 probes is drawn within 100 ms, once the letters are known', async () => {
    const input = { ...full(), ...inventedProbes(60) };
    let least = Number.POSITIVE_INFINITY;
    for (let i = 0; i < 5; i++) {
      const started = performance.now();
      const scenes = composeFigure({ ...input, projectName: `Edit ${i}` }, { page: 'A4' });
      await renderFigure(scenes, 'svg', figureMetadata(input), { embedFonts: false });
      least = Math.min(least, performance.now() - started);
    }
    expect(least).toBeLessThan(100);
  });
});

describe('plots', () => {
  const discs = (nodes: readonly { kind: string }[]) =>
    nodes.filter(
      (n): n is PathNode =>
        n.kind === 'path' &&
        (n as PathNode).fill !== undefined &&
        (n as PathNode).segments.some(([c]) => c === 'C'),
    );

  test('variogram: a point a bin with its pairs; bins of few pairs open; the fit dashed', () => {
    const block = variogramBlock(full(), 80);
    const nodes = block?.nodes ?? [];
    // One bin has fewer than 30 pairs: two discs.
    expect(discs(nodes)).toHaveLength(4);
    const words = nodes.flatMap((n) => (n.kind === 'text' ? [n.text] : []));
    for (const pairs of ['22', '41', '38']) expect(words).toContain(pairs);
    const curves = nodes.filter((n): n is PathNode => n.kind === 'path' && n.segments.length > 100);
    expect(curves).toHaveLength(2);
    expect(curves.filter((c) => c.stroke?.dashMm !== undefined)).toHaveLength(1);
  });

  test('variogram: the curve is the model (spherical at half its range: c0 + c 0.6875)', () => {
    const nodes = variogramBlock(full(), 80)?.nodes ?? [];
    const curve = nodes.find(
      (n): n is PathNode => n.kind === 'path' && n.segments.length > 100 && n.stroke?.dashMm === undefined,
    );
    const ys = (curve?.segments ?? []).map((s) => s[2] as number);
    const sill = ys.at(-1) ?? 0;
    const start = ys[0] ?? 0;
    // Heights on paper: nugget 38 at the start, 350 at the end.
    const mmPerUnit = (start - sill) / (350 - 38);
    const toM = Math.max(15 * 1.06, Math.min(17.5, 22.5));
    const k = Math.round((8.75 / toM) * 120);
    const lag = (toM * k) / 120;
    const u = lag / 17.5;
    const expected = 38 + 312 * (1.5 * u - 0.5 * u ** 3);
    expect((start - (ys[k] ?? 0)) / mmPerUnit + 38).toBeCloseTo(expected, 1);
  });

  test('cross-validation: far points open, the verdict beside it', () => {
    const block = crossValidationBlock(full(), 80);
    expect(discs(block?.nodes ?? [])).toHaveLength(4);
    expect(block?.nodes.flatMap((n) => (n.kind === 'text' ? [n.text] : [])).join(' ')).toContain(
      'foretells a left-out point',
    );
  });

  test('histogram: every value stands in one bar, limits and statistic are named', () => {
    const input = full();
    const block = histogramBlock(input, 80);
    const words = (block?.nodes ?? []).flatMap((n) => (n.kind === 'text' ? [n.text] : [])).join(' ');
    const counted = input.probes.filter(
      (p) => ['valid', 'suspect'].includes(p.symbol) && p.measured?.kind === 'value',
    );
    expect(words).toContain(`${counted.length} values`);
    expect(words).toContain('medium from 20');
    expect(words).toMatch(/high from 70/);
    expect(words).toContain('Third quartile of radon 41.3');
  });

  test('nothing to plot gives no plot', () => {
    const bare = inventedFigure({ surface: null, probes: [] });
    expect([variogramBlock(bare, 80), crossValidationBlock(bare, 80), histogramBlock(bare, 80)]).toEqual([
      null,
      null,
      null,
    ]);
  });
});

describe('weak ground', () => {
  test('hull and spacing of a grid of probes', () => {
    expect(medianSpacingM(PROBES)).toBe(10);
    expect(convexHull([...PROBES, [20, 15]])).toHaveLength(4);
  });

  test('beyond the ring of probes by more than half the spacing: here only the rounded corners', () => {
    const weak = findWeakGround(
      surfaceOf(() => 4),
      PROBES,
      LOT,
    );
    // Ring 30 x 20 widened by 5 m fills the lot but for four corners of (1 - pi/4) 25 m2.
    expect(polygonsArea(weak?.polygons ?? [])).toBeCloseTo(4 * (1 - Math.PI / 4) * 25, 0);
    expect(weak?.statement).toContain('5.0 m');
  });

  test('where the error passes its share of the estimate, and nowhere else', () => {
    // Error 1 kBq/m3 a metre: over half of 40 from x = 20 on.
    const weak = findWeakGround(
      surfaceOf(([x]) => x),
      PROBES,
      LOT,
    );
    expect(WEAK_RELATIVE_ERROR).toBe(0.5);
    expect(pointInPolygons([22, 15], weak?.polygons ?? [])).toBe(true);
    expect(pointInPolygons([18, 15], weak?.polygons ?? [])).toBe(false);
    expect(weak?.statement).toContain('50 %');
  });

  test('probes on a line: the whole lot is weak, and says so', () => {
    const weak = findWeakGround(
      surfaceOf(() => 4),
      [
        [5, 5],
        [15, 5],
        [25, 5],
      ],
      LOT,
    );
    expect(polygonsArea(weak?.polygons ?? [])).toBeCloseTo(1200, 6);
    expect(weak?.statement).toContain('the whole lot');
  });

  test('it lies over bands and contours, under the names, and is explained', () => {
    const [first] = composeFigure(full()) as [Scene];
    const order: string[] = [];
    const walk = (nodes: Scene['nodes']): void => {
      for (const n of nodes) {
        if (n.kind !== 'group') continue;
        order.push(n.name);
        walk(n.children);
      }
    };
    walk(first.nodes);
    const at = (name: string) => order.indexOf(name);
    expect(at('weak-ground')).toBeGreaterThan(at('contours'));
    expect(at('weak-ground')).toBeLessThan(at('probe-labels'));
    expect(said(first)).toContain('Weak ground, drawn faded: own rule');
  });
});

describe('colours of the small maps', () => {
  const lightness = (hex: string): number => {
    const [r = 0, g = 0, b = 0] = [1, 3, 5].map((i) => {
      const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    // CIE L* of the relative luminance (IEC 61966-2-1, CIE 15).
    const y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    return y > 0.008856 ? 116 * Math.cbrt(y) - 16 : 903.3 * y;
  };

  test('shades darken in even steps', () => {
    const steps = [0, 1, 2, 3, 4, 5].map((i) => lightness(insetShade(i, 6)));
    const drops = steps.slice(1).map((l, i) => (steps[i] ?? 0) - l);
    for (const drop of drops) expect(drop).toBeGreaterThan(6);
    expect(Math.max(...drops) - Math.min(...drops)).toBeLessThan(3.5);
  });

  test('differences: near paper at zero, darker both ways, of about equal weight', () => {
    expect(lightness(differenceColour(0))).toBeGreaterThan(95);
    for (const end of [-1, 1]) {
      const [half, whole] = [lightness(differenceColour(end / 2)), lightness(differenceColour(end))];
      expect(half).toBeLessThan(88);
      expect(whole).toBeLessThan(half - 15);
    }
    expect(Math.abs(lightness(differenceColour(-1)) - lightness(differenceColour(1)))).toBeLessThan(10);
  });
});

test('no face kerns at a space: words laid out one by one are as wide as the line', () => {
  const letters = 'abcdefghijklmnopqrstuvwxyzAVTWYLPF.,1247()/–';
  for (const face of ['regular', 'semibold', 'italic'] as const) {
    for (const a of letters) {
      for (const b of 'AVTWYo17(.') {
        const parts = measureText(a, face, 10) + measureText(' ', face, 10) + measureText(b, face, 10);
        expect(Math.abs(measureText(`${a} ${b}`, face, 10) - parts), `${a} ${b}`).toBeLessThan(1e-9);
      }
    }
  }
});

test('lines broken by the sum of their words are no wider than the room', () => {
  const text = 'Two AV To duplicates: relative difference 6 % and 11 % (limit 25 %). '.repeat(8);
  for (const width of [20, 33.3, 47, 80]) {
    const lines = wrapText(text, 'regular', 7, width);
    expect(lines.join(' ')).toBe(text.trim());
    for (const line of lines) expect(measureText(line, 'regular', 7)).toBeLessThanOrEqual(width);
  }
});
