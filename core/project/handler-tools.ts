import type { ProjectView } from '../contract/model.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { ensureReductions } from './readings.ts';
import { buildView } from './view.ts';

interface Surroundings {
  readonly jobs: JobRunner;
  readonly version: string;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  /** Tells the window that the project has a new revision. */
  readonly onChanged: (revision: number) => void;
}

interface Changed<R> {
  /** The project as it stands after the change. */
  readonly view: ProjectView;
  readonly result: R;
}

/** What the handlers of every topic work with. */
export interface HandlerTools extends Surroundings {
  /** Changes the open project, and tells of the revision where the change made one. */
  readonly change: <R>(work: (store: ProjectStore) => R) => Changed<R>;
  /** As `change`, where only the project afterwards is asked for. */
  readonly edit: (work: (store: ProjectStore) => unknown) => ProjectView;
  /** As `change`; counts that no kept result speaks for are then reduced in a worker. */
  readonly changeAndReduce: <R>(
    work: (store: ProjectStore) => R,
    context: RequestContext,
  ) => Promise<Changed<R>>;
}

export function handlerTools(surroundings: Surroundings): HandlerTools {
  const { jobs, current, onChanged } = surroundings;

  function run<R>(work: (store: ProjectStore) => R): { store: ProjectStore; result: R } {
    const store = current();
    const before = store.revision;
    const result = work(store);
    if (store.revision !== before) onChanged(store.revision);
    return { store, result };
  }

  function change<R>(work: (store: ProjectStore) => R): Changed<R> {
    const { store, result } = run(work);
    return { view: buildView(store), result };
  }

  return {
    ...surroundings,
    change,
    edit: (work) => change(work).view,
    changeAndReduce: async (work, context) => {
      const { store, result } = run(work);
      await ensureReductions(store, jobs, context);
      return { view: buildView(store), result };
    },
  };
}
