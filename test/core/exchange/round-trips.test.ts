/** Any shape that goes out comes back, through every format that our own reader knows too. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PositionM, ProjectCrs, ProjectView } from '../../../core/contract/model.ts';
import { chooseKeepOuts, chooseOutline, chooseProbes } from '../../../core/exchange/choose-geometry.ts';
import { writeDxf } from '../../../core/exchange/dxf-out.ts';
import { writeGeoJson } from '../../../core/exchange/geojson-out.ts';
import type { Shape } from '../../../core/exchange/geometry.ts';
import { writeGeoPackage } from '../../../core/exchange/gpkg-out.ts';
import { writeGpx } from '../../../core/exchange/gpx-out.ts';
import { writeKml } from '../../../core/exchange/kml-out.ts';
import { readGeometry } from '../../../core/exchange/read-geometry.ts';
import { readGeoPackageGeometry, writeGeoPackageGeometry } from '../../../core/exchange/wkb.ts';
import { ringToNative, toNative } from '../../../core/geo/frame.ts';
import { convertTied, fitLocalGrid, type GridTie } from '../../../core/geo/local-grid.ts';
import { createView } from './fixture.ts';

const coordinate = fc.double({ min: -400, max: 400, noNaN: true });
const position = fc.tuple(coordinate, coordinate);
/** Corners in order round a middle: simple rings of any shape. */
const ring = fc
  .array(fc.double({ min: 5, max: 200, noNaN: true }), { minLength: 3, maxLength: 30 })
  .map((radii) =>
    radii.map((radius, i): PositionM => {
      const angle = (2 * Math.PI * i) / radii.length;
      return [radius * Math.cos(angle), radius * Math.sin(angle)];
    }),
  );
/** Text that XML can carry as it is; leading and trailing space is not part of a name. */
const label = fc
  .string({ unit: 'grapheme', minLength: 1, maxLength: 12 })
  .filter((text) => text.trim() === text && !/[\p{Cc}\p{Cs}\ufffe\uffff]/u.test(text));

const LOCAL = { kind: 'local', unit: 'ft', label: 'stake' } as const;
const TIE: GridTie = fitLocalGrid(LOCAL, 2227, [
  { label: 'A', local: [0, 0], mapped: [6000000, 2100000] },
  { label: 'B', local: [300, 400], mapped: [6000400, 2100300] },
]).tie;
const SYSTEMS: readonly (readonly [ProjectCrs, readonly [number, number], GridTie | null])[] = [
  [{ kind: 'epsg', code: 32633 }, [617060, 5450380], null],
  [{ kind: 'epsg', code: 5514 }, [-598200, -1160700], null],
  [{ kind: 'epsg', code: 2227 }, [6000000, 2100000], null],
  [LOCAL, [0, 0], TIE],
];

type Writer = (view: ProjectView, options: { tie: GridTie | null }) => Uint8Array | string;
const WRITERS: readonly (readonly [file: string, write: Writer])[] = [
  ['a.geojson', (view, options) => writeGeoJson(view, null, options)],
  ['a.gpkg', (view, options) => writeGeoPackage(view, null, options)],
  ['a.kml', (view, options) => writeKml(view, null, options)],
  ['a.gpx', (view, options) => writeGpx(view, options)],
  ['a.dxf', (view, options) => writeDxf(view, null, options)],
];

describe.each(WRITERS)('%s', (file, write) => {
  test('lot, keep-outs and probes come back to 1 mm, names as they were', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...SYSTEMS),
        ring,
        fc.uniqueArray(fc.tuple(label, position), {
          minLength: 1,
          maxLength: 20,
          selector: ([text]) => text.toLowerCase(),
        }),
        ([crs, origin, tie], lot, points) => {
          const base = createView(crs, origin);
          const [model] = base.probes;
          if (model === undefined) throw new Error('the fixture has probes');
          const view: ProjectView = {
            ...base,
            lot,
            footprint: null,
            keepOuts: base.keepOuts.map((k) => ({ ...k, blocksWalk: true })),
            probes: points.map(([text, positionM], i) => ({
              ...model,
              id: `p${i}`,
              added: i % 3 === 1,
              label: text,
              positionM,
              native: toNative(base.frame, positionM),
            })),
            samples: [],
            assessments: [],
            marks: [],
          };
          const content = write(view, { tie });
          const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
          // a drawing names no system: what it means is known from outside
          const outside: ProjectCrs = tie === null ? crs : { kind: 'epsg', code: tie.code };
          const reading = readGeometry(bytes, file, outside);
          const near = (got: readonly PositionM[], want: readonly PositionM[]) => {
            const back = convertTied(reading.crs ?? outside, crs, tie, got);
            expect(back).toHaveLength(want.length);
            back.forEach(([x, y], i) => {
              const [u, v] = want[i] ?? [Number.NaN, Number.NaN];
              expect(Math.hypot(x - u, y - v) * base.frame.metresPerUnit).toBeLessThan(1e-3);
            });
          };
          const probes = chooseProbes(reading).items;
          near(
            probes.map(({ at }) => at),
            view.probes.map(({ native }) => native),
          );
          // a drawing has neither fields nor names that belong to a point
          if (file !== 'a.dxf')
            expect(probes.map((p) => [p.label, p.added])).toEqual(
              points.map(([text], i) => [text, i % 3 === 1]),
            );
          if (file === 'a.gpx') return;
          near(chooseOutline(reading, 'lot').ring, ringToNative(base.frame, lot));
          const [pipe] = chooseKeepOuts(reading, { bufferM: 1 }).items;
          if (/json|gpkg/.test(file)) expect(pipe?.blocksWalk).toBe(true);
          near(pipe?.points ?? [], ringToNative(base.frame, base.keepOuts[0]?.points ?? []));
        },
      ),
      { seed: 11, numRuns: 40 },
    );
  });
});

test('geometry blobs of a GeoPackage come back bit by bit', () => {
  const any = fc.double({ noNaN: true, noDefaultInfinity: true });
  const place = fc.tuple(any, any);
  const line = fc.array(place, { minLength: 2, maxLength: 9 });
  const shape: fc.Arbitrary<Shape> = fc.oneof(
    place.map((coordinates): Shape => ({ kind: 'point', coordinates })),
    line.map((coordinates): Shape => ({ kind: 'line', coordinates })),
    fc.array(line, { minLength: 1, maxLength: 4 }).map(
      (coordinates): Shape => ({
        kind: 'polygon',
        // a ring that ends where it began would lose that point, as it should
        coordinates: coordinates.map((points, i) => [...points, [1e9 + i, 1e9]]),
      }),
    ),
  );
  fc.assert(
    fc.property(shape, fc.integer({ min: -1, max: 99999 }), (given, srsId) => {
      const read = readGeoPackageGeometry(writeGeoPackageGeometry(srsId, given));
      expect(read).toEqual({ srsId, shapes: [given] });
    }),
    { seed: 5, numRuns: 200 },
  );
});

test('blobs with heights, of other writers (ISO and extended numbers), lose only the height', () => {
  const blob = (kind: number, little: boolean) => {
    const view = new DataView(new ArrayBuffer(8 + 5 + 24));
    view.setUint16(0, 0x4750);
    view.setUint8(3, little ? 1 : 0);
    view.setInt32(4, 4326, little);
    view.setUint8(8, little ? 1 : 0);
    view.setUint32(9, kind, little);
    [16.5, 49.25, 300].forEach((value, i) => {
      view.setFloat64(13 + 8 * i, value, little);
    });
    return new Uint8Array(view.buffer);
  };
  for (const little of [true, false]) {
    for (const kind of [1001, 2001, 0x80000001]) {
      const { shapes } = readGeoPackageGeometry(blob(kind, little));
      expect(shapes).toEqual([{ kind: 'point', coordinates: [16.5, 49.25] }]);
    }
    expect(() => readGeoPackageGeometry(blob(8, little))).toThrow(/arcs or surfaces/);
  }
});
