import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Pose, PositionM } from '../../../core/contract/model.ts';
import type { Input } from '../../../core/contract/requests.ts';
import { ringArea } from '../../../core/geo/planar.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask, refused } = asking(() => engine);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-siting-'));
  engine = newTestEngine({ threads: 2 });
  await ask('project.demo', { path: join(folder, 'demo.gasplat'), lot: 'ordinary' });
});

afterAll(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

const pose = (dxM: number, dyM: number, turnDeg = 0, mirrored = false): Pose => ({
  dxM,
  dyM,
  turnDeg,
  mirrored,
});

/** Corners in any order, to the millimetre. */
const corners = (ring: readonly PositionM[]) => ring.map((p) => p.map((v) => v.toFixed(3)).join(' ')).sort();

describe('placements', () => {
  test('several are kept, one is chosen and then is the footprint everywhere; all of it can be undone', async () => {
    const before = (await ask('project.view', {})).footprint;
    const drawn = before?.drawnRing ?? [];
    expect(before?.ring).toEqual(drawn);
    await ask('placement.keep', { label: null, pose: pose(3, 0), choose: false });
    const two = await ask('placement.keep', { label: null, pose: pose(0, -2, 90), choose: true });
    expect(two.footprint?.placements.map((p) => [p.label, p.chosen])).toEqual([
      ['A', false],
      ['B', true],
    ]);
    // By hand: turned by a quarter to the left, (u, v) from the centroid becomes (-v, u); then 2 m south.
    const cx = drawn.reduce((s, p) => s + p[0], 0) / drawn.length;
    const cy = drawn.reduce((s, p) => s + p[1], 0) / drawn.length;
    const byHand = drawn.map(([x, y]): PositionM => [cx - (y - cy), cy + (x - cx) - 2]);
    expect(drawn).toHaveLength(4);
    expect(corners(two.footprint?.ring ?? [])).toEqual(corners(byHand));

    const [a, b] = two.footprint?.placements ?? [];
    const onA = await ask('placement.choose', { id: a?.id ?? '' });
    expect(onA.footprint?.placements.map((p) => p.chosen)).toEqual([true, false]);
    expect(corners(onA.footprint?.ring ?? [])).toEqual(corners(drawn.map(([x, y]) => [x + 3, y])));
    expect(corners((await ask('record.undo', {})).footprint?.ring ?? [])).toEqual(corners(byHand));
    // Kept already: chosen, not doubled.
    const again = await ask('placement.keep', { label: null, pose: pose(3, 0, 360), choose: true });
    expect(again.footprint?.placements.map((p) => p.chosen)).toEqual([true, false]);
    const removed = await ask('placement.remove', { id: b?.id ?? '' });
    expect(removed.footprint?.placements.map((p) => p.label)).toEqual(['A']);
    const gone = await ask('footprint.set', { label: '', ring: null });
    expect(gone.footprint).toBeNull();
    expect((await ask('record.undo', {})).footprint?.placements.map((p) => p.label)).toEqual(['A']);
    const back = await ask('placement.choose', { id: null });
    expect(back.footprint?.ring).toEqual(drawn);
    await ask('placement.remove', { id: a?.id ?? '' });
  });

  test('rectangle, L and U come out with the area of their measures, in the middle asked for', async () => {
    const shaped = async (shape: Input<'footprint.shape'>['shape']) => {
      const { footprint } = await ask('footprint.shape', {
        label: 'House',
        shape,
        centre: [600024, 5500019],
      });
      return Math.abs(ringArea(footprint?.ring ?? []));
    };
    expect(await shaped({ kind: 'rectangle', lengthM: 12, widthM: 9 })).toBeCloseTo(108, 9);
    const cut = { lengthM: 14, widthM: 10, cutLengthM: 6, cutWidthM: 4 };
    expect(await shaped({ kind: 'L', ...cut })).toBeCloseTo(116, 9);
    expect(await shaped({ kind: 'U', ...cut })).toBeCloseTo(116, 9);
    expect((await ask('project.view', {})).footprint?.ring).toHaveLength(8);
    const wide = { kind: 'U', ...cut, cutWidthM: 10 } as const;
    expect(await refused('footprint.shape', { label: 'House', shape: wide, centre: null })).toMatchObject({
      code: 'BAD_INPUT',
      details: { field: 'cutWidthM' },
    });
    for (let i = 0; i < 3; i++) await ask('record.undo', {});
  });
});

describe('the ground under a place', () => {
  test('is told live once it is drawn, agrees with kriging, and is let go by a change', async () => {
    const place = { pose: pose(0, 0) };
    expect(await ask('site.under', { place })).toMatchObject({ ready: false, statistics: null });
    const prepared = await ask('site.prepare', {});
    expect(prepared.realisations).toBe(300);
    const { ready, statistics: live, support } = await ask('site.under', { place });
    expect(ready).toBe(true);
    expect(support.needed).toBe(15);
    // Kriging is linear: the mean of the realisations is the estimate, within four sampling errors.
    const mean = live?.blockMeanKBqPerM3;
    const error = (mean?.sd ?? 0) / Math.sqrt(300);
    expect(Math.abs((mean?.mean ?? 0) - (live?.estimateKBqPerM3 ?? 0))).toBeLessThan(4 * error);

    // The same question twice has the same answer; a ring is as good as a pose; half off the lot is said.
    const { footprint } = await ask('project.view', {});
    const byRing = await ask('site.under', { place: { ring: footprint?.drawnRing ?? [] } });
    expect(byRing.statistics).toEqual(live);
    const off = await ask('site.under', { place: { pose: pose(500, 0) } });
    expect(off.statistics).toMatchObject({ offSurfaceShare: 1, estimateKBqPerM3: null });

    // A name changes nothing of the ground; a ruling does.
    await ask('project.describe', { note: 'seen again' });
    expect((await ask('site.under', { place })).ready).toBe(true);
    const { samples } = await ask('project.view', {});
    await ask('ruling.set', { sampleIds: [samples[0]?.id ?? ''], verdict: 'leave-out', reason: 'test' });
    expect((await ask('site.under', { place })).ready).toBe(false);
    await ask('record.undo', {});
  });

  test('kept placements are compared in words on the same realisations', async () => {
    await ask('placement.keep', { label: 'by the road', pose: pose(1, 1), choose: false });
    const compared = await ask('site.compare', {});
    expect(compared.placements.map((p) => p.label)).toEqual(['as drawn', 'by the road']);
    expect(compared.placements[1]?.distanceMovedM).toBeCloseTo(Math.SQRT2, 9);
    expect(compared.differences).toHaveLength(1);
    expect(compared.differences[0]).toMatch(/the building as drawn/i);
    expect(compared.differences[0]).toMatch(/placement by the road/i);
    expect(compared.cautions.join(' ')).toMatch(/does not make protection against radon needless/);
    await ask('record.undo', {});
  });
});

describe('the class under the footprint', () => {
  test('is the scheme asked of the points in and near it alone; too few give the reason and what is missing', async () => {
    const lot = await ask('class.compute', {});
    const small = await ask('class.footprint', {});
    const { support, result } = small;
    expect(support.inside + support.around).toBeLessThanOrEqual(lot.validCount);
    if (support.enough) expect(result?.validCount).toBe(support.inside + support.around);
    else {
      expect(result).toBeNull();
      expect(support.missing.join(' ')).toMatch(/more valid point/);
    }
    // A footprint over all of the lot has every valid point in it: its class is that of the lot.
    const view = await ask('project.view', {});
    const native = (view.lot ?? []).map(
      ([x, y]) => [view.frame.originNative[0] + x, view.frame.originNative[1] + y] as const,
    );
    await ask('settings.set', { settings: { ...view.settings, schemeId: 'swedish-ground-classes' } });
    await ask('footprint.set', { label: 'All of it', ring: native });
    const whole = await ask('class.footprint', {});
    const again = await ask('class.compute', {});
    expect(whole.result?.validCount).toBe(again.validCount);
    expect(whole.result?.classId).toBe(again.classId);
    await ask('record.undo', {});
    await ask('record.undo', {});
  });
});

describe('added probes', () => {
  test('are marked, and the class is shown with and without them; those still to be driven are named', async () => {
    const first = await ask('class.compute', {});
    expect(first.added).toBeNull();
    const next = await ask('next.propose', { count: 2, criterion: 'class', target: 'lot' });
    expect(next.added).toHaveLength(2);
    expect(next.classDoubt?.statisticName).toBe(first.statisticName);
    expect(next.errorAfter).toBeLessThan(next.errorBefore);
    expect(next.cautions.join(' ')).toMatch(/drive all of them/);
    const probes = next.added.map(({ label, native }) => ({ label, native, added: true }));
    const view = await ask('plan.accept', { probes, depthM: 0.8, replace: false });
    expect(view.probes.filter((p) => p.added).map((p) => p.label)).toEqual(probes.map((p) => p.label));

    const path = join(folder, 'added.csv');
    const [one, two] = probes;
    const [x, y] = one?.native ?? [0, 0];
    writeFileSync(
      path,
      `Probe,X,Y,Depth m,Radon kBq/m3,U kBq/m3\n${one?.label},${x.toFixed(2)},${y.toFixed(2)},0.8,150,5\n`,
    );
    await ask('import.commit', { path, options: {} });
    const half = await ask('class.compute', {});
    expect(half.added).toEqual({ labels: [one?.label, two?.label], waiting: [two?.label], validCount: 1 });
    expect(half.validCount).toBe(first.validCount + 1);
    const without = half.alternatives.find((a) => a.isWithoutAdded);
    expect(without).toMatchObject({
      classId: first.classId,
      statisticKBqPerM3: first.statisticKBqPerM3,
      what: 'Without the 2 added probes',
    });
    expect(half.statisticKBqPerM3).toBeGreaterThan(first.statisticKBqPerM3 ?? 0);
    expect(half.cautions.join(' ')).toMatch(new RegExp(`${two?.label} is still to be driven`));
    const again = await ask('next.propose', { count: 1, criterion: 'mean', target: 'lot' });
    expect(again.cautions[0] ?? '').not.toBe('');
    expect(again.cautions.join(' ')).toMatch(/drive them first/);
  });
});
