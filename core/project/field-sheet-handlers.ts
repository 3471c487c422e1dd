import type { FieldSheetRequests } from '../contract/field-sheets.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import { drawSheets, saveReturnTable, saveSheets } from './field-sheets.ts';
import { computeCurve } from './spacing-curve.ts';

export interface FieldSheetDependencies {
  readonly jobs: JobRunner;
  readonly version: string;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
}

/** Paper for the field and back, and the choice of spacing. Nothing is written into the project. */
export function fieldSheetHandlers(deps: FieldSheetDependencies): Pick<Handlers, keyof FieldSheetRequests> {
  return {
    'sheets.save': ({ path, options }, context) =>
      saveSheets(deps.current(), deps.jobs, path, options, context, deps.version),
    'sheets.preview': (input, context) => drawSheets(deps.current(), deps.jobs, input, context, deps.version),
    'sheets.return-table': ({ path, options }, context) =>
      saveReturnTable(deps.current(), deps.jobs, path, options, context),
    'plan.curve': (input, context) => computeCurve(deps.current(), deps.jobs, input, context),
  };
}
