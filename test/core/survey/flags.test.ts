import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Sample, SampleAssessment } from '../../../core/contract/model.ts';
import { relativePercentDifference } from '../../../core/survey/quality-rules.ts';
import { isDescribedTight } from '../../../core/survey/sample-facts.ts';
import { defaultThresholds, THRESHOLDS } from '../../../core/survey/thresholds.ts';
import { assessAll, assessOne, probe, ruling, sample } from './lot.ts';

function rules(a: SampleAssessment | undefined): string[] {
  return (a?.flags ?? []).map((f) => f.rule);
}

test('every threshold has a label, a source and a value', () => {
  expect(Object.keys(defaultThresholds()).sort()).toEqual(THRESHOLDS.map((t) => t.key).sort());
  for (const t of THRESHOLDS) {
    expect(t.label.length).toBeGreaterThan(10);
    expect(t.source.length).toBeGreaterThan(10);
    expect(Number.isFinite(t.standard)).toBe(true);
  }
});

test('a quiet sample has no flag and is used as it is', () => {
  expect(assessOne({})).toMatchObject({
    dilution: 'none',
    water: 'none',
    flags: [],
    treatment: 'use',
    measured: { kind: 'value', estimateKBqPerM3: 30, randomUKBqPerM3: 2, commonURel: 0 },
  });
});

describe('dilution evidence and its score', () => {
  test.each<[string, Partial<Sample>, string[], string]>([
    ['crew said fresh air', { saidFreshAir: true }, ['crew-said-fresh-air'], 'diluted'],
    ['oxygen alone', { oxygenPct: 20.7 }, ['close-to-outside-air'], 'suspect'],
    ['carbon dioxide alone', { carbonDioxidePct: 0.05 }, ['close-to-outside-air'], 'suspect'],
    ['both gases', { oxygenPct: 20.7, carbonDioxidePct: 0.05 }, ['close-to-outside-air'], 'diluted'],
    ['oxygen contradicted', { oxygenPct: 20.7, carbonDioxidePct: 2 }, ['close-to-outside-air'], 'suspect'],
    ['oxygen just under its limit', { oxygenPct: 20.49, carbonDioxidePct: 0.11 }, [], 'none'],
    ['oxygen exactly at its limit', { oxygenPct: 20.5 }, ['close-to-outside-air'], 'suspect'],
    ['radon under 1 kBq/m3', { radonKBqPerM3: 0.99 }, ['radon-under-exclusion-limit'], 'diluted'],
    ['radon of 1 kBq/m3', { radonKBqPerM3: 1 }, [], 'none'],
    [
      'not detected under 1',
      { radonKBqPerM3: null, radonUKBqPerM3: null, radonBelowKBqPerM3: 1 },
      ['radon-under-exclusion-limit'],
      'diluted',
    ],
    [
      'not detected under 2',
      { radonKBqPerM3: null, radonUKBqPerM3: null, radonBelowKBqPerM3: 2 },
      [],
      'none',
    ],
  ])('%s', (_name, change, found, outcome) => {
    const a = assessOne(change);
    expect(rules(a)).toEqual(found);
    expect(a.dilution).toBe(outcome);
    for (const flag of a.flags) {
      expect(flag.evidence.length).toBeGreaterThan(0);
      expect(flag.source).not.toBe('');
    }
  });

  test('a flag says which number crossed which limit', () => {
    expect(assessOne({ oxygenPct: 20.7 }).flags[0]?.evidence).toEqual([
      { what: 'oxygen', value: 20.7, limit: 20.5, unit: '%' },
    ]);
  });

  test('low suction counts only in ground described as tight', () => {
    const clay = { soil: 'silty clay, moist' };
    expect(assessOne({ suctionPa: 50 }, clay)).toMatchObject({ dilution: 'suspect' });
    expect(rules(assessOne({ suctionPa: 200 }, clay))).toEqual([]);
    expect(rules(assessOne({ suctionPa: 50 }, { soil: 'gravel lens in clay' }))).toEqual([]);
    expect(rules(assessOne({ suctionPa: 50 }, { soil: 'fine sand' }))).toEqual([]);
    expect(rules(assessOne({ suctionPa: 50 }))).toEqual([]);
    expect(assessOne({ suctionPa: 50, oxygenPct: 20.8 }, clay).dilution).toBe('diluted');
  });

  test.each([
    [{ soil: 'Clay' }, true],
    [{ soil: 'Lehm' }, true],
    [{ soil: 'sandy clay' }, false],
    [{ soil: 'clay', permeabilityClass: 'high' as const }, false],
    [{ permeabilityClass: 'low' as const }, true],
    [{ permeabilityClass: 'low' as const, soil: 'gravel' }, false],
    [{ fineFractionPct: 70 }, true],
    [{ fineFractionPct: 40, soil: 'silt' }, false],
  ])('described tight: %j is %s', (ground, tight) => {
    expect(isDescribedTight(probe(0, ground)) !== null).toBe(tight);
  });

  test('a falling repeat marks the later, lower sample; a duplicate or a small fall does not', () => {
    const fall = (kind: Sample['kind'], radon: number, u = 2) =>
      assessAll(
        [
          sample(0, { radonKBqPerM3: 40 }),
          {
            ...sample(0, { kind, radonKBqPerM3: radon, radonUKBqPerM3: u }),
            id: 's0b',
            source: { file: 'lot.csv', row: 9 },
          },
        ],
        [probe(0)],
      );
    expect(rules(fall('repeat', 20)[0])).toEqual([]);
    expect(rules(fall('repeat', 20)[1])).toEqual(['falling-repeat', 'lower-than-other-draw']);
    expect(fall('repeat', 20)[1]?.dilution).toBe('suspect');
    expect(rules(fall('repeat', 31)[1])).toEqual([]);
    expect(rules(fall('repeat', 25, 10)[1])).toEqual([]);
    expect(rules(fall('duplicate', 20)[1])).toEqual(['duplicates-differ']);
  });

  test('a draw that a later one of the same hole doubles held other air: no falling repeat, but suspect', () => {
    const first = sample(0, { kind: 'repeat', radonKBqPerM3: 20, takenUtc: '2025-03-12T10:00:00Z' });
    const second = { ...sample(0, { radonKBqPerM3: 40, takenUtc: '2025-03-12T11:00:00Z' }), id: 's0b' };
    const [later, earlier] = assessAll([second, first], [probe(0)]);
    expect(rules(later)).toEqual([]);
    expect(rules(earlier)).toEqual(['lower-than-other-draw']);
    expect(earlier?.dilution).toBe('suspect');
  });
});

describe('neighbours', () => {
  const probes = Array.from({ length: 15 }, (_, n) => probe(n));
  const lot = (change: Partial<Sample>) => probes.map((_, n) => (n === 7 ? sample(n, change) : sample(n)));

  test('far below is suspect, and alone never more, however far', () => {
    for (const radonKBqPerM3 of [10, 3, 1.01]) {
      const a = assessAll(lot({ radonKBqPerM3, radonUKBqPerM3: 0.3 }), probes)[7];
      expect(rules(a)).toEqual(['far-below-neighbours']);
      expect(a).toMatchObject({ dilution: 'suspect', treatment: 'use' });
    }
  });

  test('with suction too low for the soil it is diluted', () => {
    const tight = probes.map((p) => ({ ...p, soil: 'clay' }));
    expect(assessAll(lot({ radonKBqPerM3: 10, suctionPa: 20 }), tight)[7]?.dilution).toBe('diluted');
  });

  test('under the exclusion limit and far below the neighbours is one sign, not two', () => {
    const a = assessAll(lot({ radonKBqPerM3: 0.5 }), probes)[7];
    expect(rules(a)).toEqual(['radon-under-exclusion-limit', 'far-below-neighbours']);
    expect(a?.treatmentReason).toMatch(/3 points/);
  });

  test('far above is a note that asks for hard evidence before anything is left out', () => {
    const a = assessAll(lot({ radonKBqPerM3: 300 }), probes)[7];
    expect(a).toMatchObject({
      dilution: 'none',
      treatment: 'use',
      flags: [{ rule: 'far-above-neighbours', weight: 'note' }],
    });
    expect(a?.flags[0]?.message).toMatch(/only on hard evidence/);
  });

  test('fewer than 8 trusted probes: nothing is said', () => {
    const few = probes.slice(0, 8);
    expect(assessAll(lot({ radonKBqPerM3: 2 }).slice(0, 7), few).flatMap(rules)).toEqual([]);
  });

  test('the order of samples and probes does not matter', () => {
    const samples = lot({ radonKBqPerM3: 3, oxygenPct: 20.8 });
    const byId = (list: readonly SampleAssessment[]) =>
      [...list].sort((a, b) => (a.sampleId < b.sampleId ? -1 : 1));
    const expected = byId(assessAll(samples, probes));
    fc.assert(
      fc.property(
        fc.shuffledSubarray(samples, { minLength: 15 }),
        fc.shuffledSubarray(probes, { minLength: 15 }),
        (s, p) => {
          expect(byId(assessAll(s, p))).toEqual(expected);
        },
      ),
      { numRuns: 30 },
    );
  });
});

describe('water, depth, quality', () => {
  test('water seen gives no gas value, even where one was noted', () => {
    expect(assessOne({ saidWater: true })).toMatchObject({
      water: 'water',
      treatment: 'no-value',
      measured: { kind: 'none', reason: 'water' },
      flags: [{ rule: 'water-seen', weight: 'strong' }],
    });
  });

  test('suction at the pump limit without a value: water or tight', () => {
    const none = { radonKBqPerM3: null, radonUKBqPerM3: null };
    expect(assessOne({ ...none, suctionPa: 24_900 })).toMatchObject({
      water: 'water-or-tight',
      measured: { kind: 'none', reason: 'water-or-tight' },
    });
    expect(assessOne({ ...none, suctionPa: 5000 }).measured).toEqual({ kind: 'none', reason: 'no-reading' });
    expect(assessOne({ suctionPa: 24_900 }).water).toBe('none');
    expect(assessOne(none, { state: 'refused' }).measured).toEqual({ kind: 'none', reason: 'refused' });
  });

  test('shallow by more than the threshold is a note', () => {
    expect(rules(assessOne({ depthM: 0.69 }))).toEqual(['shallow']);
    expect(rules(assessOne({ depthM: 0.7 }))).toEqual([]);
    expect(rules(assessOne({ depthM: null }, { depthM: 0.5 }))).toEqual(['shallow']);
    expect(assessOne({ depthM: 0.5 }).treatment).toBe('use');
  });

  test('check value 51: duplicates 42 and 50 differ by 17.4 %', () => {
    expect(relativePercentDifference(42, 50)).toBeCloseTo(17.39, 2);
    expect(relativePercentDifference(0, 0)).toBe(0);
  });

  test('a blank is no soil gas; one that is not clean is flagged', () => {
    expect(assessOne({ kind: 'blank', radonKBqPerM3: 0.2 })).toMatchObject({
      treatment: 'no-value',
      measured: { kind: 'none', reason: 'blank' },
      flags: [],
    });
    expect(rules(assessOne({ kind: 'blank', radonKBqPerM3: 3 }))).toEqual(['blank-not-clean']);
  });

  test('a missing uncertainty is assumed, never zero, and flagged', () => {
    const a = assessOne({ radonUKBqPerM3: null });
    expect(rules(a)).toEqual(['no-uncertainty']);
    expect(a.measured).toMatchObject({ randomUKBqPerM3: 4.5 });
  });
});

describe('treatment and rulings', () => {
  test('a diluted value is a lower bound of value - 1.645 u, never under 0', () => {
    expect(assessOne({ saidFreshAir: true }).measured).toEqual({
      kind: 'atLeast',
      boundKBqPerM3: 30 - 1.645 * 2,
    });
    expect(assessOne({ saidFreshAir: true, radonUKBqPerM3: 25 }).measured).toEqual({
      kind: 'atLeast',
      boundKBqPerM3: 0,
    });
  });

  test('a non-detect is at most its limit', () => {
    const a = assessOne({ radonKBqPerM3: null, radonUKBqPerM3: null, radonBelowKBqPerM3: 2 });
    expect(a).toMatchObject({ treatment: 'use', measured: { kind: 'atMost', boundKBqPerM3: 2 } });
  });

  test('a ruling says who, when and why, and the outcome without it stands beside it', () => {
    const a = assessOne({ saidFreshAir: true }, {}, [ruling('s0', 'use')]);
    expect(a).toMatchObject({
      dilution: 'diluted',
      treatment: 'use',
      measured: { kind: 'value', estimateKBqPerM3: 30 },
      unruledTreatment: 'lower-bound',
      unruledMeasured: { kind: 'atLeast' },
    });
    expect(a.treatmentReason).toMatch(/the geologist on 2025-03-12: swapped label/);
    expect(assessOne({}, {}, [ruling('s0', 'leave-out')])).toMatchObject({
      treatment: 'leave-out',
      unruledTreatment: 'use',
    });
    expect(assessOne({}, {}, [ruling('s0', 'lower-bound')]).measured).toMatchObject({ kind: 'atLeast' });
    expect(assessOne({ saidWater: true }, {}, [ruling('s0', 'use')]).measured).toMatchObject({
      kind: 'value',
    });
  });

  test('no ruling can give a value where none was got', () => {
    const none = { radonKBqPerM3: null, radonUKBqPerM3: null };
    expect(assessOne(none, {}, [ruling('s0', 'use')])).toMatchObject({
      treatment: 'no-value',
      measured: { kind: 'none' },
    });
    expect(assessOne({ kind: 'blank' }, {}, [ruling('s0', 'use')]).treatment).toBe('no-value');
  });

  test('of several rulings the latest counts, in whatever order they come', () => {
    const early = ruling('s0', 'leave-out', '2025-03-12T08:00:00Z');
    const late = ruling('s0', 'use', '2025-03-12T09:00:00Z');
    expect(assessOne({}, {}, [early, late]).treatment).toBe('use');
    expect(assessOne({}, {}, [late, early]).treatment).toBe('use');
  });
});
