import { describe, expect, test } from 'vitest';
import { atomSecondsBetween, atomsAt, solvePhase } from '../../../core/counting/bateman.ts';
import { decaysPerBq } from '../../../core/counting/history.ts';
import {
  lambdaOf,
  type Nuclide,
  RADON_CHAIN,
  radonLeft,
  THORON_CHAIN,
} from '../../../core/counting/nuclides.ts';

const lambda = RADON_CHAIN.map(lambdaOf);
const byId = (id: string) => RADON_CHAIN.findIndex((m) => m.id === id);

/** Activities (Bq, of each member) of a sealed chain after a time. */
function activitiesAfter(
  chain: readonly Nuclide[],
  activitiesBq: readonly number[],
  seconds: number,
): number[] {
  const lambdas = chain.map(lambdaOf);
  const at = (i: number) => lambdas[i] as number;
  const solution = solvePhase(
    lambdas,
    chain.map((m, i) => at(i) * m.toNext),
    activitiesBq.map((a, i) => a / at(i)),
  );
  return atomsAt(solution, seconds).map((n, i) => n * at(i));
}

describe('nuclides', () => {
  // Decay constants of the French national laboratory (LNHB), as listed in a public validation data set.
  test.each([
    ['Rn-222', 2.0983e-6, 0.0006e-6],
    ['Po-218', 3.762e-3, 0.027e-3],
    ['Pb-214', 4.292e-4, 0.007e-4],
    ['Bi-214', 5.835e-4, 0.029e-4],
    ['Po-214', 4.271e3, 0.032e3],
  ])('%s decays as the decay-data laboratory says', (id, expected, u) => {
    expect(Math.abs((lambda[byId(id)] ?? 0) - expected)).toBeLessThan(u);
  });

  test('radon left after 3, 24 and 48 h (exp(-lambda t), hand calculation)', () => {
    expect(radonLeft(3 * 3600)).toBeCloseTo(0.97759, 5);
    expect(radonLeft(24 * 3600)).toBeCloseTo(0.83418, 5);
    expect(radonLeft(48 * 3600)).toBeCloseTo(0.69586, 4);
  });

  test('thoron left after 5 and 10 min (half-life 55.8 s, hand calculation)', () => {
    const left = (s: number) => activitiesAfter(THORON_CHAIN, [1, 0, 0, 0, 0], s)[0];
    expect(left(300)).toBeCloseTo(0.02407, 4);
    expect(left(600)).toBeCloseTo(5.8e-4, 5);
  });
});

describe('sealed chain', () => {
  test('1000 Bq of pure radon after an hour: reference activities of the LNHB validation set within 0.1 %', () => {
    const found = activitiesAfter(RADON_CHAIN, [1000, 0, 0, 0, 0], 3600);
    [992.47, 993.03, 755.81, 491.03, 490.93].forEach((expected, i) => {
      expect(Math.abs((found[i] ?? 0) / expected - 1)).toBeLessThan(1e-3);
    });
  });

  // mpmath 1.3.0, 60 digits, same constants
  test.each([
    [60, [0.999874104962294, 0.202035191501684, 0.00267523117844793, 3.15867185835872e-5]],
    [600, [0.998741762613766, 0.894584430518759, 0.140862810580567, 0.0178026698180177]],
    [10_800, [0.977592332906314, 0.978137953077226, 0.971724193255309, 0.950715276636279]],
  ])('agrees with 60-digit arithmetic after %i s', (seconds, expected) => {
    const found = activitiesAfter(RADON_CHAIN, [1, 0, 0, 0, 0], seconds);
    expected.forEach((e, i) => {
      expect(found[i]).toBeCloseTo(e, 12);
    });
  });

  test('ingrowth of Po-218 at 5, 10, 15, 20 min and its mean in five-minute windows (hand calculation)', () => {
    // Radon does not run down in the hand calculation: its loss is set to 0.
    const steady = solvePhase([0, lambda[1] ?? 0], [1], [1, 0]);
    const share = (s: number) => (atomsAt(steady, s)[1] ?? 0) * (lambda[1] ?? 0);
    expect([5, 10, 15, 20].map((m) => Number(share(60 * m).toFixed(4)))).toEqual([
      0.6765, 0.8953, 0.9661, 0.989,
    ]);
    const mean = (k: number) =>
      ((atomSecondsBetween(steady, 300 * k, 300 * (k + 1))[1] ?? 0) * (lambda[1] ?? 0)) / 300;
    [0.4006, 0.8061, 0.9373, 0.9797].forEach((e, k) => {
      expect(mean(k)).toBeCloseTo(e, 4);
    });
  });

  test('sealed cell with steady radon after 3 h: Pb-214 0.9890, Bi-214 0.9646, 2.965 alphas for each decay', () => {
    const loss = [0, ...lambda.slice(1)];
    const feed = [1, ...RADON_CHAIN.slice(1).map((m, i) => (lambda[i + 1] ?? 0) * m.toNext)];
    const atoms = atomsAt(solvePhase(loss, feed, [1, 0, 0, 0, 0]), 10_800);
    const activity = atoms.map((n, i) => (i === 0 ? 1 : n * (lambda[i] ?? 0)));
    expect(activity[2]).toBeCloseTo(0.989, 3);
    expect(activity[3]).toBeCloseTo(0.9646, 3);
    // the hand calculation leaves out the branchings of 0.02 % each
    expect(Math.abs((1 + (activity[1] ?? 0) + (activity[4] ?? 0)) / 2.965 - 1)).toBeLessThan(5e-4);
  });

  test('Po-218 left 5, 10, 15 min after a flush; Bi-214 left 15, 30, 60 min (1 %)', () => {
    const left = (s: number) => activitiesAfter(RADON_CHAIN, [0, 1, 1, 1, 1], s);
    [0.3235, 0.1047, 0.0339].forEach((e, i) => {
      expect(left(300 * (i + 1))[1]).toBeCloseTo(e, 4);
    });
    for (const [s, e] of [
      [900, 0.954],
      [1800, 0.82],
      [3600, 0.508],
    ] as const)
      expect(Math.abs((left(s)[3] ?? 0) / e - 1)).toBeLessThan(0.01);
  });

  test('two rates that are equal are parted without a trace', () => {
    // dN2/dt = N1 - N2, both with rate 1: N2 = t exp(-t)
    const found = atomsAt(solvePhase([1, 1], [1], [1, 0]), 2)[1] ?? 0;
    expect(found).toBeCloseTo(2 * Math.exp(-2), 6);
  });
});

describe('filling', () => {
  test('a steady fill of 120 s: decays between 300 and 600 s as by matrix exponential (mpmath 1.3.0)', () => {
    const fill = { startS: 0, endS: 120, way: { kind: 'steady' } as const, transitS: 0 };
    const [row] = decaysPerBq(RADON_CHAIN, fill, [{ startS: 300, endS: 600 }]);
    [299.754595395181, 226.352179329004, 22.7845035256426, 2.00435968689178].forEach((e, i) => {
      expect(row?.[i]).toBeCloseTo(e, 8);
    });
  });

  test('thoron through a steady fill of 60 s and 300 s of rest (mpmath 1.3.0)', () => {
    const fill = { startS: 0, endS: 60, way: { kind: 'steady' } as const, transitS: 0 };
    const [row] = decaysPerBq(THORON_CHAIN, fill, [{ startS: 359.9995, endS: 360.0005 }]);
    [0.0169715333684814, 0.0170166671810763, 0.00142538632383261, 6.77190649449018e-5].forEach((e, i) => {
      expect(((row?.[i] ?? 0) / 0.001 / e - 1) * 1e4).toBeCloseTo(0, 0);
    });
  });

  test('flow-through ends with 1 Bq whatever was pumped, and a fill cut in two intervals loses no decay', () => {
    for (const chamberVolumes of [0.5, 3, 20]) {
      const fill = {
        startS: 0,
        endS: 100,
        way: { kind: 'flow-through', chamberVolumes } as const,
        transitS: 0,
      };
      const [at] = decaysPerBq(RADON_CHAIN, fill, [{ startS: 100, endS: 101 }]);
      expect(at?.[0]).toBeCloseTo(1, 3);
      const [whole] = decaysPerBq(RADON_CHAIN, fill, [{ startS: 0, endS: 500 }]);
      const parts = decaysPerBq(RADON_CHAIN, fill, [
        { startS: 0, endS: 60 },
        { startS: 60, endS: 500 },
      ]);
      whole?.forEach((d, i) => {
        expect((parts[0]?.[i] ?? 0) + (parts[1]?.[i] ?? 0)).toBeCloseTo(d, 8);
      });
    }
  });

  test('what a flush leaves: gas by its share, progeny as they decay', () => {
    const fill = { startS: -7200, endS: -7200, way: { kind: 'at-once' } as const, transitS: 0 };
    const emptying = { startS: 0, endS: 0, gasLeft: 0.02, progenyLeft: 1 };
    const [row] = decaysPerBq(RADON_CHAIN, fill, [{ startS: 43_200, endS: 43_210 }], emptying);
    // twelve hours on the old progeny are gone and those of the 2 % are in transient equilibrium with radon:
    // each activity over its parent's is lambda / (lambda - lambda of radon)
    expect((row?.[0] ?? 0) / 10).toBeCloseTo(0.02 * radonLeft(50_405), 6);
    const ratio = [1, 2, 3].reduce((product, i) => {
      const l = lambda[i] ?? 0;
      return (product * l) / (l - (lambda[0] ?? 0));
    }, 0.99978);
    expect((row?.[3] ?? 0) / (row?.[0] ?? 1)).toBeCloseTo(ratio, 4);
    const [early] = decaysPerBq(RADON_CHAIN, fill, [{ startS: 300, endS: 301 }], { ...emptying, gasLeft: 0 });
    expect(early?.[0]).toBe(0);
    expect(early?.[1]).toBeCloseTo(0.3235 * radonLeft(7200), 2);
  });

  test('times out of order are refused', () => {
    const fill = { startS: 10, endS: 5, way: { kind: 'steady' } as const, transitS: 0 };
    expect(() => decaysPerBq(RADON_CHAIN, fill, [])).toThrow(/before it starts/);
  });
});

/** A second, step-by-step reckoning of a whole day's history that shares nothing with the closed form. */
describe('against a fourth-order Runge-Kutta integration', () => {
  /** Decays of Rn-222, Po-218, Pb-214, Bi-214 in [from, to]; gas comes in and goes as told. */
  function integrate(
    until: number,
    span: { startS: number; endS: number },
    inflowBqPerS: (t: number) => number,
    flushPerS: (t: number) => number,
  ): number[] {
    const l = lambda.slice(0, 4);
    const [l0 = 0, l1 = 0, l2 = 0, l3 = 0] = l;
    const slope = (t: number, n: readonly number[]): number[] => {
      const [n0 = 0, n1 = 0, n2 = 0, n3 = 0] = n;
      const counting = t >= span.startS && t < span.endS ? 1 : 0;
      return [
        inflowBqPerS(t) / l0 - (l0 + flushPerS(t)) * n0,
        l0 * n0 - l1 * n1,
        0.99978 * l1 * n1 - l2 * n2,
        l2 * n2 - l3 * n3,
        ...[n0, n1, n2, n3].map((x, i) => counting * (l[i] ?? 0) * x),
      ];
    };
    let n = [0, 0, 0, 0, 0, 0, 0, 0];
    const h = 0.5;
    const plus = (a: readonly number[], b: readonly number[], f: number) =>
      a.map((x, i) => x + f * (b[i] ?? 0));
    for (let step = 0; step * h < until; step++) {
      // inside a step nothing is switched: its middle decides
      const t = (step + 0.5) * h;
      const k1 = slope(t, n);
      const k2 = slope(t, plus(n, k1, h / 2));
      const k3 = slope(t, plus(n, k2, h / 2));
      const k4 = slope(t, plus(n, k3, h));
      n = n.map((x, i) => x + (h / 6) * ((k1[i] ?? 0) + 2 * (k2[i] ?? 0) + 2 * (k3[i] ?? 0) + (k4[i] ?? 0)));
    }
    return n.slice(4);
  }

  test('pumped through with three chamber volumes, counted while it fills and after', () => {
    const span = { startS: 60, endS: 900 };
    const fill = {
      startS: 0,
      endS: 200,
      way: { kind: 'flow-through', chamberVolumes: 3 } as const,
      transitS: 0,
    };
    const rate = 3 / 200;
    const expected = integrate(
      900,
      span,
      (t) => (t < 200 ? rate / (1 - Math.exp(-3)) : 0),
      (t) => (t < 200 ? rate : 0),
    );
    const [found] = decaysPerBq(RADON_CHAIN, fill, [span]);
    expected.forEach((e, i) => {
      expect((found?.[i] ?? 0) / e).toBeCloseTo(1, 7);
    });
  });

  test('filled, left for 40 minutes, flushed to 2 % in two minutes, counted 10 minutes later', () => {
    const span = { startS: 3120, endS: 3420 };
    const fill = { startS: 0, endS: 60, way: { kind: 'steady' } as const, transitS: 0 };
    const emptying = { startS: 2400, endS: 2520, gasLeft: 0.02, progenyLeft: 1 };
    const expected = integrate(
      3420,
      span,
      (t) => (t < 60 ? 1 / 60 : 0),
      (t) => (t >= 2400 && t < 2520 ? -Math.log(0.02) / 120 : 0),
    );
    const [found] = decaysPerBq(RADON_CHAIN, fill, [span], emptying);
    expected.forEach((e, i) => {
      expect((found?.[i] ?? 0) / e).toBeCloseTo(1, 7);
    });
  });
});
