import type { ProjectCrs, ProjectView, RulingVerdict } from '../../core/contract/model.ts';
import type { SampleHandling } from '../../core/contract/readings.ts';
import type { Input } from '../../core/contract/requests.ts';
import type { ProjectSettings } from '../../core/contract/settings.ts';
import type { SheetChanges, SheetKind, SheetTexts } from '../../core/contract/sheet.ts';
import type { ShellBridge } from '../../core/contract/shell.ts';
import { AppError } from '../../core/errors.ts';
import { type Client, createClient, DroppedReply } from '../client.ts';
import { plural } from '../format.ts';
import {
  type AppState,
  INITIAL_STATE,
  type Problem,
  STEP_TITLES,
  type StepId,
  withJob,
  withOpenedProject,
  withoutJob,
  withoutProject,
  withView,
} from './app-state.ts';
import { classBasis, surfaceBasis } from './basis.ts';
import { createHandEntry, type HandEntry } from './hand-entry.ts';
import { createIntake, type Intake } from './intake.ts';
import { problemOf } from './problem.ts';
import { createProposals, type Proposals } from './proposals.ts';
import {
  type KeptTexts,
  keepRecent,
  type RecentProject,
  readRecent,
  withoutRecent,
  withRecent,
} from './recent.ts';
import { createSiting, type Siting } from './siting.ts';
import { firstOpenStep } from './steps.ts';
import { createStore, type Store } from './store.ts';

export const SURFACE_JOB = 'Working out the surface';
export const CLASS_JOB = 'Working out the class';

/** What a visible job hands to its request. */
export interface JobOptions {
  readonly signal: AbortSignal;
  readonly onProgress: (done: number, stage: string) => void;
}

/** What the parts of the app share. */
export interface AppKit {
  readonly store: Store<AppState>;
  readonly client: Client;
  readonly attempt: App['attempt'];
  readonly asJob: App['asJob'];
  /** Asks for a changed project and shows it. @returns whether it was changed */
  readonly change: (doing: string, work: () => Promise<ProjectView>, said: string) => Promise<boolean>;
}

/** Everything the window can do with the engine. Methods never throw: a failure becomes `state.problem`. */
export interface App extends Intake, HandEntry, Proposals, Siting {
  readonly store: Store<AppState>;
  readonly client: Client;
  readonly bridge: ShellBridge;
  start(): Promise<void>;
  say(text: string): void;
  go(step: StepId): void;
  createProject(path: string, name: string, crs: ProjectCrs): Promise<boolean>;
  openProject(path: string): Promise<boolean>;
  openSample(path: string, lot: 'ordinary' | 'troubled'): Promise<boolean>;
  closeProject(): Promise<void>;
  describe(change: { name?: string; note?: string }): Promise<boolean>;
  describeSheet(texts: SheetTexts): Promise<boolean>;
  arrangeSheet(sheet: SheetKind, changes: SheetChanges): Promise<boolean>;
  /** One part as the template has it, or all where `part` is null. */
  resetSheet(sheet: SheetKind, part: string | null): Promise<boolean>;
  /** @param source - how it was entered, for the record and the report */
  setLot(ring: readonly (readonly [number, number])[], source?: string): Promise<boolean>;
  setFootprint(label: string, ring: readonly (readonly [number, number])[] | null): Promise<boolean>;
  setKeepOut(keepOut: Input<'keepout.set'>): Promise<boolean>;
  setWalkStart(native: Input<'walk.start'>['native']): Promise<boolean>;
  removeKeepOut(id: string): Promise<boolean>;
  setControl(input: Input<'control.set'>): Promise<boolean>;
  setInstrument(input: Input<'instrument.set'>): Promise<boolean>;
  setHandling(sampleIds: readonly string[], handling: SampleHandling): Promise<boolean>;
  setDayLog(input: Input<'day.set'>): Promise<boolean>;
  removeDayLog(id: string): Promise<boolean>;
  rule(sampleIds: readonly string[], verdict: RulingVerdict | null, reason: string): Promise<boolean>;
  setSettings(settings: ProjectSettings): Promise<boolean>;
  undo(): Promise<void>;
  redo(): Promise<void>;
  computeSurface(): Promise<void>;
  computeClass(): Promise<void>;
  cancelJob(id: number): void;
  /** @returns the work's output, or null when it failed (then shown as a problem), was cancelled or dropped */
  attempt<T>(doing: string, work: () => Promise<T>): Promise<T | null>;
  /** Shows the work with its progress and a way to cancel it, and passes on its outcome. */
  asJob<T>(label: string, work: (options: JobOptions) => Promise<T>): Promise<T>;
}

/** @param kept - where the list of projects opened before is kept */
export function createApp(bridge: ShellBridge, kept: KeptTexts = null): App {
  const store = createStore<AppState>(INITIAL_STATE);
  const client = createClient(bridge);
  const aborts = new Map<number, AbortController>();
  let nextJob = 1;

  const set = (patch: Partial<AppState>) => store.update((state) => ({ ...state, ...patch }));

  set({ recent: readRecent(kept) });

  async function attempt<T>(doing: string, work: () => Promise<T>): Promise<T | null> {
    try {
      const output = await work();
      set({ problem: null });
      return output;
    } catch (error) {
      if (error instanceof DroppedReply) return null;
      if (error instanceof AppError && error.code === 'CANCELLED') {
        set({ said: `${doing}: cancelled.` });
        return null;
      }
      set({ problem: problemOf(doing, error) });
      return null;
    }
  }

  /** A long request: shown with its progress, and cancellable. */
  async function asJob<T>(label: string, work: (options: JobOptions) => Promise<T>): Promise<T> {
    const id = nextJob++;
    const abort = new AbortController();
    aborts.set(id, abort);
    store.update((state) => withJob(state, { id, label, done: 0, stage: '' }));
    try {
      return await work({
        signal: abort.signal,
        onProgress: (done, stage) => store.update((state) => withJob(state, { id, label, done, stage })),
      });
    } finally {
      aborts.delete(id);
      store.update((state) => withoutJob(state, id));
    }
  }

  function setRecent(recent: readonly RecentProject[]): void {
    set({ recent });
    keepRecent(kept, recent);
  }

  function opened(view: ProjectView, said: string): void {
    setRecent(withRecent(store.get().recent, view));
    store.update((state) => ({
      ...withOpenedProject(state, view, firstOpenStep({ ...state, view })),
      said,
    }));
  }

  async function change(doing: string, work: () => Promise<ProjectView>, said: string): Promise<boolean> {
    const view = await attempt(doing, work);
    if (!view) return false;
    store.update((state) => ({ ...withView(state, view), said }));
    return true;
  }

  let refetching = false;
  client.onChanged((revision) => {
    const view = store.get().view;
    if (!view || revision <= view.revision || refetching) return;
    refetching = true;
    void attempt('Reading the project', () => client.request('project.view', {}))
      .then((fresh) => {
        if (fresh) store.update((state) => withView(state, fresh));
      })
      .finally(() => {
        refetching = false;
      });
  });

  // A new engine has no project open: the one on the screen is opened again, and the person stays where they are.
  client.onReady(() => {
    const view = store.get().view;
    if (!view) return;
    void attempt('Opening the project again', () => client.request('project.open', { path: view.path })).then(
      (fresh) => {
        if (fresh) set({ view: fresh, said: 'The engine was started again; every change is in the file.' });
      },
    );
  });

  const kit: AppKit = { store, client, attempt, asJob, change };
  const app: App = {
    ...createIntake(kit),
    ...createHandEntry(kit),
    ...createProposals(kit),
    ...createSiting(kit),
    store,
    client,
    bridge,
    attempt,
    asJob,
    say: (said) => set({ said }),
    async start() {
      const [first, catalogue] = await Promise.all([
        attempt('Starting', () => bridge.startUp()),
        attempt('Reading schemes and limits', () => client.request('catalogue.get', {})),
      ]);
      set({ catalogue });
      if (first?.openPath) await app.openProject(first.openPath);
      set({ starting: false });
    },
    go(step) {
      const { drawing } = store.get();
      // Corners set by hand are not thrown away by a look at another step.
      const kept = drawing && drawing.points.length > 0 ? drawing : null;
      set({ step, drawing: kept, sketch: null, picking: null, problem: null, said: STEP_TITLES[step] });
    },
    async createProject(path, name, crs) {
      const view = await attempt('Making the project', () =>
        client.request('project.create', { path, name, crs }),
      );
      if (view) opened(view, `Project ${view.name} made.`);
      return view !== null;
    },
    async openProject(path) {
      const view = await attempt('Opening the project', async () => {
        try {
          return await client.request('project.open', { path });
        } catch (error) {
          if (error instanceof AppError && error.code === 'NOT_FOUND')
            setRecent(withoutRecent(store.get().recent, path));
          throw error;
        }
      });
      if (view) opened(view, `Project ${view.name} opened.`);
      return view !== null;
    },
    async openSample(path, lot) {
      const view = await attempt('Making the sample lot', () =>
        asJob('Making the sample lot', (options) => client.request('project.demo', { path, lot }, options)),
      );
      if (view) opened(view, `Sample lot ${view.name} opened.`);
      return view !== null;
    },
    async closeProject() {
      const closed = await attempt('Closing the project', () =>
        client.request('project.close', {}).then(() => true),
      );
      if (closed) store.update(withoutProject);
    },
    describeSheet: (texts) =>
      change('Keeping the text', () => client.request('sheet.describe', { texts }), 'Saved.'),
    arrangeSheet: (sheet, changes) =>
      change('Arranging the sheet', () => client.request('sheet.arrange', { sheet, changes }), 'Kept.'),
    resetSheet: (sheet, part) =>
      change(
        'Arranging the sheet',
        () => client.request('sheet.reset', { sheet, part }),
        'As in the template.',
      ),
    describe: (input) =>
      change('Describing the project', () => client.request('project.describe', input), 'Saved.'),
    async setLot(ring, source) {
      const done = await change(
        'Setting the lot line',
        () => client.request('lot.set', source === undefined ? { ring } : { ring, source }),
        'Lot line set.',
      );
      if (done) store.update((state) => ({ ...state, fitCount: state.fitCount + 1 }));
      return done;
    },
    setFootprint: (label, ring) =>
      change(
        'Setting the footprint',
        () => client.request('footprint.set', { label, ring }),
        ring ? 'Footprint set.' : 'Footprint removed.',
      ),
    setKeepOut: (input) =>
      change(
        'Setting the keep-out',
        () => client.request('keepout.set', input),
        `Keep-out ${input.label} set.`,
      ),
    setWalkStart: (native) =>
      change(
        'Setting the start of the walk',
        () => client.request('walk.start', { native }),
        'Walks start there.',
      ),
    removeKeepOut: (id) =>
      change('Removing the keep-out', () => client.request('keepout.remove', { id }), 'Keep-out removed.'),
    setControl: (input) =>
      change(
        'Setting the control points',
        () => client.request('control.set', input).then(({ view }) => view),
        input.points.length === 0 ? 'The grid is untied.' : 'The grid is tied to the map.',
      ),
    setInstrument: (input) =>
      change(
        'Setting the instrument',
        () => client.request('instrument.set', input),
        `Instrument ${input.instrument.label} set.`,
      ),
    setHandling: (sampleIds, handling) =>
      change(
        'Setting how samples were filled',
        () => client.request('sample.handling', { sampleIds, handling }),
        `Set for ${plural(sampleIds.length, 'sample')}.`,
      ),
    setDayLog: (input) =>
      change(
        'Setting the log of the day',
        () => client.request('day.set', input),
        `Log of ${input.log.day} set.`,
      ),
    removeDayLog: (id) =>
      change('Removing the log of the day', () => client.request('day.remove', { id }), 'Log removed.'),
    async rule(sampleIds, verdict, reason) {
      const done = await change(
        'Ruling',
        () => client.request('ruling.set', { sampleIds, verdict, reason }),
        verdict === null ? 'Ruling withdrawn.' : `Ruled on ${plural(sampleIds.length, 'sample')}.`,
      );
      if (done) set({ checkedSampleIds: new Set() });
      return done;
    },
    setSettings: (settings) =>
      change(
        'Changing settings',
        () => client.newest('settings', 'settings.set', { settings }),
        'Settings changed.',
      ),
    async undo() {
      const what = store.get().view?.canUndo;
      if (what) await change('Undo', () => client.request('record.undo', {}), `Undone: ${what}`);
    },
    async redo() {
      const what = store.get().view?.canRedo;
      if (what) await change('Redo', () => client.request('record.redo', {}), `Redone: ${what}`);
    },
    async computeSurface() {
      const view = store.get().view;
      if (!view) return;
      const basis = surfaceBasis(view);
      set({ surfaceHeldAt: basis, surfaceProblem: null });
      try {
        const result = await asJob(SURFACE_JOB, (job) =>
          client.newest('surface', 'surface.compute', {}, { ...job, dropStale: true }),
        );
        set({ surface: { basis, result }, said: 'Surface worked out.' });
      } catch (error) {
        settle(error, SURFACE_JOB, { surfaceHeldAt: null }, (surfaceProblem) => ({ surfaceProblem }));
      }
    },
    async computeClass() {
      const view = store.get().view;
      if (!view) return;
      const basis = classBasis(view);
      set({ classHeldAt: basis, classProblem: null });
      try {
        const result = await asJob(CLASS_JOB, (job) =>
          client.newest('class', 'class.compute', {}, { ...job, dropStale: true }),
        );
        set({
          classification: { basis, result },
          said: result.className ? `Class: ${result.className}.` : 'No single class: see why.',
        });
      } catch (error) {
        settle(error, CLASS_JOB, { classHeldAt: null }, (classProblem) => ({ classProblem }));
      }
    },
    cancelJob: (id) => aborts.get(id)?.abort(),
  };

  function settle(
    error: unknown,
    doing: string,
    release: Partial<AppState>,
    keep: (problem: Problem) => Partial<AppState>,
  ): void {
    if (error instanceof DroppedReply) set(release);
    else if (error instanceof AppError && error.code === 'CANCELLED') set({ said: `${doing}: cancelled.` });
    else set(keep(problemOf(doing, error)));
  }

  return app;
}
