import type { Feature, Position } from 'geojson';
import { describe, expect, test } from 'vitest';
import { valueToColour } from '../../core/contract/ramp.ts';
import { SYMBOL_KINDS } from '../../core/contract/symbols.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { mockSurface } from '../../renderer/dev/mock-results.ts';
import { fromDisplay, toDisplay } from '../../renderer/map/display-frame.ts';
import { polygonsContain, ringAreaM2, roughSpacingM } from '../../renderer/map/geometry.ts';
import { keepOutStrip } from '../../renderer/map/keep-out-strip.ts';
import {
  bandLayer,
  buildLayers,
  drawingLayer,
  isolineLayer,
  keepOutLayer,
  lotLayer,
  outsideLayer,
  probeLayer,
  weakGroundLayer,
} from '../../renderer/map/layers.ts';
import { mapStyle } from '../../renderer/map/style.ts';
import type { ShownField } from '../../renderer/state/app-state.ts';

const view = mockView('/x.gasplat');
const surface = mockSurface(view);

function metresOf(position: Position | undefined): readonly [number, number] {
  return fromDisplay([position?.[0] ?? Number.NaN, position?.[1] ?? Number.NaN]);
}

function ringOf(feature: Feature | undefined): Position[] {
  return feature?.geometry.type === 'Polygon' ? (feature.geometry.coordinates[0] ?? []) : [];
}

describe('layers', () => {
  test('the lot is a closed ring of its corners, and each corner a point', () => {
    const { features } = lotLayer(view);
    const ring = ringOf(features[0]);
    expect(ring).toHaveLength((view.lot?.length ?? 0) + 1);
    expect(ring[0]).toEqual(ring.at(-1));
    expect(metresOf(ring[1])[0]).toBeCloseTo(view.lot?.[1]?.[0] ?? Number.NaN, 6);
    expect(features.filter((feature) => feature.geometry.type === 'Point')).toHaveLength(
      view.lot?.length ?? 0,
    );
  });

  test('a probe carries the symbol of its mark, its label, and its value without a unit', () => {
    const { features } = probeLayer(view, 'kBq/m3');
    expect(features).toHaveLength(view.probes.length);
    features.forEach((feature, i) => {
      expect(feature.properties?.['symbol']).toBe(view.marks[i]?.symbol);
      expect(SYMBOL_KINDS).toContain(feature.properties?.['symbol']);
    });
    const diluted = features.find((feature) => feature.properties?.['symbol'] === 'diluted');
    expect(diluted?.properties?.['value']).toMatch(/^≥ \d/);
    const water = features.find((feature) => feature.properties?.['symbol'] === 'water');
    expect(water?.properties?.['value']).toBe('');
  });

  test('values on the map follow the project’s unit: 37 Bq/m3 are 1 pCi/L', () => {
    const value = (unit: 'kBq/m3' | 'pCi/L') =>
      Number(probeLayer(view, unit).features[0]?.properties?.['value']);
    expect(value('pCi/L') / value('kBq/m3')).toBeCloseTo(1 / 0.037, 0);
  });

  test('bands take the colour that legend and figure give the same interval', () => {
    const { features } = bandLayer(surface, 'estimate');
    expect(features.length).toBeGreaterThan(0);
    const colours = new Set(features.map((feature) => feature.properties?.['colour']));
    for (const band of surface.bands) {
      if (band.polygons.length > 0)
        expect(colours).toContain(valueToColour(band.from, surface.levelsKBqPerM3));
    }
  });

  test('only the estimate has bands and isolines; a closed isoline is closed', () => {
    expect(bandLayer(surface, 'error').features).toHaveLength(0);
    expect(isolineLayer(surface, 'probes', 'kBq/m3').features).toHaveLength(0);
    const first = isolineLayer(surface, 'estimate', 'kBq/m3').features[0];
    const points = first?.geometry.type === 'LineString' ? first.geometry.coordinates : [];
    expect(points[0]).toEqual(points.at(-1));
    expect(first?.properties?.['label']).toBe(String(surface.lines[0]?.level));
  });

  test('the line at a limit of the scheme is told from the others, and weak ground is faded on radon, not on its error', () => {
    const { features } = isolineLayer(surface, 'estimate', 'kBq/m3');
    const heavy = features.filter((feature) => feature.properties?.['limit'] === true);
    expect(new Set(heavy.map((feature) => feature.properties?.['label']))).toEqual(new Set(['30']));
    const weak = { ...surface, weakGround: { polygons: [[view.lot ?? []]], statement: 'Weak ground' } };
    const faded = (shown: ShownField) => weakGroundLayer(weak, shown).features.length;
    // Paler is less likely on a map of a chance: there, weak ground is hatched and not made paler.
    const veil = (shown: ShownField) => weakGroundLayer(weak, shown).features[0]?.properties?.['veil'];
    expect([veil('estimate'), veil('probability')]).toEqual([true, false]);
    expect([faded('estimate'), faded('probability'), faded('error'), faded('probes')]).toEqual([1, 1, 0, 0]);
    expect(weakGroundLayer({ ...surface, weakGround: null }, 'estimate').features).toHaveLength(0);
  });

  test('a place lies in weak ground outside its holes only, and probes of a grid lie about its spacing apart', () => {
    const square = (from: number, to: number): [number, number][] => [
      [from, from],
      [to, from],
      [to, to],
      [from, to],
    ];
    const ground = [[square(0, 10), square(4, 6)]];
    expect(
      [
        [1, 1],
        [5, 5],
        [11, 1],
      ].map(([x = 0, y = 0]) => polygonsContain(ground, [x, y])),
    ).toEqual([true, false, false]);
    const grid = Array.from({ length: 100 }, (_, i): [number, number] => [
      6 * (i % 10),
      6 * Math.floor(i / 10),
    ]);
    expect(roughSpacingM(grid)).toBeCloseTo(5.4, 9);
    expect(roughSpacingM(grid.slice(0, 10))).toBeCloseTo(5.4, 9);
    expect(roughSpacingM(grid.slice(0, 1))).toBe(Infinity);
  });

  test('a value that was left out stands at its probe', () => {
    const [first, ...others] = view.marks;
    if (!first) throw new Error('The mock has no probe.');
    const read = { kind: 'value', estimateKBqPerM3: 109, randomUKBqPerM3: 4, commonURel: 0 } as const;
    const marks = [
      { ...first, measured: { kind: 'none', reason: 'left-out' } as const, leftOut: read },
      ...others,
    ];
    const shown = probeLayer({ ...view, marks }, 'kBq/m3').features;
    expect(shown.find((f) => f.properties?.['probeId'] === first.probeId)?.properties?.['value']).toBe(
      '109 left out',
    );
  });

  test('what is outside the lot is hidden for cell-by-cell fields only', () => {
    expect(outsideLayer(view, 'estimate').features).toHaveLength(0);
    expect(outsideLayer(view, 'error').features[0]?.geometry).toMatchObject({
      type: 'Polygon',
      coordinates: { length: 2 },
    });
  });

  test('a keep-out is drawn with its strip, and its label stands at the corner farthest from the probes', () => {
    const [first] = view.probes;
    if (!first) throw new Error('The mock has no probe.');
    const [x, y] = first.positionM;
    const line = {
      id: 'k9',
      label: 'Cable',
      shape: 'line' as const,
      points: [[x, y] as const, [x - 30, y] as const],
      bufferM: 2,
    };
    const [strip, outline, label] = keepOutLayer({ ...view, keepOuts: [line] }).features;
    expect(strip).toMatchObject({ geometry: { type: 'Polygon' }, properties: { part: 'strip' } });
    expect(outline).toMatchObject({ geometry: { type: 'LineString' } });
    expect(label).toMatchObject({
      geometry: { type: 'Point', coordinates: toDisplay([x - 30, y]) },
      properties: { label: 'Cable' },
    });
  });

  test.each([
    // Plane geometry: a stadium is 2 b L + pi b^2; a square grown by b is A + P b + pi b^2.
    ['line' as const, [[0, 0] as const, [30, 0] as const], 2, 2 * 2 * 30 + Math.PI * 4],
    [
      'polygon' as const,
      [[0, 0] as const, [10, 0] as const, [10, 10] as const, [0, 10] as const],
      1.5,
      100 + 40 * 1.5 + Math.PI * 1.5 ** 2,
    ],
  ])('the strip of a %s has the area that geometry gives it', (shape, points, bufferM, areaM2) => {
    const strip = keepOutStrip({ id: 'k', label: 'K', shape, points, bufferM });
    expect(strip).toHaveLength(1);
    const [outer = [], ...holes] = strip[0] ?? [];
    expect(holes).toHaveLength(0);
    expect(Math.abs(ringAreaM2(outer) / areaM2 - 1)).toBeLessThan(0.02);
  });

  test('a ring road leaves the ground inside it free', () => {
    const points = [[0, 0] as const, [40, 0] as const, [40, 40] as const, [0, 40] as const, [0, 0] as const];
    const [polygon] = keepOutStrip({ id: 'k', label: 'K', shape: 'line', points, bufferM: 3 });
    expect(polygon).toHaveLength(2);
  });

  test('a drawing grows from point to line to area, with the pointer as its next corner', () => {
    const kinds = (points: readonly (readonly [number, number])[]) =>
      drawingLayer({ target: 'lot', shape: 'polygon', points }, { atM: [5, 5], kind: null }).features.map(
        (feature) => feature.geometry.type,
      );
    expect(kinds([])).toEqual([]);
    expect(kinds([[0, 0]])).toEqual(['Point', 'LineString']);
    expect(
      kinds([
        [0, 0],
        [10, 0],
      ]),
    ).toEqual(['Point', 'Point', 'Polygon']);
  });

  test('every layer of the style has a source that the layers fill; nothing is fetched', () => {
    const style = mapStyle();
    const filled = Object.keys(buildLayers({ view, surface, shown: 'estimate', unit: 'kBq/m3' }));
    for (const layer of style.layers) {
      if ('source' in layer) expect([...filled, 'proposals', 'drawing']).toContain(layer.source);
    }
    expect(style.glyphs).toBeUndefined();
    expect(style.sprite).toBeUndefined();
    for (const source of Object.values(style.sources)) {
      expect(source).toMatchObject({ type: 'geojson', maxzoom: 24, tolerance: 0 });
    }
  });
});
