import { describe, expect, test } from 'vitest';
import type { Probe, Sample } from '../../../core/contract/model.ts';
import { weighDilution } from '../../../core/survey/dilution-odds.ts';
import { gatherSigns } from '../../../core/survey/dilution-signs.ts';
import { lotOdds } from '../../../core/survey/lot-odds.ts';
import { fieldModels, makeField } from '../../../core/survey/scatter-field.ts';
import { AIR_SHARES, normalDensity, ratioOf, SHARE_WEIGHTS } from '../../../core/survey/sign-density.ts';
import { assessAll, probe, sample } from './lot.ts';

/** 4 x 4 holes 10 m apart; values by place. */
function lot(
  radonAt: (x: number, y: number, n: number) => number,
  change: (n: number) => Partial<Sample> = () => ({}),
) {
  const probes: Probe[] = [];
  const samples: Sample[] = [];
  for (let n = 0; n < 16; n++) {
    const positionM = [10 * (n % 4), 10 * Math.floor(n / 4)] as const;
    probes.push(probe(n, { positionM }));
    const radon = radonAt(positionM[0], positionM[1], n);
    samples.push(sample(n, { radonKBqPerM3: radon, radonUKBqPerM3: 0.06 * radon, ...change(n) }));
  }
  return assessAll(samples, probes);
}

/** Invented, even between -1 and 1. */
const JITTER = [0.3, -0.8, 0.5, 0.1, -0.4, 0.9, -0.2, 0.6, -0.6, 0.2, -0.9, 0.4, 0.7, -0.3, 0, -0.5];

describe('trends', () => {
  test.each([
    ['linear 20 to 68 kBq/m3 to the north-east', (x: number, y: number) => 20 + 0.8 * (x + y)],
    [
      'the same with 10 % scatter',
      (x: number, y: number, n: number) => (20 + 0.8 * (x + y)) * (1 + 0.1 * (JITTER[n] ?? 0)),
    ],
    ['four-fold along one side', (x: number) => 20 * 4 ** (x / 30)],
    [
      'a hill in the middle',
      (x: number, y: number) => 25 + 40 * Math.exp(-((x - 15) ** 2 + (y - 15) ** 2) / 200),
    ],
  ])('%s raises no alarm anywhere', (_name, radonAt) => {
    for (const a of lot(radonAt)) expect(a.dilution, a.probeId).toBe('none');
  });

  test('a leak on the slope is found against the slope', () => {
    const found = lot(
      (x, y, n) => (20 + 0.8 * (x + y)) * (1 + 0.1 * (JITTER[n] ?? 0)) * (n === 10 ? 0.3 : 1),
    );
    expect(found.filter((a) => a.dilution !== 'none').map((a) => a.probeId)).toEqual(['p10']);
  });
});

describe('signs together', () => {
  const even = (_x: number, _y: number, n: number) => 40 * (1 + 0.25 * (JITTER[n] ?? 0));
  const ground = (n: number) => ({
    oxygenPct: Number((17 - 0.4 * (JITTER[(n + 5) % 16] ?? 0)).toFixed(1)),
    carbonDioxidePct: Number((3 + 0.4 * (JITTER[(n + 9) % 16] ?? 0)).toFixed(2)),
  });
  const mixed = (share: number, n: number) => ({
    oxygenPct: ground(n).oxygenPct * (1 - share) + 20.95 * share,
    carbonDioxidePct: ground(n).carbonDioxidePct * (1 - share) + 0.042 * share,
  });

  test('half outside air by both gases: the share is given with its range', () => {
    const found = lot(
      (x, y, n) => even(x, y, n) * (n === 6 ? 0.5 : 1),
      (n) => (n === 6 ? mixed(0.5, n) : ground(n)),
    );
    expect(found.filter((a) => a.dilution !== 'none').map((a) => a.probeId)).toEqual(['p6']);
    const flag = found[6]?.flags.find((f) => f.rule === 'nearer-outside-air-than-lot');
    const share = String(flag?.evidence.find((e) => e.what === 'share of outside air')?.value);
    const [median, low, high] = (share.match(/\d+/g) ?? []).map(Number);
    expect(median).toBeGreaterThan(35);
    expect(median).toBeLessThan(65);
    expect(low).toBeLessThanOrEqual(50);
    expect(high).toBeGreaterThanOrEqual(50);
    expect(found[6]?.dilution).toBe('diluted');
  });

  test('low radon in ground whose gases are as elsewhere is a note, not a suspicion', () => {
    const found = lot((x, y, n) => even(x, y, n) * (n === 6 ? 0.35 : 1), ground);
    expect(found[6]?.dilution).toBe('none');
    expect(found[6]?.flags.map((f) => [f.rule, f.weight])).toEqual([['low-but-undiluted', 'note']]);
  });

  test('a loose lens draws easily: low suction with radon as elsewhere is not held against it', () => {
    const found = lot(even, (n) => ({ suctionPa: n === 6 ? 90 : 900 + 150 * (JITTER[n] ?? 0) }));
    expect(found[6]?.dilution).toBe('none');
  });

  test('the same suction with radon down as far is suspect or diluted', () => {
    const found = lot(
      (x, y, n) => even(x, y, n) * (n === 6 ? 0.2 : 1),
      (n) => ({ suctionPa: n === 6 ? 180 : 900 + 150 * (JITTER[n] ?? 0) }),
    );
    expect(found[6]?.dilution).toBe('diluted');
  });

  // Darcy: at one resistance of the ground suction is in proportion to the flow.
  test.each([
    ['a fifth of the suction at a fifth of the flow is the ground as elsewhere', 180, 30, false],
    ['the usual suction at five times the flow is a fifth of the resistance', 900, 750, true],
  ])('%s', (_name, suctionPa, flowMlPerMin, isHeld) => {
    const found = lot(
      (x, y, n) => even(x, y, n) * (n === 6 ? 0.2 : 1),
      (n) =>
        n === 6
          ? { suctionPa, flowMlPerMin }
          : { suctionPa: Math.round(900 + 150 * (JITTER[n] ?? 0)), flowMlPerMin: 150 },
    );
    expect(found[6]?.dilution).toBe(isHeld ? 'diluted' : 'none');
    const message = found[6]?.flags.find((f) => f.rule === 'suction-below-same-soil')?.message;
    if (isHeld) expect(message).toMatch(/900 Pa at 750 mL\/min.*below the 4\d\d\d Pa/);
    else expect(message).toBeUndefined();
  });
});

describe('numbers beneath', () => {
  test('weights of the shares sum to 1, and no sign at all gives a ratio of 1', () => {
    expect(SHARE_WEIGHTS.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
    expect(ratioOf(AIR_SHARES.map(() => 1))).toBeCloseTo(1, 12);
  });

  test('the normal density integrates to 1', () => {
    let sum = 0;
    for (let d = -8; d <= 8; d += 0.01) sum += 0.01 * normalDensity(d, 1.7);
    expect(sum).toBeCloseTo(1, 6);
  });

  // Leave-one-out from the inverse (Dubrule 1983) must equal leaving the point out and solving anew.
  test('leave-one-out equals predicting with the point given no say', () => {
    const points = Array.from({ length: 12 }, (_, i) => ({
      xM: 7 * (i % 4),
      yM: 9 * Math.floor(i / 4) + i,
      logValue: Math.sin(i) + 0.05 * i,
      errorVariance: 0.01,
      group: null,
      priorMean: 0.2,
    }));
    const field = makeField(points, 0.3);
    for (const model of fieldModels(0.5)) {
      const none = field.predict(model, new Float64Array(12));
      for (const i of [0, 5, 11]) {
        const silenced = field.predict(
          model,
          Float64Array.from(points, (_, j) => (j === i ? 1e6 : 0)),
        );
        expect(silenced.mean[i]).toBeCloseTo(none.mean[i] ?? Number.NaN, 4);
        expect(silenced.variance[i]).toBeCloseTo(none.variance[i] ?? Number.NaN, 4);
      }
    }
  });

  test('on a large lot the nearest holes speak, and nearly as all do on a small one', () => {
    const at = (count: number) => {
      const side = Math.ceil(Math.sqrt(count));
      return Array.from({ length: count }, (_, i) => ({
        xM: 5 * (i % side),
        yM: 5 * Math.floor(i / side),
        logValue: Math.log(30) + 0.02 * (i % side),
        errorVariance: 0.0025,
        group: null,
        priorMean: Math.log(30),
      }));
    };
    const [model] = fieldModels(0.3);
    const large = makeField(at(100), 0.3).predict(model as never, new Float64Array(100));
    for (const i of [0, 44, 99])
      expect(Math.abs((large.mean[i] ?? 0) - (at(100)[i]?.logValue ?? 0))).toBeLessThan(0.05);
  });
});

test('an answer that is kept is the one computed anew, and any number changes it', () => {
  const probes = new Map(Array.from({ length: 12 }, (_, n) => [`p${n}`, probe(n)] as const));
  const samples = [...probes.keys()].map((_, n) => sample(n, { oxygenPct: 17 + 0.1 * n }));
  const first = lotOdds(samples, probes, new Set(), 0.8);
  expect(lotOdds([...samples], new Map(probes), new Set(), 0.8)).toBe(first);
  const signs = gatherSigns(samples, probes, new Set(), 0.8);
  expect(first).toEqual(weighDilution(signs.channels, signs.direct, new Set()));
  const changes: Partial<Sample>[] = [
    { radonKBqPerM3: 29 },
    { radonUKBqPerM3: 3 },
    { oxygenPct: 17.5 },
    { suctionPa: 300 },
    { flowMlPerMin: 90 },
    { depthM: 0.7 },
  ];
  for (const change of changes) {
    const other = samples.map((s, n) => (n === 4 ? { ...s, ...change } : s));
    expect(lotOdds(other, probes, new Set(), 0.8)).not.toBe(first);
  }
  expect(lotOdds(samples, probes, new Set(['s1']), 0.8)).not.toBe(first);
});
