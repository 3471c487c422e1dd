import { describe, expect, test } from 'vitest';
import type { FieldSample } from '../../../core/survey/field-sample.ts';
import { judgeHole } from '../../../core/survey/hole-verdict.ts';
import { checkControlProbe, crossCheck } from '../../../core/survey/instrument-checks.ts';
import { leaveSiteChecklist } from '../../../core/survey/leave-site.ts';
import { planMerge } from '../../../core/survey/merge-projects.ts';
import { summariseQuality } from '../../../core/survey/quality-summary.ts';
import { defaultThresholds } from '../../../core/survey/thresholds.ts';
import { assessAll, probe, sample } from './lot.ts';

const probes = Array.from({ length: 16 }, (_, n) => probe(n));
const takenUtc = (minute: number) => new Date(Date.UTC(2030, 4, 2, 8, minute)).toISOString();
const grabs: FieldSample[] = probes.map((_, n) => sample(n, { takenUtc: takenUtc(10 * n) }));
const duplicate: FieldSample = {
  ...sample(3, { kind: 'duplicate', radonKBqPerM3: 36, takenUtc: takenUtc(33) }),
  id: 'd',
};
const blank: FieldSample = {
  ...sample(5, { kind: 'blank', radonKBqPerM3: 0.2, takenUtc: takenUtc(55) }),
  id: 'b',
};

describe('quality summary', () => {
  const base = { probes, thresholds: defaultThresholds() };
  const verdicts = (samples: FieldSample[], more: object = {}) =>
    Object.fromEntries(
      summariseQuality({ ...base, samples, assessments: assessAll(samples, probes), ...more }).items.map(
        (i) => [i.what, i.verdict],
      ),
    );

  test('what was not recorded is said, never fit', () => {
    expect(verdicts(grabs)).toEqual({
      'Duplicates drawn': 'look',
      'Difference of duplicates': 'not recorded',
      Blanks: 'not recorded',
      Repeats: 'not recorded',
      Purge: 'not recorded',
      'Leak checks': 'not recorded',
      'Oxygen or carbon dioxide': 'not recorded',
      Calibration: 'not recorded',
      Rain: 'not recorded',
      Dryer: 'not recorded',
      'Thread tape': 'not recorded',
      Uncertainty: 'fit',
      Findings: 'fit',
    });
    const bare = summariseQuality({ ...base, samples: [], assessments: [] }).items;
    expect(bare.filter((i) => i.verdict === 'fit')).toEqual([]);
  });

  test('a well kept campaign is fit throughout', () => {
    const kept = [
      ...grabs,
      { ...duplicate, radonKBqPerM3: 35 },
      { ...sample(4, { kind: 'repeat', takenUtc: takenUtc(300) }), id: 'r' },
    ].map((s) => ({ ...s, pumpedMl: 300, systemMl: 60, leakTestPassed: true, oxygenPct: 17 }));
    const found = verdicts([...kept, blank], {
      instruments: [{ label: 'unit 1', certificateUtc: '2029-11-01' }],
      weather: { rainMm: 0, hoursSinceRain: null },
      desiccant: 'fresh',
      threadTapeEachTime: true,
    });
    expect(Object.entries(found).filter(([, v]) => v !== 'fit')).toEqual([]);
  });

  test.each<[string, FieldSample[], object, string, string]>([
    [
      'duplicates 33 and 60: RPD 58 %',
      [...grabs, { ...duplicate, radonKBqPerM3: 60 }],
      {},
      'Difference of duplicates',
      'unfit',
    ],
    [
      'duplicates 33 and 50: RPD 41 %',
      [...grabs, { ...duplicate, radonKBqPerM3: 50 }],
      {},
      'Difference of duplicates',
      'look',
    ],
    ['a blank of 3 kBq/m3', [...grabs, { ...blank, radonKBqPerM3: 3 }], {}, 'Blanks', 'unfit'],
    [
      'a certificate of two years',
      grabs,
      { instruments: [{ label: 'u', certificateUtc: '2028-04-01' }] },
      'Calibration',
      'unfit',
    ],
    [
      'a certificate of tomorrow',
      grabs,
      { instruments: [{ label: 'u', certificateUtc: '2030-06-01' }] },
      'Calibration',
      'unfit',
    ],
    ['13 mm six hours before', grabs, { weather: { rainMm: 13, hoursSinceRain: 6 } }, 'Rain', 'look'],
    ['under one volume', grabs.map((s) => ({ ...s, pumpedMl: 30, systemMl: 60 })), {}, 'Purge', 'unfit'],
    [
      'one failed leak check',
      [{ ...(grabs[0] as FieldSample), leakTestPassed: false }, ...grabs.slice(1)],
      {},
      'Leak checks',
      'unfit',
    ],
  ])('%s', (_name, samples, more, what, verdict) => {
    expect(verdicts(samples, more)[what]).toBe(verdict);
  });
});

describe('before leaving the site', () => {
  const state = (samples: FieldSample[], more: object = {}) =>
    leaveSiteChecklist({
      probes,
      samples,
      assessments: assessAll(samples, probes),
      minimumCount: 15,
      excludeBelowKBqPerM3: 1,
      ...more,
    });
  const missing = (items: ReturnType<typeof state>) => items.filter((i) => !i.isDone).map((i) => i.id);

  test('done and missing', () => {
    expect(missing(state(grabs))).toEqual(['duplicates', 'blanks', 'backgrounds', 'control']);
    const control = [0, 240, 480].map((m) => ({ takenUtc: takenUtc(m), radonKBqPerM3: 30, uKBqPerM3: 1 }));
    const all = { openingBackground: true, closingBackground: true, controlReadings: control };
    expect(missing(state([...grabs, duplicate, blank], all))).toEqual([]);
  });

  test('diluted samples do not count; a planned and a silent probe are named', () => {
    const two = grabs.map((s, n) => (n < 2 ? { ...s, saidFreshAir: true } : s)).slice(0, 15);
    const items = leaveSiteChecklist({
      probes: [...probes, probe(20, { state: 'planned' })],
      samples: two,
      assessments: assessAll(two, probes),
      minimumCount: 15,
      excludeBelowKBqPerM3: 1,
    });
    expect(items.find((i) => i.id === 'valid-points')).toMatchObject({
      isDone: false,
      words: expect.stringMatching(/^13 of 15/),
    });
    expect(items.find((i) => i.id === 'planned')?.words).toBe('missing: P20');
    expect(items.find((i) => i.id === 'sampled')?.words).toBe('missing: P15');
  });
});

describe('instrument and control probe', () => {
  test('a steady control probe does not drift; one that rises by half does', () => {
    const at = (values: number[]) =>
      checkControlProbe(
        values.map((v, i) => ({ takenUtc: takenUtc(240 * i), radonKBqPerM3: v, uKBqPerM3: 1.5 })),
      );
    expect(at([40, 41, 39.5])).toMatchObject({ isDrifting: false, isComplete: true });
    const rising = at([40, 50, 60]);
    expect(rising.isDrifting).toBe(true);
    expect(rising.driftPct).toBeGreaterThan(30);
    expect(at([40])).toMatchObject({ driftPct: null, isComplete: false });
    const gap = checkControlProbe(
      [0, 480].map((m) => ({ takenUtc: takenUtc(m), radonKBqPerM3: 40, uKBqPerM3: 1 })),
    );
    expect(gap.isComplete).toBe(false);
  });

  test('two instruments: ratio with u by hand, and each verdict', () => {
    const pair = (a: number, b: number, u = 0.05) => ({
      label: 'x',
      first: { radonKBqPerM3: a, uKBqPerM3: u * a },
      second: { radonKBqPerM3: b, uKBqPerM3: u * b },
    });
    // One pair: ratio 1.1, u = 1.1 sqrt(0.05^2 + 0.05^2) = 0.0778.
    expect(crossCheck([pair(40, 44)])?.ratio).toBeCloseTo(1.1, 12);
    expect(crossCheck([pair(40, 44)])?.u).toBeCloseTo(0.0778, 4);
    expect(crossCheck([pair(40, 41), pair(60, 59), pair(20, 20.5)])?.verdict).toBe('agree');
    expect(crossCheck([pair(40, 52), pair(60, 77), pair(20, 26.5)])?.verdict).toBe('differ');
    expect(crossCheck([pair(40, 60), pair(60, 38), pair(20, 20.5)])?.verdict).toBe('scatter');
    expect(crossCheck([])).toBeNull();
  });
});

describe('verdict at the hole', () => {
  const judge = (latest: Partial<FieldSample>) =>
    judgeHole(
      { ...(grabs[15] as FieldSample), ...latest },
      grabs.slice(0, 15),
      probes,
      defaultThresholds(),
      0.8,
    );
  test.each<[Partial<FieldSample>, string]>([
    [{}, 'keep'],
    [{ oxygenPct: 20.6 }, 'draw again here'],
    [{ saidFreshAir: true }, 'drive again 1.5 m off'],
    [{ radonKBqPerM3: null, radonUKBqPerM3: null, suctionPa: 24_000 }, 'say water or tight'],
    [{ saidWater: true }, 'drive again 1.5 m off'],
  ])('%j: %s', (latest, advice) => {
    expect(judge(latest)?.advice).toBe(advice);
  });
});

describe('merging two crews', () => {
  const side = (p: typeof probes, s: FieldSample[]) => ({ probes: p, samples: s });
  const renamed = (
    s: FieldSample,
    id: string,
    probeId: string,
    change: Partial<FieldSample> = {},
  ): FieldSample => ({
    ...s,
    id,
    probeId,
    ...change,
  });

  test('new probes and samples are added, the same ones known again by label and time', () => {
    const theirs = side(
      [probe(0, { id: 'x0', label: ' p0 ' }), probe(30, { id: 'x30' })],
      [
        renamed(grabs[0] as FieldSample, 'y0', 'x0'),
        renamed(grabs[0] as FieldSample, 'y1', 'x0', { kind: 'repeat', takenUtc: takenUtc(500) }),
        renamed(grabs[1] as FieldSample, 'y2', 'x30'),
      ],
    );
    const plan = planMerge(side(probes, grabs), theirs);
    expect(plan.same).toEqual({ probeLabels: [' p0 '], sampleIds: ['y0'] });
    expect(plan.add.probes.map((p) => p.id)).toEqual(['x30']);
    expect(plan.add.samples.map((s) => [s.sample.id, s.probeId])).toEqual([
      ['y1', 'p0'],
      ['y2', 'x30'],
    ]);
    expect(plan.conflicts).toEqual([]);
  });

  test('differences are conflicts with both values; gaps are filled; a planned probe driven since is no conflict', () => {
    const mine = side([probe(0, { state: 'planned', soil: null }), probe(1)], [grabs[0] as FieldSample]);
    const theirs = side(
      [probe(0, { id: 'x0', soil: 'clay' }), probe(1, { id: 'x1', positionM: [9, 0] })],
      [renamed(grabs[0] as FieldSample, 'y0', 'x0', { radonKBqPerM3: 55, oxygenPct: 17 })],
    );
    const plan = planMerge(mine, theirs);
    expect(plan.fill).toEqual([
      { kind: 'probe', mineId: 'p0', fields: { state: 'driven', soil: 'clay' } },
      { kind: 'sample', mineId: 's0', fields: { oxygenPct: 17 } },
    ]);
    expect(plan.conflicts.map((c) => [c.kind, c.label, c.fields.map((f) => f.field)])).toEqual([
      ['probe', 'P1', ['positionM']],
      ['sample', 'P0', ['radonKBqPerM3']],
    ]);
    expect(plan.conflicts[1]?.words).toMatch(/radonKBqPerM3: 30 or 55/);
  });

  test('nothing of theirs is lost, whatever is in it', () => {
    const theirs = side(
      [probe(0, { id: 'x0' }), probe(0, { id: 'x0b' }), probe(40, { id: 'x40' })],
      [
        renamed(grabs[0] as FieldSample, 'y0', 'x0'),
        renamed(grabs[1] as FieldSample, 'y1', 'x0b'),
        renamed(grabs[2] as FieldSample, 'y2', 'nowhere'),
        renamed(grabs[3] as FieldSample, 'y3', 'x40'),
        renamed(grabs[3] as FieldSample, 'y4', 'x40'),
      ],
    );
    const plan = planMerge(side(probes, grabs), theirs);
    const samplesOut = [
      ...plan.add.samples.map((s) => s.sample.id),
      ...plan.same.sampleIds,
      ...plan.conflicts.filter((c) => c.kind === 'sample').map((c) => c.theirsId),
    ];
    expect(samplesOut.sort()).toEqual(['y0', 'y1', 'y2', 'y3', 'y4']);
    expect(plan.conflicts.filter((c) => c.kind === 'probe').map((c) => c.theirsId)).toEqual(['x0', 'x0b']);
  });
});
