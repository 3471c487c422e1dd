import type { QualityRequests } from '../contract/quality.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { listDayLogs, removeDayLog, setDayLog } from './day-log.ts';
import type { Handlers } from './engine.ts';
import { judgeAtHole } from './hole.ts';
import { importDays } from './import-days.ts';
import { checkLeaving, summariseProject, unloggedDays } from './quality.ts';
import { buildView } from './view.ts';

export interface QualityDependencies {
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

/** Requests on what crew and office check about a day's samples. */
export function qualityHandlers(deps: QualityDependencies): Pick<Handlers, keyof QualityRequests> {
  function changed(work: (store: ProjectStore) => void) {
    const store = deps.current();
    work(store);
    deps.onChanged(store.revision);
    return buildView(store);
  }

  return {
    'quality.get': () => summariseProject(deps.current(), buildView(deps.current())),
    'field.leave': () => checkLeaving(deps.current(), buildView(deps.current())),
    'hole.judge': (question) => judgeAtHole(deps.current(), question, new Date().toISOString()),
    'day.list': () => {
      const store = deps.current();
      return { days: listDayLogs(store), unlogged: unloggedDays(store, buildView(store)) };
    },
    'day.set': (input) => changed((store) => setDayLog(store, input)),
    'day.import': ({ path, dryRun }) => {
      const store = deps.current();
      const before = store.revision;
      const report = importDays(store, path, { dryRun: dryRun ?? false });
      if (store.revision !== before) deps.onChanged(store.revision);
      return { view: buildView(store), report };
    },
    'day.remove': ({ id }) => changed((store) => removeDayLog(store, id)),
  };
}
