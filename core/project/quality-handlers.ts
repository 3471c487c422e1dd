import type { QualityRequests } from '../contract/quality.ts';
import { listDayLogs, removeDayLog, setDayLog } from './day-log.ts';
import type { Handlers } from './engine.ts';
import type { HandlerTools } from './handler-tools.ts';
import { judgeAtHole } from './hole.ts';
import { importDays } from './import-days.ts';
import { checkLeaving, summariseProject, unloggedDays } from './quality.ts';
import { buildView } from './view.ts';

/** Requests on what crew and office check about a day's samples. */
export function qualityHandlers({
  current,
  change,
  edit,
}: HandlerTools): Pick<Handlers, keyof QualityRequests> {
  return {
    'quality.get': () => summariseProject(current(), buildView(current())),
    'field.leave': () => checkLeaving(current(), buildView(current())),
    'hole.judge': (question) => judgeAtHole(current(), question, new Date().toISOString()),
    'day.list': () => {
      const store = current();
      return { days: listDayLogs(store), unlogged: unloggedDays(store, buildView(store)) };
    },
    'day.set': (input) => edit((store) => setDayLog(store, input)),
    'day.import': ({ path, dryRun }) => {
      const { view, result } = change((store) => importDays(store, path, { dryRun: dryRun ?? false }));
      return { view, report: result };
    },
    'day.remove': ({ id }) => edit((store) => removeDayLog(store, id)),
  };
}
