import { describe, expect, test } from 'vitest';
import type { EngineEvent } from '../../core/contract/envelope.ts';
import { createMockBridge } from '../../renderer/dev/mock-bridge.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { createApp } from '../../renderer/state/app.ts';
import { surfaceBasis } from '../../renderer/state/basis.ts';

async function openedApp(options: Parameters<typeof createMockBridge>[0] = {}) {
  const bridge = createMockBridge({ open: true, slowMs: 5, ...options });
  let emit: (event: EngineEvent) => void = () => {};
  const app = createApp({
    ...bridge,
    onEvent(listener) {
      emit = listener;
      return bridge.onEvent(listener);
    },
  });
  await app.start();
  return { app, bridge, emit: (event: EngineEvent) => emit(event) };
}

describe('app', () => {
  test('a failure becomes a problem with its place, and the next success clears it', async () => {
    const { app } = await openedApp({ failing: ['lot.set'] });
    expect(await app.setLot([[0, 0]])).toBe(false);
    expect(app.store.get().problem).toMatchObject({
      doing: 'Setting the lot line',
      details: { file: 'mock.csv', row: 7, field: 'radon' },
    });
    await app.describe({ note: 'x' });
    expect(app.store.get().problem).toBeNull();
  });

  test('a drawing begun outlives a look at another step, an empty one does not', async () => {
    const { app } = await openedApp();
    const drawing = { target: 'lot', shape: 'polygon', points: [[0, 0]] } as const;
    app.store.update((state) => ({ ...state, drawing }));
    app.go('field');
    expect(app.store.get().drawing).toEqual(drawing);
    app.store.update((state) => ({ ...state, drawing: { ...drawing, points: [] } }));
    app.go('plan');
    expect(app.store.get().drawing).toBeNull();
  });

  test('projects opened before are kept, the latest first, and go once their file has gone', async () => {
    const texts = new Map<string, string>();
    const kept = {
      getItem: (key: string) => texts.get(key) ?? null,
      setItem: (key: string, text: string) => void texts.set(key, text),
    };
    const app = createApp(createMockBridge(), kept);
    await app.start();
    for (const path of ['/a.gasplat', '/b.gasplat', '/a.gasplat']) await app.openProject(path);
    await app.closeProject();
    expect(app.store.get().recent.map(({ path }) => path)).toEqual(['/a.gasplat', '/b.gasplat']);
    const bridge = createMockBridge();
    const gone: typeof bridge.send = async (request) => {
      if (request.name !== 'project.open') return bridge.send(request);
      const error = { code: 'NOT_FOUND', message: 'There is no such file.', details: {} } as const;
      return { kind: 'reply', id: request.id, ok: false, revision: 0, error };
    };
    const next = createApp({ ...bridge, send: gone }, kept);
    await next.start();
    await next.openProject('/b.gasplat');
    expect(next.store.get().problem).not.toBeNull();
    expect(next.store.get().recent.map(({ path }) => path)).toEqual(['/a.gasplat']);
    texts.set('recent-projects', '[{"path":1}, null, "x"');
    expect(createApp(createMockBridge(), kept).store.get().recent).toEqual([]);
  });

  test('a surface belongs to what it was worked out from', async () => {
    const { app } = await openedApp();
    const basis = () => surfaceBasis(app.store.get().view ?? mockView('/none'));
    await app.computeSurface();
    expect(app.store.get().surface?.basis).toBe(basis());
    await app.describe({ note: 'changes no value' });
    expect(app.store.get().surface?.basis).toBe(basis());
    await app.rule(['s3'], 'use', 'seen');
    expect(app.store.get().surface?.basis).not.toBe(basis());
  });

  test('a surface that the project has overtaken is dropped without a message', async () => {
    const { app } = await openedApp({ slowMs: 60 });
    const running = app.computeSurface();
    await app.describe({ note: 'changed meanwhile' });
    await running;
    expect(app.store.get().surface).toBeNull();
    expect(app.store.get().surfaceProblem).toBeNull();
    expect(app.store.get().jobs).toEqual([]);
    // Nothing holds it back from being begun again.
    expect(app.store.get().surfaceHeldAt).toBeNull();
  });

  test('a cancelled job ends without a problem and is not begun again for the same project', async () => {
    const { app } = await openedApp({ slowMs: 400 });
    const running = app.computeSurface();
    await new Promise((resolve) => setTimeout(resolve, 120));
    const job = app.store.get().jobs[0];
    expect(job?.done).toBeGreaterThan(0);
    app.cancelJob(job?.id ?? -1);
    await running;
    expect(app.store.get().surfaceProblem).toBeNull();
    expect(app.store.get().said).toMatch(/cancelled/);
    expect(app.store.get().surfaceHeldAt).toBe(surfaceBasis(app.store.get().view ?? mockView('/none')));
  });

  test('a change told by the engine brings the new view', async () => {
    const { app, bridge, emit } = await openedApp();
    const before = app.store.get().view?.revision ?? 0;
    await bridge.send({ kind: 'request', id: 999, name: 'project.describe', input: { name: 'Renamed' } });
    emit({ kind: 'changed', revision: before + 1 });
    await new Promise((resolve) => setTimeout(resolve, 30));
    expect(app.store.get().view?.name).toBe('Renamed');
  });

  test('a new engine gets the project on the screen again, and the person stays at their step', async () => {
    const { app, bridge, emit } = await openedApp();
    app.go('classify');
    await bridge.send({ kind: 'request', id: 999, name: 'project.close', input: {} });
    emit({ kind: 'ready', host: 'mock' });
    await new Promise((resolve) => setTimeout(resolve, 30));
    expect(app.store.get()).toMatchObject({ step: 'classify', problem: null });
    expect(await app.describe({ note: 'works' })).toBe(true);
  });

  test('an import takes the mapping that the preview shows', async () => {
    const { app } = await openedApp();
    await app.previewImport('/field.csv', {});
    expect(app.store.get().pendingImport?.preview?.mapping.radon?.column).toBe('Rn kBq/m3');
    expect(await app.commitImport()).toBe(true);
    expect(app.store.get().pendingImport).toBeNull();
    expect(app.store.get().importReport?.samplesAdded).toBe(19);
  });
});
