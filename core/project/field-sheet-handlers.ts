import type { FieldSheetRequests } from '../contract/field-sheets.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import { drawSheets, saveReturnTable, saveSheets } from './field-sheets.ts';
import { computeCurve } from './spacing-curve.ts';
import { buildView } from './view.ts';
import { setWalkStart } from './walk-start.ts';

export interface FieldSheetDependencies {
  readonly jobs: JobRunner;
  readonly version: string;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

/** Paper for the field and back, the walk, and the choice of spacing. */
export function fieldSheetHandlers(deps: FieldSheetDependencies): Pick<Handlers, keyof FieldSheetRequests> {
  return {
    'sheets.save': ({ path, options }, context) =>
      saveSheets(deps.current(), deps.jobs, path, options, context, deps.version),
    'sheets.preview': (input, context) => drawSheets(deps.current(), deps.jobs, input, context, deps.version),
    'sheets.return-table': ({ path, options }, context) =>
      saveReturnTable(deps.current(), deps.jobs, path, options, context),
    'walk.start': ({ native }) => {
      const store = deps.current();
      setWalkStart(store, native);
      deps.onChanged(store.revision);
      return buildView(store);
    },
    'plan.curve': (input, context) => computeCurve(deps.current(), deps.jobs, input, context),
  };
}
