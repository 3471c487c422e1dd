import { describe, expect, test } from 'vitest';
import { correctForAir, correctMeasuredForAir } from '../../../core/soil/air-correction.ts';
import { chosenShare, soilGasShare } from '../../../core/soil/dead-volume.ts';
import { leakFromTracer } from '../../../core/soil/mixing.ts';
import { exact, propagate } from '../../../core/soil/uncertainty.ts';
import { propagateMonteCarlo } from './monte-carlo.ts';

const ML = 1e-6;

describe('propagation', () => {
  test('a ratio: relative uncertainties add in squares (GUM 5.1.6), and Monte Carlo agrees', () => {
    const inputs = [
      { value: 10, u: 0.3 },
      { value: 4, u: 0.08 },
    ];
    const f = ([a = 0, b = 1]: readonly number[]) => a / b;
    const first = propagate(f, inputs);
    expect(first.u / 2.5).toBeCloseTo(Math.hypot(0.03, 0.02), 4);
    const drawn = propagateMonteCarlo(f, inputs, 1);
    expect(Math.abs(drawn.u / first.u - 1)).toBeLessThan(0.02);
    expect(drawn.low95).toBeCloseTo(2.5 - 1.96 * first.u, 1);
    expect(drawn.high95).toBeCloseTo(2.5 + 1.96 * first.u, 1);
  });
});

describe('dead volume', () => {
  // 1 - exp(-n), the dilution law of a stirred tank: 63.2, 86.5, 95.0, 99.3 % (Levenspiel, Chemical Reaction
  // Engineering, step response of the mixed-flow reactor)
  test.each([
    [1, 0.632],
    [2, 0.865],
    [3, 0.95],
    [5, 0.993],
  ])('flow-through, %i system volumes, well mixed: %f', (n, expected) => {
    const found = soilGasShare({
      kind: 'flow-through',
      pumpedM3: n * 300 * ML,
      lineM3: 50 * ML,
      chamberM3: 250 * ML,
    });
    expect(found.wellMixed).toBeCloseTo(expected, 3);
    expect(found.plugFlow).toBe(1);
    expect(found.warnings).toHaveLength(n < 3 ? 1 : 0);
  });

  test('plug flow that ends inside the chamber: 200 mL through 50 mL of line into 250 mL leave 60 %', () => {
    const found = soilGasShare({
      kind: 'flow-through',
      pumpedM3: 200 * ML,
      lineM3: 50 * ML,
      chamberM3: 250 * ML,
    });
    expect(found.plugFlow).toBeCloseTo(0.6, 12);
  });

  test('evacuated cell: 50 mL of line not purged, 150 mL drawn: a third is air in plug flow', () => {
    const base = { kind: 'evacuated', lineM3: 50 * ML, chamberM3: 150 * ML, residualShare: 0 } as const;
    const found = soilGasShare({ ...base, purgedM3: 0 });
    expect(found.plugFlow).toBeCloseTo(2 / 3, 12);
    // air that leaves a mixed line of 50 mL while 150 mL pass: 50 (1 - exp(-3)) = 47.5 mL
    expect(found.wellMixed).toBeCloseTo(1 - 47.51 / 150, 4);
    expect(soilGasShare({ ...base, purgedM3: 150 * ML }).plugFlow).toBe(1);
    expect(soilGasShare({ ...base, purgedM3: 150 * ML, residualShare: 0.04 }).plugFlow).toBeCloseTo(0.96, 12);
  });

  test('evacuated, well mixed: a balance step by step through the line agrees', () => {
    const line = 50;
    let air = line;
    let into = 0;
    const dv = 0.001;
    for (let v = 0; v < 60; v += dv) air -= (air / line) * dv;
    for (let v = 0; v < 150; v += dv) {
      into += (air / line) * dv;
      air -= (air / line) * dv;
    }
    const found = soilGasShare({
      kind: 'evacuated',
      purgedM3: 60 * ML,
      lineM3: line * ML,
      chamberM3: 150 * ML,
      residualShare: 0,
    });
    expect(found.wellMixed).toBeCloseTo(1 - into / 150, 4);
  });

  test('closed loop: 1 L of soil gas in a system of 0.5 L is two thirds of the mixture', () => {
    const found = soilGasShare({
      kind: 'closed-loop',
      soilGasM3: 1e-3,
      systemM3: 0.5e-3,
      circulatedM3: 15e-3,
    });
    expect(found.plugFlow).toBeCloseTo(2 / 3, 12);
    expect(found.wellMixed).toBeCloseTo(2 / 3, 4);
  });

  test('the doubt between both models: width / sqrt(12) about the middle, second moment about an end', () => {
    const share = { plugFlow: 1, wellMixed: 0.88, systemVolumes: 2, warnings: [] };
    expect(chosenShare(share, 'middle').u).toBeCloseTo(0.12 / Math.sqrt(12), 12);
    expect(chosenShare(share, 'wellMixed').u).toBeCloseTo(0.12 / Math.sqrt(3), 12);
  });

  test('a chamber of no volume is refused by name', () => {
    expect(() => soilGasShare({ kind: 'flow-through', pumpedM3: 1, lineM3: 1, chamberM3: 0 })).toThrow(
      /chamberM3 must be over 0/,
    );
  });
});

describe('mixing with outside air', () => {
  test('tracer 1.2 % in the sample, 20 % in the shroud: leak 6.0 % (DTSC 2015 method)', () => {
    const found = leakFromTracer({ value: 1.2, u: 0.05 }, { value: 20, u: 1 });
    expect(found.value).toBeCloseTo(0.06, 12);
    expect(found.u).toBeCloseTo(0.06 * Math.hypot(0.05 / 1.2, 0.05), 4);
  });

  test('a leak of 6 % on 40 kBq/m3: 42.55 (C / (1 - leak), common practice)', () => {
    const correction = {
      kind: 'tracer',
      outsideAirShare: { value: 0.06, u: 0.003 },
    } as const;
    const found = correctForAir({ value: 40, u: 2 }, [correction], exact(0));
    expect(found.value).toBeCloseTo(42.553, 3);
    const drawn = propagateMonteCarlo(
      ([c = 0, a = 0]) => c / (1 - a),
      [
        { value: 40, u: 2 },
        { value: 0.06, u: 0.003 },
      ],
      3,
    );
    expect(Math.abs(found.u / drawn.u - 1)).toBeLessThan(0.02);
  });

  test('a dead-volume and a tracer correction are never stacked', () => {
    expect(() =>
      correctForAir({ value: 40, u: 2 }, [
        { kind: 'dead-volume', soilGasShare: { value: 0.95, u: 0.01 } },
        { kind: 'tracer', outsideAirShare: { value: 0.06, u: 0.01 } },
      ]),
    ).toThrow(/choose one/);
  });

  test('more than half of outside air is not corrected', () => {
    expect(() =>
      correctForAir({ value: 40, u: 2 }, [{ kind: 'tracer', outsideAirShare: { value: 0.6, u: 0.05 } }]),
    ).toThrow(/sample again/);
  });

  test('a reduced value keeps its kind and its common uncertainty; a bound stays on its safe side', () => {
    const share = { kind: 'dead-volume', soilGasShare: { value: 0.8, u: 0.02 } } as const;
    const value = correctMeasuredForAir(
      { kind: 'value', estimateKBqPerM3: 40, randomUKBqPerM3: 2, commonURel: 0.05 },
      [share],
      exact(0),
    );
    expect(value).toMatchObject({ kind: 'value', commonURel: 0.05 });
    expect(value.kind === 'value' && value.estimateKBqPerM3).toBeCloseTo(50, 10);
    expect(value.kind === 'value' && value.randomUKBqPerM3).toBeCloseTo(50 * Math.hypot(0.05, 0.025), 2);
    const most = correctMeasuredForAir({ kind: 'atMost', boundKBqPerM3: 4 }, [share], exact(0));
    expect(most.kind === 'atMost' && most.boundKBqPerM3).toBeCloseTo(5 * (1 + 1.645 * 0.025), 3);
    const least = correctMeasuredForAir({ kind: 'atLeast', boundKBqPerM3: 4 }, [share], exact(0));
    expect(least.kind === 'atLeast' && least.boundKBqPerM3).toBeCloseTo(5 * (1 - 1.645 * 0.025), 3);
  });
});
