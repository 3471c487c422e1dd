/** All that comes in from files: the sample sheet, tables of counts and instruments, outlines and places. */
import type { MergePreview, MergeReport } from '../../core/contract/merge.ts';
import type { ProjectView } from '../../core/contract/model.ts';
import type { DaysReport } from '../../core/contract/quality.ts';
import type { InstrumentsReport, ReadingsReport } from '../../core/contract/readings.ts';
import type { ImportOptions, Input } from '../../core/contract/requests.ts';
import { DroppedReply } from '../client.ts';
import { plural } from '../format.ts';
import type { AppKit, JobOptions } from './app.ts';
import { type Problem, withView } from './app-state.ts';
import { problemOf } from './problem.ts';

/** What tables beside the sample sheet bring: counting intervals, what counted them, and the logs of the days. */
export interface TableReports {
  readonly readings: ReadingsReport;
  readonly instruments: InstrumentsReport;
  readonly days: DaysReport;
}
export type SideTable = keyof TableReports;
/** A table that was looked through, or taken in. */
export type LookedTable = {
  [W in SideTable]: { readonly what: W; readonly report: TableReports[W] };
}[SideTable];

const DOING: Readonly<Record<SideTable, string>> = {
  readings: 'Importing counts',
  instruments: 'Importing instruments',
  days: 'Importing logs of days',
};

export interface Intake {
  previewImport(path: string, options: ImportOptions): Promise<void>;
  commitImport(): Promise<boolean>;
  /** Looks through a table without taking it in. */
  lookThrough(what: SideTable, path: string): Promise<LookedTable | null>;
  /** What a colleague's project would bring; nothing is taken in. */
  previewMerge(path: string): Promise<MergePreview | null>;
  commitMerge(input: Input<'merge.commit'>): Promise<MergeReport | null>;
  /** Keeps a scheme file in the project and judges by it. */
  importScheme(path: string): Promise<boolean>;
  removeScheme(sha256: string): Promise<boolean>;
  takeIn(what: SideTable, path: string): Promise<LookedTable | null>;
  /** What a file could not give is told to the caller, who can ask again with more said. */
  importGeometry(
    input: Input<'geometry.import'>,
  ): Promise<{ readonly problem: Problem | null; readonly notes: readonly string[] }>;
}

const TAKEN: Record<Input<'geometry.import'>['what'], (added: number) => string> = {
  lot: () => 'Lot line',
  footprint: () => 'Footprint',
  'keep-out': (added) => plural(added, 'keep-out'),
  probes: (added) => plural(added, 'planned probe'),
};

export function createIntake({ store, client, attempt, asJob, change }: AppKit): Intake {
  async function importTable(
    what: SideTable,
    input: Input<'readings.import'>,
    options?: JobOptions,
  ): Promise<{ readonly view: ProjectView; readonly table: LookedTable }> {
    if (what === 'readings') {
      const { view, report } = await client.request('readings.import', input, options);
      return { view, table: { what, report } };
    }
    if (what === 'instruments') {
      const { view, report } = await client.request('instrument.import', input, options);
      return { view, table: { what, report } };
    }
    const { view, report } = await client.request('day.import', input, options);
    return { view, table: { what, report } };
  }

  return {
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
        if (store.get().pendingImport?.preview === null && store.get().problem)
          store.update((state) => ({ ...state, pendingImport: null }));
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
      return found?.table ?? null;
    },
    previewMerge: (path) =>
      attempt('Reading the other project', () => client.request('merge.preview', { path })),
    async commitMerge(input) {
      const doing = 'Bringing the project in';
      const done = await attempt(doing, () =>
        asJob(doing, (job) => client.request('merge.commit', input, job)),
      );
      if (!done) return null;
      store.update((state) => ({
        ...withView(state, done.view),
        fitCount: state.fitCount + 1,
        said: `${done.report.file} brought in.`,
      }));
      return done.report;
    },
    importScheme: (path) =>
      change(
        'Importing the scheme',
        () => client.request('scheme.import', { path }),
        'Scheme kept in the project and chosen.',
      ),
    removeScheme: (sha256) =>
      change(
        'Taking the scheme out',
        () => client.request('scheme.remove', { sha256 }),
        'Scheme file taken out.',
      ),
    async takeIn(what, path) {
      const doing = DOING[what];
      const done = await attempt(doing, () => asJob(doing, (job) => importTable(what, { path }, job)));
      if (!done) return null;
      const { view, table } = done;
      store.update((state) => ({ ...withView(state, view), said: `${table.report.file} taken in.` }));
      return table;
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
          said: `${TAKEN[input.what](added)} taken in.`,
        }));
        return { problem: null, notes };
      } catch (error) {
        if (error instanceof DroppedReply) return { problem: null, notes: [] };
        return { problem: problemOf('Reading the file', error), notes: [] };
      }
    },
  };
}
