import { describe, expect, test } from 'vitest';
import type { MergeCells, MergeRecord, MergeSample } from '../../../core/survey/merge-projects.ts';
import { planMerge, planRecords } from '../../../core/survey/merge-projects.ts';

const probe = (
  id: string,
  label: string,
  change: MergeCells = {},
  at: readonly [number, number] = [0, 0],
): MergeRecord => ({
  id,
  label,
  positionM: at,
  cells: { state: 'driven', soil: 'sand', ...change },
});
const time = (minute: number) => new Date(Date.UTC(2026, 4, 12, 8, minute)).toISOString();
const grab = (
  id: string,
  probeId: string,
  change: MergeCells = {},
  more: Partial<MergeSample> = {},
): MergeSample => ({
  id,
  probeId,
  kind: 'grab',
  takenUtc: time(0),
  source: null,
  cells: { radon_kbq_per_m3: 30, oxygen_pct: null, readings: '[]', ...change },
  ...more,
});

describe('merging two crews', () => {
  const mine = {
    probes: [probe('p0', 'P0'), probe('p1', 'P1')],
    samples: [grab('s0', 'p0'), grab('s1', 'p1')],
  };

  test('new probes and samples are added, the same ones known again by label and time', () => {
    const plan = planMerge(mine, {
      probes: [probe('x0', ' p0 '), probe('x30', 'P30')],
      samples: [
        grab('y0', 'x0'),
        grab('y1', 'x0', {}, { kind: 'repeat', takenUtc: time(40) }),
        grab('y2', 'x30'),
        grab('y3', 'x0', {}, { takenUtc: time(50) }),
      ],
    });
    expect(plan.probes.same).toEqual(['x0']);
    expect(plan.probes.add.map((p) => p.id)).toEqual(['x30']);
    expect(plan.samples.same).toEqual(['y0']);
    expect(plan.samples.add.map((s) => [s.id, s.toProbeId])).toEqual([
      ['y1', 'p0'],
      ['y2', 'x30'],
      ['y3', 'p0'],
    ]);
    expect([...plan.probes.conflicts, ...plan.samples.conflicts]).toEqual([]);
  });

  test('differences are conflicts with both values; gaps are filled; a planned probe driven since is no conflict', () => {
    const open = {
      probes: [probe('p0', 'P0', { state: 'planned', soil: null }), probe('p1', 'P1')],
      samples: [grab('s0', 'p0')],
    };
    const plan = planMerge(open, {
      probes: [probe('x0', 'P0', { soil: 'clay' }, [0.4, 0]), probe('x1', 'P1', {}, [9, 0])],
      samples: [grab('y0', 'x0', { radon_kbq_per_m3: 55, oxygen_pct: 17 })],
    });
    expect(plan.probes.fill.map((f) => [f.mineId, f.fields])).toEqual([
      ['p0', { place: '(0.40, 0.00)', state: 'driven', soil: 'clay' }],
    ]);
    expect(plan.samples.fill.map((f) => [f.mineId, f.fields])).toEqual([['s0', { oxygen_pct: 17 }]]);
    expect(plan.probes.conflicts.map((c) => [c.label, c.fields.map((f) => f.field)])).toEqual([
      ['P1', ['place']],
    ]);
    expect(plan.samples.conflicts[0]?.fields).toEqual([{ field: 'radon_kbq_per_m3', mine: 30, theirs: 55 }]);
  });

  test('a list that only grew is filled, one that lost and gained entries is a conflict', () => {
    const of = (readings: string) => ({ probes: [probe('p', 'P')], samples: [grab('s', 'p', { readings })] });
    const grown = planMerge(of('[[1],[2]]'), of('[[1],[2],[3]]'));
    expect(grown.samples.fill[0]?.fields).toEqual({ readings: '[[1],[2],[3]]' });
    expect(planMerge(of('[[1],[2]]'), of('[[2]]')).samples.same).toEqual(['s']);
    expect(planMerge(of('[[1],[2]]'), of('[[1],[4]]')).samples.conflicts[0]?.fields[0]?.field).toBe(
      'readings',
    );
  });

  test('kept apart, a probe of theirs brings all its samples along', () => {
    const theirs = { probes: [probe('x0', 'P0', { soil: 'clay' })], samples: [grab('y0', 'x0')] };
    expect(planMerge(mine, theirs).probes.conflicts.length).toBe(1);
    const plan = planMerge(mine, theirs, new Set(['x0']));
    expect(plan.probes.conflicts).toEqual([]);
    expect(plan.samples.add.map((s) => [s.id, s.toProbeId])).toEqual([['y0', 'x0']]);
  });

  test('nothing of theirs is lost, whatever is in it', () => {
    const theirs = {
      probes: [probe('x0', 'P0'), probe('x0b', 'p0'), probe('x40', 'P40')],
      samples: [
        grab('y0', 'x0'),
        grab('y1', 'x0b', { radon_kbq_per_m3: 2 }),
        grab('y2', 'nowhere'),
        grab('y3', 'x40'),
        grab('y4', 'x40'),
        grab('y5', 'x0', {}, { takenUtc: null, kind: 'blank' }),
      ],
    };
    const plan = planMerge(mine, theirs);
    const out = new Set([
      ...plan.samples.add.map((s) => s.id),
      ...plan.samples.same,
      ...plan.samples.fill.map((f) => f.theirsId),
      ...plan.samples.conflicts.map((c) => c.theirsId),
      ...plan.strays,
    ]);
    expect([...out].sort()).toEqual(['y0', 'y1', 'y2', 'y3', 'y4', 'y5']);
    expect(plan.strays).toEqual(['y2']);
    expect(plan.probes.conflicts.map((c) => [c.theirsId, c.fields])).toEqual([
      ['x0', []],
      ['x0b', []],
    ]);
  });

  test('records without a place go by label alone', () => {
    const unit = (id: string, common: number | null): MergeRecord => ({
      id,
      label: 'Unit 1',
      positionM: null,
      cells: { common_u_rel: common },
    });
    const plan = planRecords('instrument', [unit('i', null)], [unit('j', 0.05)]);
    expect(plan.fill.map((f) => f.fields)).toEqual([{ common_u_rel: 0.05 }]);
    expect(plan.matched.get('j')).toBe('i');
  });
});
