import { describe, expect, test } from 'vitest';
import { ACTIONS, findAction, type KeyPress } from '../../renderer/actions/registry.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { mockClass, mockSurface } from '../../renderer/dev/mock-results.ts';
import {
  type AppState,
  INITIAL_STATE,
  rulingTargets,
  STEPS,
  withChecked,
  withJob,
  withOpenedProject,
  withoutJob,
  withSelectedProbe,
  withSelection,
  withView,
} from '../../renderer/state/app-state.ts';
import { classBasis, groundBasis, surfaceBasis } from '../../renderer/state/basis.ts';
import { firstOpenStep, stepStates } from '../../renderer/state/steps.ts';
import { createStore } from '../../renderer/state/store.ts';

const view = mockView('/a.gasplat');
const opened: AppState = withOpenedProject(INITIAL_STATE, view, 'reduce');

describe('state', () => {
  test('a view that a later one has overtaken is left aside; one of another file is not', () => {
    expect(withView(opened, { ...view, revision: view.revision - 1 })).toBe(opened);
    expect(withView(opened, { ...view, revision: view.revision + 1 }).view?.revision).toBe(view.revision + 1);
    expect(withView(opened, { ...view, path: '/b.gasplat', revision: 1 }).view?.path).toBe('/b.gasplat');
  });

  test('selection and checks of samples that are gone go with them', () => {
    const chosen = withChecked(withSelection(opened, 's3'), ['s3', 's4'], true);
    const next = withView(chosen, {
      ...view,
      revision: view.revision + 1,
      samples: view.samples.filter((sample) => sample.id !== 's3'),
    });
    expect(next.selectedSampleId).toBeNull();
    expect([...next.checkedSampleIds]).toEqual(['s4']);
  });

  test('a probe on the map selects its grab sample; one without samples selects nothing new', () => {
    expect(withSelectedProbe(opened, 'p7').selectedSampleId).toBe('s7');
    expect(withSelectedProbe(opened, 'p20').selectedSampleId).toBeNull();
  });

  test('a ruling goes to the checked samples, else to the selected one', () => {
    expect(rulingTargets(opened)).toEqual([]);
    const selected = withSelection(opened, 's3');
    expect(rulingTargets(selected)).toEqual(['s3']);
    expect(rulingTargets(withChecked(selected, ['s4', 's5'], true))).toEqual(['s4', 's5']);
  });

  test('jobs keep their order while they move', () => {
    const one = withJob(opened, { id: 1, label: 'a', done: 0, stage: '' });
    const two = withJob(one, { id: 2, label: 'b', done: 0, stage: '' });
    const moved = withJob(two, { id: 1, label: 'a', done: 0.5, stage: 'x' });
    expect(moved.jobs.map((job) => [job.id, job.done])).toEqual([
      [1, 0.5],
      [2, 0],
    ]);
    expect(withoutJob(moved, 1).jobs.map((job) => job.id)).toEqual([2]);
  });

  test('opening a project keeps nothing of the former one', () => {
    const busy = { ...withSelection(opened, 's3'), surface: { basis: 'x', result: mockSurface(view) } };
    const next = withOpenedProject(busy, mockView('/b.gasplat'), 'plan');
    expect(next.surface).toBeNull();
    expect(next.selectedSampleId).toBeNull();
  });

  test('the store tells its listeners of real changes only', () => {
    const store = createStore({ n: 0 });
    let told = 0;
    const stop = store.subscribe(() => told++);
    store.update((state) => state);
    store.update((state) => ({ n: state.n + 1 }));
    stop();
    store.update((state) => ({ n: state.n + 1 }));
    expect([told, store.get().n]).toEqual([1, 2]);
  });
});

describe('step states', () => {
  test('an empty project begins at Plan, one with a lot at Field, one with samples at Reduce', () => {
    const bare = { ...view, lot: null, samples: [], assessments: [] };
    expect(firstOpenStep({ ...opened, view: bare })).toBe('plan');
    expect(firstOpenStep({ ...opened, view: { ...bare, lot: view.lot } })).toBe('field');
    expect(firstOpenStep(opened)).toBe('reduce');
    expect(stepStates({ ...opened, view: bare }).plan.condition).toBe('to-do');
    const [probe] = view.probes;
    if (!probe) throw new Error('The stand-in has no probe.');
    const planned = { ...view, probes: [{ ...probe, state: 'planned' as const }] };
    expect(stepStates({ ...opened, view: planned }).plan.note).toBe('1 probe planned');
  });

  test('findings nobody ruled on ask for attention; ruling on all of them is done', () => {
    expect(stepStates(opened).reduce).toEqual({ condition: 'attention', note: '3 findings to look at' });
    const ruled = view.assessments.map((one) => ({
      ...one,
      ruling: {
        id: 'r',
        sampleId: one.sampleId,
        verdict: 'use' as const,
        reason: 'seen',
        actor: 'A. Sample',
        atUtc: '2025-01-01T00:00:00Z',
      },
    }));
    expect(stepStates({ ...opened, view: { ...view, assessments: ruled } }).reduce.condition).toBe('done');
  });

  test('a footprint with too few valid points under it is no step done', () => {
    expect(stepStates(opened).site).toEqual({ condition: 'done', note: 'Footprint set' });
    const support = {
      enough: false,
      inside: 1,
      around: 5,
      needed: 15,
      surroundingsM: 5,
      surroundingsUnconfirmed: true,
      missing: [],
      message: '',
    };
    const standing = { basis: groundBasis(view), result: { ready: true, statistics: null, support } };
    const looked = (enough: boolean) => ({
      ...opened,
      siting: {
        ...opened.siting,
        standing: { ...standing, result: { ready: true, statistics: null, support: { ...support, enough } } },
      },
    });
    expect(stepStates(looked(false)).site).toEqual({ condition: 'attention', note: 'No class under it' });
    expect(stepStates(looked(true)).site.condition).toBe('done');
  });

  test('surface and class are out of date when what they rest on has changed, not by a note or a footprint', () => {
    const both: AppState = {
      ...opened,
      surface: { basis: surfaceBasis(view), result: { ...mockSurface(view), warnings: [] } },
      classification: { basis: classBasis(view), result: mockClass(view) },
    };
    expect(stepStates(both).map.condition).toBe('done');
    expect(stepStates(both).classify.note).toBe('Medium');
    const noted = { ...both, view: { ...view, revision: view.revision + 1, note: 'x', footprint: null } };
    expect(stepStates(noted).map.condition).toBe('done');
    const otherGround = { ...view, basis: { ...view.basis, surface: 'other' } };
    expect(stepStates({ ...both, view: otherGround }).map.note).toBe('Out of date');
    expect(stepStates({ ...both, view: otherGround }).classify.condition).toBe('done');
    const otherClass = { ...view, basis: { ...view.basis, class: 'other' } };
    expect(stepStates({ ...both, view: otherClass }).map.condition).toBe('done');
    expect(stepStates({ ...both, view: otherClass }).classify.note).toBe('Out of date');
  });

  test('a refused class needs attention', () => {
    const refused = { ...mockClass(view), classId: null, className: null, refusal: 'Too few samples.' };
    const state = stepStates({ ...opened, classification: { basis: classBasis(view), result: refused } });
    expect(state.classify).toEqual({ condition: 'attention', note: 'Refused' });
  });
});

describe('shortcuts', () => {
  const press = (key: string, change: Partial<KeyPress> = {}): KeyPress => ({
    key,
    ctrlKey: false,
    metaKey: false,
    shiftKey: false,
    altKey: false,
    typing: false,
    ...change,
  });

  test('no two actions share keys, and none shares an id', () => {
    const keys = ACTIONS.flatMap((action) => (action.shortcut === null ? [] : [action.shortcut]));
    expect(new Set(keys).size).toBe(keys.length);
    expect(new Set(ACTIONS.map((action) => action.id)).size).toBe(ACTIONS.length);
  });

  test('every step is one press away', () => {
    STEPS.forEach((step, index) => {
      expect(findAction(press(String(index + 1), { ctrlKey: true }))?.id).toBe(`go-${step}`);
    });
  });

  test('while typing, letters are letters and undo is the field’s own', () => {
    expect(findAction(press('f'))?.id).toBe('fit-to-lot');
    expect(findAction(press('f', { typing: true }))).toBeNull();
    expect(findAction(press('z', { ctrlKey: true }))?.id).toBe('undo');
    expect(findAction(press('z', { ctrlKey: true, typing: true }))).toBeNull();
    expect(findAction(press('Z', { ctrlKey: true, shiftKey: true }))?.id).toBe('redo');
    expect(findAction(press('F1', { typing: true }))?.id).toBe('show-shortcuts');
  });
});
