import { describe, expect, test } from 'vitest';
import { airViscosityPaS } from '../../../core/soil/air.ts';
import type { FlowTest } from '../../../core/soil/permeability.ts';
import { darcyGasM2, darcyM2, permeabilityOf, pipeLossPa } from '../../../core/soil/permeability.ts';
import { toPa } from '../../../core/soil/pressure-units.ts';
import { shapeFactorM } from '../../../core/soil/shape-factor.ts';
import { exact } from '../../../core/soil/uncertainty.ts';
import { propagateMonteCarlo } from './monte-carlo.ts';

describe('units', () => {
  test('pressure columns as in NIST SP 811, appendix B', () => {
    expect(toPa(1, 'inH2O')).toBeCloseTo(249.0889, 4);
    expect(toPa(100, 'inH2O') / 1000).toBeCloseTo(24.91, 2);
    expect(toPa(1, 'mmHg')).toBeCloseTo(133.3224, 4);
    expect(toPa(1, 'cmH2O')).toBeCloseTo(98.0665, 10);
    expect(toPa(1, 'mbar')).toBe(100);
    // 760 mm Hg are one standard atmosphere, within the rounding of the definition
    expect(toPa(760, 'mmHg')).toBeCloseTo(101_325, 0);
  });
});

// Bird, Stewart and Lightfoot, Transport Phenomena, table 1.1-2 (mPa s): within 0.4 %
test.each([
  [0, 0.01716],
  [20, 0.01813],
  [40, 0.01908],
  [60, 0.01999],
])('viscosity of air at %i C is %f mPa s', (celsius, mPaS) => {
  expect(Math.abs((1000 * airViscosityPaS(celsius)) / mPaS - 1)).toBeLessThan(0.004);
});

describe('shape factor', () => {
  test('L 5 cm, d 1.2 cm, centre at 82.5 cm: 0.1492 m (hand calculation)', () => {
    const cylinder = { kind: 'cylinder', lengthM: 0.05, diameterM: 0.012, centreDepthM: 0.825 } as const;
    expect(shapeFactorM(cylinder)).toBeCloseTo(0.1492, 4);
    // far under the surface it is 2 pi L / ln(2L/d), 0.1482 m
    expect(shapeFactorM({ ...cylinder, centreDepthM: 1e6 })).toBeCloseTo(0.1482, 4);
  });

  test('derived anew: potential of a line sink and its image above the surface, summed in small pieces', () => {
    const [l, d, depth] = [0.2, 0.01, 0.4];
    const n = 400_000;
    let self = 0;
    let image = 0;
    for (let i = 0; i < n; i++) {
      const z = depth - l / 2 + ((i + 0.5) * l) / n;
      self += 1 / Math.hypot(z - depth, d / 2);
      image += 1 / (z + depth);
    }
    const potential = (self - image) / n / (4 * Math.PI);
    const found = shapeFactorM({ kind: 'cylinder', lengthM: l, diameterM: d, centreDepthM: depth });
    expect(Math.abs(found * potential - 1)).toBeLessThan(0.002);
  });

  test('between the sphere of its width and that of its length; sphere 4 pi r, disc 4 r', () => {
    const cylinder = shapeFactorM({ kind: 'cylinder', lengthM: 0.1, diameterM: 0.02, centreDepthM: 5 });
    expect(cylinder).toBeGreaterThan(shapeFactorM({ kind: 'sphere', radiusM: 0.01 }));
    expect(cylinder).toBeLessThan(shapeFactorM({ kind: 'sphere', radiusM: 0.05 }));
    expect(shapeFactorM({ kind: 'disc', radiusM: 0.01 })).toBeCloseTo(0.04, 12);
  });

  test('a cavity as wide as long is refused', () => {
    expect(() =>
      shapeFactorM({ kind: 'cylinder', lengthM: 0.01, diameterM: 0.012, centreDepthM: 0.8 }),
    ).toThrow(/too stubby/);
  });
});

const draw: FlowTest = {
  flowM3PerS: { value: 2e-5, u: 4e-7 },
  suctionPa: { value: 2000, u: 40 },
  lineLossPa: { value: 0, u: 0 },
  shapeFactorM: { value: 0.149, u: 0.009 },
  soilTemperatureC: { value: 7, u: 2 },
  airPressurePa: 101_325,
  meteredAt: 'line',
  meterTemperatureC: 7,
  leastFlowM3PerS: 1e-7,
  leastSuctionPa: 20,
};

describe('permeability', () => {
  test('mu 1.75e-5, Q 2.0e-5, F 0.149, 2000 Pa: 1.174e-12 m2 (hand calculation)', () => {
    expect(darcyM2(1.75e-5, 2e-5, 0.149, 2000) / 1.174e-12).toBeCloseTo(1, 3);
    const found = permeabilityOf(draw);
    // mu(7 C) by Sutherland is 1.750e-5; the gas thins by 1 % at 2 kPa, metered in the line: half of that
    expect(found.kind === 'value' && Math.abs(found.permeabilityM2 / 1.174e-12 - 1)).toBeLessThan(0.012);
  });

  test('gas that expands: Kirkham 1947, q1 = k A (P1^2 - P2^2) / (2 mu L P1), as the sum of thin slices', () => {
    // steady one-dimensional flow through 1 m of unit section, in 20 000 slices at the pressure of each
    const [k, mu, high] = [1e-12, 1.8e-5, 101_325];
    const massFlow = 2e-4; // volume flow at the upstream pressure times that pressure, per pascal of it
    let p = high;
    const n = 20_000;
    for (let i = 0; i < n; i++) {
      const half = p - ((massFlow * high * mu) / (k * p)) * (0.5 / n);
      p -= ((massFlow * high * mu) / (k * half)) * (1 / n);
    }
    expect(p).toBeLessThan(high);
    expect(darcyGasM2(mu, massFlow, high, 1, high, p) / k).toBeCloseTo(1, 6);
  });

  test('uncertainty as by Monte Carlo, all inputs doubtful', () => {
    const test = { ...draw, lineLossPa: { value: 300, u: 30 } };
    const found = permeabilityOf(test);
    if (found.kind !== 'value') throw new Error('a value was expected');
    const drawn = propagateMonteCarlo(
      ([q = 0, s = 0, loss = 0, f = 1, t = 7]) =>
        darcyGasM2(
          airViscosityPaS(t),
          (q * (t + 273.15)) / 280.15,
          101_325 - s,
          f,
          101_325,
          101_325 - s + loss,
        ),
      [test.flowM3PerS, test.suctionPa, test.lineLossPa, test.shapeFactorM, test.soilTemperatureC],
      6,
    );
    expect(found.permeabilityM2 / drawn.value).toBeCloseTo(1, 9);
    expect(Math.abs(found.uM2 / drawn.u - 1)).toBeLessThan(0.04);
  });

  test('line loss by Hagen and Poiseuille: water in a 1 mm pipe', () => {
    // White, Fluid Mechanics: dP = 128 mu L Q / (pi d^4); 1e-3 Pa s, 1 m, 1 mm, 1 mL/s: 40.7 kPa
    expect(pipeLossPa(1e-3, 1, 1e-3, 1e-6) / 1000).toBeCloseTo(40.74, 2);
  });

  test('no flow at full suction is less than, flow without suction more than', () => {
    const none = { value: 0, u: 0 };
    const sure = { ...draw, shapeFactorM: exact(0.149), soilTemperatureC: exact(7) };
    const tight = permeabilityOf({ ...sure, flowM3PerS: none, suctionPa: exact(20_000) });
    expect(tight.kind).toBe('lessThan');
    // 1e-7 m3/s at 20 kPa: plain Darcy 5.87e-16; times 2 x 81 325 / (81 325 + 101 325) as the meter sits in thin gas,
    // times 1 + 1.645 x 0.005 for the doubt of the viscosity
    if (tight.kind === 'lessThan') expect(tight.boundM2 / 5.87e-16).toBeCloseTo(0.898, 2);
    const open = permeabilityOf({ ...sure, suctionPa: exact(12), lineLossPa: exact(10) });
    expect(open.kind).toBe('moreThan');
    if (open.kind === 'moreThan')
      expect(open.boundM2 / darcyM2(1.75e-5, 2e-5, 0.149, 20)).toBeCloseTo(0.966, 2);
    expect(() => permeabilityOf({ ...draw, flowM3PerS: none, suctionPa: none })).toThrow(/did not draw/);
  });

  test('what is odd is said: much line loss, suction within its doubt', () => {
    const lossy = permeabilityOf({ ...draw, lineLossPa: { value: 1500, u: 200 } });
    expect(lossy.notes.join(' ')).toMatch(/half of the suction/);
    expect(lossy.notes.join(' ')).toMatch(/order of magnitude/);
  });
});
