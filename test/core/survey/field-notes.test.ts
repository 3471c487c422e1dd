import { describe, expect, test } from 'vitest';
import type { Ruling } from '../../../core/contract/model.ts';
import type { FieldSample } from '../../../core/survey/field-sample.ts';
import { assessSamples } from '../../../core/survey/flags.ts';
import { compareOutcomes } from '../../../core/survey/preview-thresholds.ts';
import { defaultThresholds } from '../../../core/survey/thresholds.ts';
import { probe, ruling, sample } from './lot.ts';

function assess(change: Partial<FieldSample>, more: readonly FieldSample[] = []) {
  return assessSamples(
    [...more, { ...sample(0), ...change } as FieldSample],
    [probe(0)],
    [],
    defaultThresholds(),
    0.8,
  ).at(-1);
}

describe('rules on what a field sheet can say', () => {
  // Check value 50: tracer 1.2 % of 20 % is a leak of 6.0 %, over the 5 % of California DTSC 2015, 4.2.2.2.
  test.each([
    [1.2, 20, 'suspect'],
    [1, 20, 'none'],
    [4, 20, 'diluted'],
  ])('tracer %d of %d %% under the shroud: %s', (tracerPct, tracerShroudPct, outcome) => {
    const found = assess({ tracerPct, tracerShroudPct });
    expect(found?.dilution).toBe(outcome);
    if (outcome === 'suspect') {
      expect(found?.flags[0]?.evidence[0]).toMatchObject({ value: 6, limit: 5, unit: '%' });
    }
  });

  // (3 V / 4 pi eps)^(1/3) at eps 0.25: check value 65 gives 9.8 cm for 1 L; 70 L give 40.6 cm.
  test('reach over half the depth counts all gas drawn at the hole, and only up to the sample', () => {
    expect(assess({ pumpedMl: 1000 })?.flags).toEqual([]);
    const before = { ...sample(0, { takenUtc: '2030-05-02T08:00:00Z' }), id: 'b', pumpedMl: 40_000 };
    const found = assess({ pumpedMl: 30_000, takenUtc: '2030-05-02T09:00:00Z' }, [before]);
    expect(found?.flags.map((f) => f.rule)).toEqual(['reach-over-depth']);
    expect(found?.flags[0]?.evidence[0]).toMatchObject({ value: 0.4058, limit: 0.4, unit: 'm' });
    expect(found?.dilution).toBe('suspect');
  });

  // 1 - exp(-Vp/Vs) well mixed: at 2 volumes 13.5 % of old air; three volumes: DTSC 2015, 4.2.3.
  test('too short a purge, a failed shut-in test and a spent dryer are quality flags, no dilution', () => {
    const found = assess({ pumpedMl: 100, systemMl: 50, leakTestPassed: false, saidDryerSpent: true });
    expect(found?.flags.map((f) => [f.rule, f.kind])).toEqual([
      ['purge-too-short', 'quality'],
      ['shut-in-test-failed', 'quality'],
      ['dryer-spent', 'quality'],
    ]);
    expect(found?.flags[0]?.message).toMatch(/2 system volumes.*13\.53 %/);
    expect(found?.dilution).toBe('none');
    expect(assess({ pumpedMl: 150, systemMl: 50 })?.flags).toEqual([]);
  });

  test('the operator says tight: no water', () => {
    const none = { radonKBqPerM3: null, radonUKBqPerM3: null, suctionPa: 24_900 };
    expect(assess({ ...none, saidTight: true })).toMatchObject({
      water: 'tight',
      measured: { kind: 'none', reason: 'tight' },
    });
    expect(assess(none)).toMatchObject({ water: 'water-or-tight' });
  });
});

describe('a preview of new limits', () => {
  const probes = [probe(0), probe(1)];
  const samples = [sample(0, { oxygenPct: 20.3, carbonDioxidePct: 0.09 }), sample(1, { oxygenPct: 18 })];
  const old = defaultThresholds();
  const under = (outsideOxygenPct: number, rulings: Ruling[] = []) =>
    assessSamples(samples, probes, rulings, { ...old, outsideOxygenPct }, 0.8);

  test('lists the samples whose findings or treatment would change, and only those', () => {
    const before = under(old.outsideOxygenPct);
    const changes = compareOutcomes(before, under(20.2));
    expect(changes).toEqual([
      {
        sampleId: 's0',
        probeId: 'p0',
        before: {
          dilution: 'suspect',
          water: 'none',
          treatment: 'use',
          rules: ['close-to-outside-air'],
        },
        after: {
          dilution: 'diluted',
          water: 'none',
          treatment: 'lower-bound',
          rules: ['close-to-outside-air'],
        },
        changesTreatment: true,
      },
    ]);
    expect(compareOutcomes(before, before)).toEqual([]);
  });

  test('a ruling holds the treatment', () => {
    const use = [ruling('s0', 'use')];
    const [change] = compareOutcomes(under(old.outsideOxygenPct, use), under(20.2, use));
    expect(change).toMatchObject({
      changesTreatment: false,
      after: { dilution: 'diluted', treatment: 'use' },
    });
  });
});
