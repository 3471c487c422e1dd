import { expect, test } from 'vitest';
import type { GeometryReading } from '../../../core/exchange/geometry.ts';
import { lookAtGeometry } from '../../../core/exchange/look-geometry.ts';
import { makeFrame } from '../../../core/geo/frame.ts';

const frame = makeFrame({ kind: 'local', unit: 'ft', label: '' }, [100, 100]);
const box = (x: number, y: number, w: number, h: number) =>
  [
    [x, y],
    [x + w, y],
    [x + w, y + h],
    [x, y + h],
  ] as [number, number][];
const reading: GeometryReading = {
  file: 'plan.dxf',
  crs: null,
  notes: [],
  features: [
    {
      kind: 'polygon',
      coordinates: [box(0, 0, 20, 10), box(5, 5, 2, 2)],
      name: 'a',
      label: 'Yard',
      layer: 'L1',
      properties: {},
    },
    {
      kind: 'line',
      coordinates: [...box(0, 0, 100, 50), [0, 0]],
      name: 'b',
      label: null,
      layer: 'L2',
      properties: {},
    },
    {
      kind: 'line',
      coordinates: [
        [0, 0],
        [30, 40],
      ],
      name: 'c',
      label: null,
      layer: 'L2',
      properties: {},
    },
    { kind: 'point', coordinates: [1, 1], name: 'd', label: null, layer: 'L3', properties: {} },
  ],
};

test('outlines with their sizes in metres, the largest first; a closed line counts as one', () => {
  const { features, total } = lookAtGeometry(reading, 'lot', frame, null);
  expect(total).toBe(2);
  expect(features.map(({ feature }) => feature)).toEqual(['b', 'a']);
  expect(features[0]).toMatchObject({ corners: 4, layer: 'L2', shape: 'polygon' });
  expect(features[0]?.areaM2).toBeCloseTo(5000 * 0.3048 ** 2, 9);
  expect(features[0]?.widthM).toBeCloseTo(30.48, 9);
  // Hole taken off.
  expect(features[1]?.areaM2).toBeCloseTo(196 * 0.3048 ** 2, 9);
  expect(features[1]?.sketchM[0]).toEqual([0, 0]);
});

test('all there is for keep-outs, points for probes, and what the file marks before all else', () => {
  expect(lookAtGeometry(reading, 'keep-out', frame, null).features.map((f) => f.feature)).toEqual([
    'b',
    'a',
    'c',
    'd',
  ]);
  expect(lookAtGeometry(reading, 'keep-out', frame, null).features[2]?.lengthM).toBeCloseTo(15.24, 9);
  expect(lookAtGeometry(reading, 'probes', frame, null).total).toBe(1);
  const [first, ...others] = reading.features;
  if (!first) throw new Error('no feature');
  const marked = { ...reading, features: [{ ...first, properties: { role: 'lot' } }, ...others] };
  expect(lookAtGeometry(marked, 'lot', frame, null).features.map((f) => f.feature)).toEqual(['a']);
});
