import type { MergeRequests } from '../contract/merge.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import { commitMerge } from './merge-commit.ts';
import { previewMerge } from './merge-plan.ts';
import { withOtherProject } from './open-other.ts';
import { ensureReductions } from './readings.ts';
import { buildView } from './view.ts';

export interface MergeDependencies {
  readonly jobs: JobRunner;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

/** Requests that bring a colleague's project in. */
export function mergeHandlers(deps: MergeDependencies): Pick<Handlers, keyof MergeRequests> {
  return {
    'merge.preview': ({ path }) => {
      const store = deps.current();
      return withOtherProject(store, path, (other) => previewMerge(store, other, path));
    },
    'merge.commit': async ({ path, recordHash, choices }, context) => {
      const store = deps.current();
      const report = withOtherProject(store, path, (other) =>
        commitMerge(store, other, path, recordHash, choices),
      );
      deps.onChanged(store.revision);
      await ensureReductions(store, deps.jobs, context);
      return { view: buildView(store), report };
    },
  };
}
