import { describe, expect, expectTypeOf, test } from 'vitest';
import type { Measured } from '../../../core/contract/model.ts';
import type { DepthCorrected } from '../../../core/soil/depth-profile.ts';
import { correctDepth, profileShare } from '../../../core/soil/depth-profile.ts';
import { reachOf } from '../../../core/soil/reach.ts';
import { exact } from '../../../core/soil/uncertainty.ts';
import { propagateMonteCarlo } from './monte-carlo.ts';

describe('reach', () => {
  test('150 mL and 1 L at an air porosity of 0.25: 5.2 and 9.8 cm (hand calculation)', () => {
    expect(reachOf(exact(150e-6), exact(0.25), 0.8).radiusM.value).toBeCloseTo(0.0523, 4);
    expect(reachOf(exact(1e-3), exact(0.25), 0.8).radiusM.value).toBeCloseTo(0.0985, 4);
  });

  test('ten litres from 0.3 m may hold air of the surface, from 0.8 m not', () => {
    expect(reachOf(exact(10e-3), exact(0.25), 0.3).surfaceAirPossible).toBe(true);
    expect(reachOf(exact(10e-3), exact(0.25), 0.8).surfaceAirPossible).toBe(false);
  });

  test('uncertainty as by Monte Carlo', () => {
    const inputs = [
      { value: 2e-3, u: 0.1e-3 },
      { value: 0.25, u: 0.04 },
    ] as const;
    const drawn = propagateMonteCarlo(
      ([v = 0, e = 1]) => Math.cbrt((3 * v) / (4 * Math.PI * e)),
      [...inputs],
      4,
    );
    const found = reachOf(inputs[0], inputs[1], 0.8).radiusM;
    expect(Math.abs(found.u / drawn.u - 1)).toBeLessThan(0.06);
  });
});

describe('depth profile', () => {
  test('length 1 m: 0.5507 at 0.8 m, factor 1.1479 from 0.8 to 1.0 m (hand calculation)', () => {
    expect(profileShare(0.8, 1)).toBeCloseTo(0.5507, 4);
    const found = correctDepth({ value: 40, u: 2 }, 0.8, 1, exact(1), 'stopped-in-soil');
    expect(found.kind === 'depth-corrected' && found.factor.value).toBeCloseTo(1.1479, 4);
  });

  // the other two lengths of the table: 1.083 and 1.193
  test.each([
    [0.5, 1.083],
    [2, 1.193],
  ])('length %f m: factor %f', (length, factor) => {
    const found = correctDepth({ value: 40, u: 2 }, 0.8, 1, exact(length), 'chosen');
    expect(found.kind === 'depth-corrected' && found.factor.value).toBeCloseTo(factor, 3);
  });

  test('the profile solves D C" = lambda (C - Cinf): checked by finite differences', () => {
    const [length, z, h] = [0.98, 0.6, 1e-3];
    const c = (x: number) => profileShare(x, length);
    const second = (c(z + h) - 2 * c(z) + c(z - h)) / h ** 2;
    expect(second).toBeCloseTo((c(z) - 1) / length ** 2, 5);
    expect(c(0)).toBe(0);
  });

  test('uncertainty of value and length together, as by Monte Carlo', () => {
    const found = correctDepth({ value: 30, u: 2 }, 0.6, 0.8, { value: 0.98, u: 0.25 }, 'water-below');
    const drawn = propagateMonteCarlo(
      ([v = 0, l = 1]) => (v * profileShare(0.8, Math.max(l, 0.05))) / profileShare(0.6, Math.max(l, 0.05)),
      [
        { value: 30, u: 2 },
        { value: 0.98, u: 0.25 },
      ],
      5,
    );
    expect(found.kind).toBe('depth-corrected');
    if (found.kind !== 'depth-corrected') return;
    expect(Math.abs(found.atReferenceKBqPerM3.u / drawn.u - 1)).toBeLessThan(0.05);
  });

  test('never on a refusal at rock, nor from very shallow, nor by more than a factor of two', () => {
    const at = (z: number, reason: 'refused-at-rock' | 'chosen', reference = 0.8) =>
      correctDepth({ value: 30, u: 2 }, z, reference, exact(0.98), reason).kind;
    expect(at(0.6, 'refused-at-rock')).toBe('not-corrected');
    expect(at(0.2, 'chosen')).toBe('not-corrected');
    expect(at(0.3, 'chosen', 1)).toBe('not-corrected');
    expect(at(0.6, 'chosen')).toBe('depth-corrected');
  });

  test('the type keeps a corrected value out of every place that takes a measured one', () => {
    // fails in the type check of the whole tree
    expectTypeOf<DepthCorrected>().not.toExtend<Measured>();
    const found = correctDepth({ value: 30, u: 2 }, 0.6, 0.8, exact(0.98), 'chosen');
    expect(['value', 'atLeast', 'atMost', 'none']).not.toContain(found.kind);
    expect(found).not.toHaveProperty('estimateKBqPerM3');
    expect(found).toHaveProperty('notForClass', true);
  });
});
