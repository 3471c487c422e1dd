/**
 * Unions that the planar library alone fails on: outlines through the same few places, a picometre apart.
 * The library is asked beside ours, so that the test says so should it one day cope by itself.
 */
import UnaryUnionOp from 'jsts/org/locationtech/jts/operation/union/UnaryUnionOp.js';
import { expect, test } from 'vitest';
import type { PolygonM, PositionM } from '../../../core/contract/model.ts';
import { polygonsGeometry } from '../../../core/geo/jsts.ts';
import {
  bufferLine,
  findRingCrossing,
  intersectPolygons,
  polygonsArea,
  subtractPolygons,
  unionPolygons,
} from '../../../core/geo/planar.ts';

/** Repeatable numbers from 0 to 1 (linear congruence, constants of ISO C's example). */
function generator(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1103515245 + 12345) & 0x7fffffff;
    return state / 0x7fffffff;
  };
}

/** A four-sided outline and, between its corners, slivers as wide as the shaking: `shakeM`. */
function shaken(random: () => number, shakeM: number): PolygonM[] {
  const base = Array.from({ length: 4 }, (_, i): PositionM => {
    const angle = (2 * Math.PI * (i + 0.6 * random())) / 4;
    return [1000 + 15 * Math.cos(angle), 2000 + 15 * Math.sin(angle)];
  });
  const shake = ([x, y]: PositionM): PositionM => [
    x + (random() - 0.5) * shakeM,
    y + (random() - 0.5) * shakeM,
  ];
  return Array.from({ length: 40 }, (_, i): PolygonM => {
    const ring = i % 2 === 0 ? base : [0, 2, 4].map((k) => base[(k + i) % 4] as PositionM);
    return [ring.map(shake)];
  });
}

/** As a careless drawing has them: outlines through the same few places, also crossing themselves and folded flat. */
function tangled(random: () => number): PolygonM[] {
  const shakeM = 10 ** -(4 + Math.floor(random() * 11));
  const base = Array.from({ length: 3 + Math.floor(random() * 5) }, (): PositionM => {
    return [random() * 30 + 1000, random() * 30 + 2000];
  });
  return Array.from({ length: 40 }, (_, i): PolygonM => {
    const ring =
      random() < 0.5
        ? base
        : Array.from({ length: 3 }, (_, q) => base[(q * 2 + i) % base.length] as PositionM);
    return [ring.map(([x, y]): PositionM => [x + (random() - 0.5) * shakeM, y + (random() - 0.5) * shakeM])];
  });
}

test('where the library throws, the union still covers every shape', () => {
  const random = generator(99);
  let libraryFailed = 0;
  for (let round = 0; round < 3; round++) {
    const polygons = tangled(random);
    try {
      UnaryUnionOp.union(polygonsGeometry(polygons));
    } catch {
      libraryFailed++;
    }
    const union = unionPolygons(polygons);
    for (const polygon of polygons) {
      if (findRingCrossing(polygon[0] ?? []) !== null) continue;
      expect(polygonsArea(subtractPolygons([polygon], union))).toBeLessThan(0.01);
    }
  }
  expect(libraryFailed).toBeGreaterThan(0);
});

test('strips along one line, each a little wider: the widest remains', () => {
  const random = generator(5);
  const line = Array.from({ length: 12 }, (): PositionM => [30 * random(), 30 * random()]);
  const strips = Array.from({ length: 12 }, (_, i) => bufferLine(line, 1 + 1e-9 * i));
  const widest = polygonsArea(strips.at(-1) ?? []);
  expect(polygonsArea(unionPolygons(strips.flat()))).toBeCloseTo(widest, 5);
});

test('what is in both and what is left make up the whole', () => {
  const random = generator(17);
  for (let round = 0; round < 20; round++) {
    const [a, b] = shaken(random, 10 ** -(4 + Math.floor(random() * 11))).filter((_, i) => i % 2 === 0) as [
      PolygonM,
      PolygonM,
    ];
    const both = polygonsArea(intersectPolygons([a], [b]));
    const left = polygonsArea(subtractPolygons([a], [b]));
    expect(both + left).toBeCloseTo(polygonsArea([a]), 4);
  }
});

test('outlines that cross themselves get an answer, and nothing gets none', () => {
  const bow: PolygonM = [
    [
      [0, 0],
      [3, 3],
      [3, 0],
      [0, 3],
    ],
  ];
  const square: PolygonM = [
    [
      [1, 1],
      [2, 1],
      [2, 2],
      [1, 2],
    ],
  ];
  expect(polygonsArea(unionPolygons([bow, square]))).toBeGreaterThan(0.9);
  expect(unionPolygons([])).toEqual([]);
});
