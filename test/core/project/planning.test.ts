import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { distanceToRing, pointInPolygon } from '../../../core/geo/planar.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask, refused } = asking(() => engine);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-plan-'));
  engine = newTestEngine({ threads: 2 });
  await ask('project.demo', { path: join(folder, 'demo.gasplat'), lot: 'ordinary' });
});

afterAll(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

const REQUEST = {
  pattern: 'offset',
  size: { count: 15 },
  around: { footprintPlusM: 5 },
  depthM: 0.8,
  labelPrefix: 'Q',
  minutesPerTest: 20,
  instruments: 1,
  days: 1,
} as const;

describe('planning', () => {
  test('a plan keeps off a keep-out, meets the scheme, numbers along the walk, and can be taken in and undone', async () => {
    const label = 'Water service';
    const points = [
      [600024, 5500000],
      [600024, 5500040],
    ] as const;
    await ask('keepout.set', { id: null, label, shape: 'line', points, bufferM: 1 });
    const plan = await ask('plan.propose', REQUEST);
    // Least number for one small building: 15 (decree 422/2016 Sb., in the description of two licensed firms).
    expect(plan.probes.length).toBeGreaterThanOrEqual(15);
    for (const { native } of plan.probes) expect(Math.abs(native[0] - 600024)).toBeGreaterThan(1 - 1e-6);
    expect(plan.findings.find((f) => f.subject === 'number')?.outcome).toBe('met');
    expect(plan.probes.map((p) => p.label)).toEqual([...plan.probes.map((p) => p.label)].sort());
    expect(plan.walk.lengthM).toBeGreaterThanOrEqual(plan.walk.lowerBoundM - 1e-6);
    expect(plan.cautions.join(' ')).toMatch(/buried services/);

    const probes = plan.probes.map((p) => ({ label: p.label, native: p.native, added: false }));
    const view = await ask('plan.accept', { probes, depthM: 0.8, replace: true });
    expect(view.probes.filter((p) => p.state === 'planned')).toHaveLength(plan.probes.length);
    expect(view.marks.filter((m) => m.symbol === 'planned')).toHaveLength(plan.probes.length);
    const undone = await ask('record.undo', {});
    expect(undone.probes.filter((p) => p.state === 'planned')).toHaveLength(0);
    const [keepOut] = undone.keepOuts;
    expect((await ask('keepout.remove', { id: keepOut?.id ?? '' })).keepOuts).toEqual([]);
  });

  test('each round begins with its probe nearer the start, and its numbers run on from there', async () => {
    const view = await ask('project.view', {});
    const startM = view.lot?.[2] ?? [0, 0];
    const plan = await ask('plan.propose', { ...REQUEST, size: { count: 18 }, startM, instruments: 2 });
    const at = new Map(plan.probes.map((p) => [p.label, p.positionM]));
    const away = (label: string | undefined) => {
      const [x, y] = at.get(label ?? '') ?? [Number.NaN, Number.NaN];
      return Math.hypot(x - startM[0], y - startM[1]);
    };
    expect(plan.walk.parts).toHaveLength(2);
    for (const { labels } of plan.walk.parts)
      expect(away(labels[0])).toBeLessThanOrEqual(away(labels.at(-1)));
    const all = Array.from({ length: plan.probes.length }, (_, i) => `Q${String(i + 1).padStart(2, '0')}`);
    expect(plan.walk.parts.flatMap((part) => part.labels)).toEqual(all);
    expect(plan.probes.map((p) => p.label)).toEqual(all);
  });

  test('a plan along a footprint that is not there is refused in words', async () => {
    const { footprint } = await ask('project.view', {});
    await ask('footprint.set', { label: '', ring: null });
    const error = await refused('plan.propose', { ...REQUEST, pattern: 'along-footprint' });
    expect(error.code).toBe('BAD_INPUT');
    await ask('record.undo', {});
    expect((await ask('project.view', {})).footprint?.ring).toEqual(footprint?.ring);
  });

  test('next probes lie on the lot, apart from the others, and each lowers the error', async () => {
    const view = await ask('project.view', {});
    const next = await ask('next.propose', { count: 3, criterion: 'mean', target: 'lot' });
    expect(next.added).toHaveLength(3);
    expect(next.errorAfter).toBeLessThan(next.errorBefore);
    for (const { positionM, gain } of next.added) {
      expect(gain).toBeGreaterThan(0);
      expect(pointInPolygon(positionM, [view.lot ?? []])).toBe(true);
      expect(distanceToRing(positionM, view.lot ?? [])).toBeGreaterThan(0.499);
      for (const p of view.probes) {
        expect(Math.hypot(p.positionM[0] - positionM[0], p.positionM[1] - positionM[1])).toBeGreaterThan(
          1.49,
        );
      }
    }
  }, 60_000);

  test('siting ranks placements inside the setback, and promises nothing', async () => {
    const request = {
      objective: 'lowest-estimate',
      setbackM: 3,
      mayTurn: false,
      mayMirror: false,
      perMetreMoved: 0,
      wanted: 2,
      seed: 7,
    } as const;
    const site = await ask('site.search', request);
    const view = await ask('project.view', {});
    expect(site.nothingFits).toBeNull();
    expect(site.ranked.length).toBeGreaterThan(0);
    for (const { ring, probesNear } of site.ranked) {
      expect(ring.every((corner) => pointInPolygon(corner, [view.lot ?? []]))).toBe(true);
      expect(probesNear).toBeGreaterThanOrEqual(3);
    }
    const best = site.ranked[0]?.judged ?? Number.NaN;
    expect(best).toBeLessThan(site.asDrawn?.judged ?? Number.NaN);
    expect(site.cautions.join(' ')).toMatch(/does not make protection .* needless/);
    const huge = await ask('site.search', { ...request, setbackM: 18 });
    expect(huge.nothingFits ?? '').toMatch(/setback|large|long|wide/);
  }, 180_000);

  // Last: it leaves another project open.
  test('a plan warns of holes that draw on each other; the record says what was set', async () => {
    const path = join(folder, 'feet.gasplat');
    await ask('project.create', { path, name: 'Feet', crs: { kind: 'local', unit: 'ft', label: '' } });
    const ring = [
      [0, 0],
      [20, 0],
      [20, 20],
      [0, 20],
    ] as [number, number][];
    const { settings, lot } = await ask('lot.set', { ring });
    await ask('settings.set', { settings: { ...settings, radonUnit: 'pCi/L' } });
    const plan = await ask('plan.propose', { ...REQUEST, around: 'all', size: { count: 40 } });
    // 40 probes on 37 m2: about a metre apart.
    for (const { positionM } of plan.probes)
      expect(distanceToRing(positionM, lot ?? [])).toBeGreaterThan(0.5 - 1e-6);
    expect(plan.notes.join()).toMatch(/nearer than 1\.5 m/);
    const record = await ask('record.list', {});
    // 20 ft by 20 ft are 37 m2.
    expect(record.entries.map(({ summary }) => summary)).toEqual(
      expect.arrayContaining(['Set the lot: 37 m2, entered', 'Change settings: radon unit to pCi/L']),
    );
  });
});
