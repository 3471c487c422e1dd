import type { FieldSheetRequests } from '../contract/field-sheets.ts';
import type { Handlers } from './engine.ts';
import { drawSheets, saveReturnTable, saveSheets } from './field-sheets.ts';
import type { HandlerTools } from './handler-tools.ts';
import { computeCurve } from './spacing-curve.ts';
import { setWalkStart } from './walk-start.ts';

/** Paper for the field and back, the walk, and the choice of spacing. */
export function fieldSheetHandlers({
  jobs,
  version,
  current,
  edit,
}: HandlerTools): Pick<Handlers, keyof FieldSheetRequests> {
  return {
    'sheets.save': ({ path, options }, context) =>
      saveSheets(current(), jobs, path, options, context, version),
    'sheets.preview': (input, context) => drawSheets(current(), jobs, input, context, version),
    'sheets.return-table': ({ path, options }, context) =>
      saveReturnTable(current(), jobs, path, options, context),
    'walk.start': ({ native }) => edit((store) => setWalkStart(store, native)),
    'plan.curve': (input, context) => computeCurve(current(), jobs, input, context),
  };
}
