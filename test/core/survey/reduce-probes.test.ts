import { expect, test } from 'vitest';
import type { Probe, Ruling, Sample } from '../../../core/contract/model.ts';
import { type ProbeValue, reduceToProbes } from '../../../core/survey/reduce-probes.ts';
import { assessAll, probe, ruling, sample } from './lot.ts';

function reduce(
  changes: readonly Partial<Sample>[],
  options: { ground?: Partial<Probe>; rulings?: readonly Ruling[]; which?: 'ruled' | 'unruled' } = {},
): ProbeValue | undefined {
  const samples = changes.map((c, i) => ({
    ...sample(0, { source: { file: 'lot.csv', row: i + 2 }, ...c }),
    id: `s${i}`,
  }));
  const probes = [probe(0, options.ground)];
  const assessments = assessAll(samples, probes, options.rulings ?? []);
  return reduceToProbes(assessments, samples, probes, options.which ?? 'ruled', 0.8)[0];
}

test('valid repeats enter as their plain mean, whatever their own u', () => {
  const value = reduce([
    { radonKBqPerM3: 30, radonUKBqPerM3: 1 },
    { kind: 'duplicate', radonKBqPerM3: 34, radonUKBqPerM3: 4 },
  ]);
  // Propagated u: sqrt(1 + 16) / 2 = 2.06; standard error of two values 4 apart: 2. The larger counts.
  expect(value?.measured).toMatchObject({
    kind: 'value',
    estimateKBqPerM3: 32,
    randomUKBqPerM3: Math.sqrt(17) / 2,
  });
  expect(value?.sampleIds).toEqual(['s0', 's1']);
  expect(value?.excluded).toEqual([]);
});

test('repeats that scatter more than their u widen it', () => {
  const value = reduce([
    { radonKBqPerM3: 30, radonUKBqPerM3: 1 },
    { kind: 'duplicate', radonKBqPerM3: 40, radonUKBqPerM3: 1 },
  ]);
  expect(value?.measured).toMatchObject({ estimateKBqPerM3: 35, randomUKBqPerM3: expect.closeTo(5, 12) });
});

test('a valid repeat takes the place of a diluted sample, which is listed with its reason', () => {
  const value = reduce([
    { radonKBqPerM3: 4, saidFreshAir: true },
    { kind: 'repeat', radonKBqPerM3: 34 },
  ]);
  expect(value).toMatchObject({ treatment: 'use', sampleIds: ['s1'], measured: { estimateKBqPerM3: 34 } });
  expect(value?.excluded).toEqual([{ sampleId: 's0', reason: expect.stringMatching(/diluted/) }]);
});

test('only diluted samples: the highest lower bound', () => {
  const value = reduce([
    { radonKBqPerM3: 10, radonUKBqPerM3: 1, saidFreshAir: true },
    { kind: 'repeat', radonKBqPerM3: 20, radonUKBqPerM3: 2, saidFreshAir: true },
  ]);
  expect(value).toMatchObject({
    treatment: 'lower-bound',
    sampleIds: ['s1'],
    measured: { kind: 'atLeast', boundKBqPerM3: 20 - 3.29 },
  });
});

test('only non-detects: the tightest; with a value beside it the value speaks', () => {
  const nd = (bound: number) => ({ radonKBqPerM3: null, radonUKBqPerM3: null, radonBelowKBqPerM3: bound });
  expect(reduce([nd(5), { ...nd(3), kind: 'repeat' }])?.measured).toEqual({
    kind: 'atMost',
    boundKBqPerM3: 3,
  });
  expect(reduce([nd(5), { kind: 'repeat', radonKBqPerM3: 6 }])?.measured).toMatchObject({
    estimateKBqPerM3: 6,
  });
});

test('of two depths the one nearest the reference speaks', () => {
  const value = reduce([
    { depthM: 0.8, radonKBqPerM3: 30 },
    { depthM: 1.5, radonKBqPerM3: 50, kind: 'repeat' },
  ]);
  expect(value).toMatchObject({ measured: { estimateKBqPerM3: 30 }, depthM: 0.8 });
  expect(value?.excluded[0]).toMatchObject({ sampleId: 's1' });
});

test('water goes before every other reason for no value; blanks make no probe', () => {
  const none = { radonKBqPerM3: null, radonUKBqPerM3: null };
  expect(reduce([none, { ...none, kind: 'repeat', saidWater: true }])?.measured).toEqual({
    kind: 'none',
    reason: 'water',
  });
  expect(reduce([{ kind: 'blank' }])).toBeUndefined();
});

test('left out by a ruling: no value with it, the value without it', () => {
  const rulings = [ruling('s0', 'leave-out')];
  expect(reduce([{}], { rulings })).toMatchObject({
    treatment: 'leave-out',
    measured: { kind: 'none' },
    sampleIds: ['s0'],
  });
  expect(reduce([{}], { rulings, which: 'unruled' })).toMatchObject({
    treatment: 'use',
    measured: { estimateKBqPerM3: 30 },
  });
});

test('over range: at least the end of the range, whatever lower draw stands beside it and whatever is ruled', () => {
  const over = { radonKBqPerM3: null, radonUKBqPerM3: null, radonAboveKBqPerM3: 400 };
  const expected = { treatment: 'lower-bound', measured: { kind: 'atLeast', boundKBqPerM3: 400 } };
  expect(reduce([over])).toMatchObject({ ...expected, isOverRange: true });
  expect(reduce([over, { kind: 'duplicate', radonKBqPerM3: 30, radonUKBqPerM3: 1 }])).toMatchObject({
    ...expected,
    sampleIds: ['s0'],
  });
  expect(reduce([over], { rulings: [ruling('s0', 'use')] })).toMatchObject(expected);
  expect(reduce([over, { kind: 'repeat', radonKBqPerM3: 450, radonUKBqPerM3: 9 }])).toMatchObject({
    measured: { kind: 'value', estimateKBqPerM3: 450 },
  });
});
