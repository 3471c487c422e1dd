import type { ProjectCrs, ProjectSettings, ProjectView, RulingVerdict } from '../../core/contract/model.ts';
import type { NextRequest, PlanRequest, SiteRequest } from '../../core/contract/planning.ts';
import type { InstrumentsReport, ReadingsReport, SampleHandling } from '../../core/contract/readings.ts';
import type { ImportOptions, Input } from '../../core/contract/requests.ts';
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
import { planBasis, resultBasis, sitingBasis } from './basis.ts';
import { firstOpenStep } from './steps.ts';
import { createStore, type Store } from './store.ts';

export const SURFACE_JOB = 'Working out the surface';
export const CLASS_JOB = 'Working out the class';
export const PLAN_JOB = 'Laying out probes';
export const NEXT_JOB = 'Looking for the next probes';
export const SITE_JOB = 'Searching placements';

/** Tables beside the sample sheet: counting intervals, and the register of what counted them. */
export type CountTable = 'readings' | 'instruments';

/** What a visible job hands to its request. */
export interface JobOptions {
  readonly signal: AbortSignal;
  readonly onProgress: (done: number, stage: string) => void;
}

/** Everything the window can do with the engine. Methods never throw: a failure becomes `state.problem`. */
export interface App {
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
  setLot(ring: readonly (readonly [number, number])[]): Promise<boolean>;
  /** What a file could not give is told to the caller, who can ask again with more said. */
  importGeometry(
    input: Input<'geometry.import'>,
  ): Promise<{ readonly problem: Problem | null; readonly notes: readonly string[] }>;
  setFootprint(label: string, ring: readonly (readonly [number, number])[] | null): Promise<boolean>;
  setKeepOut(keepOut: Input<'keepout.set'>): Promise<boolean>;
  removeKeepOut(id: string): Promise<boolean>;
  previewImport(path: string, options: ImportOptions): Promise<void>;
  commitImport(): Promise<boolean>;
  /** Looks through a table of counts or of instruments without taking it in. */
  lookThrough(what: CountTable, path: string): Promise<ReadingsReport | InstrumentsReport | null>;
  takeIn(what: CountTable, path: string): Promise<ReadingsReport | InstrumentsReport | null>;
  setControl(input: Input<'control.set'>): Promise<boolean>;
  setInstrument(input: Input<'instrument.set'>): Promise<boolean>;
  setHandling(sampleIds: readonly string[], handling: SampleHandling): Promise<boolean>;
  rule(sampleIds: readonly string[], verdict: RulingVerdict | null, reason: string): Promise<boolean>;
  setSettings(settings: ProjectSettings): Promise<boolean>;
  undo(): Promise<void>;
  redo(): Promise<void>;
  computeSurface(): Promise<void>;
  computeClass(): Promise<void>;
  /** Proposals land in the state; nothing is written. */
  proposePlan(request: PlanRequest): Promise<void>;
  proposeNext(request: NextRequest): Promise<void>;
  searchSite(request: SiteRequest): Promise<void>;
  acceptProbes(probes: Input<'plan.accept'>): Promise<boolean>;
  cancelJob(id: number): void;
  /** @returns the work's output, or null when it failed (then shown as a problem), was cancelled or dropped */
  attempt<T>(doing: string, work: () => Promise<T>): Promise<T | null>;
  /** Shows the work with its progress and a way to cancel it, and passes on its outcome. */
  asJob<T>(label: string, work: (options: JobOptions) => Promise<T>): Promise<T>;
}

export function createApp(bridge: ShellBridge): App {
  const store = createStore<AppState>(INITIAL_STATE);
  const client = createClient(bridge);
  const aborts = new Map<number, AbortController>();
  let nextJob = 1;

  const set = (patch: Partial<AppState>) => store.update((state) => ({ ...state, ...patch }));

  function problemOf(doing: string, error: unknown): Problem {
    if (error instanceof AppError) return { doing, message: error.message, details: error.details };
    return { doing, message: error instanceof Error ? error.message : String(error), details: {} };
  }

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

  async function importTable(
    what: CountTable,
    input: Input<'readings.import'>,
    options?: JobOptions,
  ): Promise<{ view: ProjectView; report: ReadingsReport | InstrumentsReport }> {
    return what === 'readings'
      ? await client.request('readings.import', input, options)
      : await client.request('instrument.import', input, options);
  }

  function opened(view: ProjectView, said: string): void {
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

  const app: App = {
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
      set({ step, drawing: null, problem: null, said: STEP_TITLES[step] });
    },
    async createProject(path, name, crs) {
      const view = await attempt('Making the project', () =>
        client.request('project.create', { path, name, crs }),
      );
      if (view) opened(view, `Project ${view.name} made.`);
      return view !== null;
    },
    async openProject(path) {
      const view = await attempt('Opening the project', () => client.request('project.open', { path }));
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
    describe: (input) =>
      change('Describing the project', () => client.request('project.describe', input), 'Saved.'),
    async setLot(ring) {
      const done = await change(
        'Setting the lot line',
        () => client.request('lot.set', { ring }),
        'Lot line set.',
      );
      if (done) store.update((state) => ({ ...state, fitCount: state.fitCount + 1 }));
      return done;
    },
    async importGeometry(input) {
      try {
        const { view, added, notes } = await asJob('Reading the file', (job) =>
          client.request('geometry.import', input, job),
        );
        store.update((state) => ({
          ...withView(state, view),
          problem: null,
          fitCount: state.fitCount + (input.what === 'lot' ? 1 : 0),
          said: `${plural(added, 'outline or place', 'outlines or places')} taken in.`,
        }));
        return { problem: null, notes };
      } catch (error) {
        if (error instanceof DroppedReply) return { problem: null, notes: [] };
        return { problem: problemOf('Reading the file', error), notes: [] };
      }
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
    removeKeepOut: (id) =>
      change('Removing the keep-out', () => client.request('keepout.remove', { id }), 'Keep-out removed.'),
    async previewImport(path, options) {
      store.update((state) => ({
        ...state,
        importReport: null,
        pendingImport: {
          path,
          options,
          preview: state.pendingImport?.path === path ? state.pendingImport.preview : null,
        },
      }));
      const preview = await attempt('Reading the file', () =>
        client.newest('import', 'import.preview', { path, options }),
      );
      if (!preview) {
        if (store.get().pendingImport?.preview === null && store.get().problem) set({ pendingImport: null });
        return;
      }
      store.update((state) =>
        state.pendingImport?.path === path
          ? {
              ...state,
              pendingImport: { ...state.pendingImport, preview },
              said: `${plural(preview.goodRows, 'row')} of ${preview.rowCount} can be imported.`,
            }
          : state,
      );
    },
    async commitImport() {
      const pending = store.get().pendingImport;
      if (!pending) return false;
      const options = {
        ...pending.options,
        mapping: pending.options.mapping ?? pending.preview?.mapping ?? {},
      };
      const done = await attempt('Importing samples', () =>
        asJob('Importing samples', (job) =>
          client.request('import.commit', { path: pending.path, options }, job),
        ),
      );
      if (!done) return false;
      store.update((state) => ({
        ...withView(state, done.view),
        pendingImport: null,
        importReport: done.report,
        fitCount: state.fitCount + 1,
        said: `${plural(done.report.samplesAdded, 'sample')} imported.`,
      }));
      return true;
    },
    async lookThrough(what, path) {
      const found = await attempt('Reading the file', () => importTable(what, { path, dryRun: true }));
      return found?.report ?? null;
    },
    async takeIn(what, path) {
      const doing = what === 'readings' ? 'Importing counts' : 'Importing instruments';
      const done = await attempt(doing, () => asJob(doing, (job) => importTable(what, { path }, job)));
      if (!done) return null;
      store.update((state) => ({ ...withView(state, done.view), said: `${done.report.file} taken in.` }));
      return done.report;
    },
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
      const basis = resultBasis(view);
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
      const basis = resultBasis(view);
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
    async proposePlan(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(PLAN_JOB, () =>
        asJob(PLAN_JOB, (job) => client.newest('plan', 'plan.propose', request, { ...job, dropStale: true })),
      );
      if (!result) return;
      const count = plural(result.probes.length, 'probe');
      set({ plan: { basis: planBasis(view), result }, said: `${count} laid out.` });
    },
    async proposeNext(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(NEXT_JOB, () =>
        asJob(NEXT_JOB, (job) => client.newest('next', 'next.propose', request, { ...job, dropStale: true })),
      );
      if (result)
        set({
          next: { basis: sitingBasis(view), result },
          said: `${plural(result.added.length, 'place')} found.`,
        });
    },
    async searchSite(request) {
      const view = store.get().view;
      if (!view) return;
      const result = await attempt(SITE_JOB, () =>
        asJob(SITE_JOB, (job) => client.newest('site', 'site.search', request, { ...job, dropStale: true })),
      );
      if (!result) return;
      set({
        site: { basis: sitingBasis(view), result, request },
        chosenPlacement: result.ranked.length > 0 ? 0 : null,
        said: `${plural(result.ranked.length, 'placement')} ranked.`,
      });
    },
    async acceptProbes(input) {
      const done = await change(
        'Planning probes',
        () => client.request('plan.accept', input),
        `${plural(input.probes.length, 'probe')} planned.`,
      );
      if (done) set({ plan: null, next: null });
      return done;
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
