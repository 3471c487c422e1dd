/** Control points from the command line, with how well they agree. */
import type { ControlView } from '../contract/requests.ts';
import { importControl } from '../project/import-control.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CommandOutput } from './command.ts';
import { parseCrs, usage } from './flags.ts';

/**
 * @param system as the person wrote it: it has to be a mapped one
 * @throws AppError BAD_USAGE, or as `importControl`
 */
export function importControlPoints(
  store: ProjectStore,
  file: string,
  system: string | undefined,
): CommandOutput {
  const crs = system === undefined ? null : parseCrs(system);
  if (crs?.kind !== 'epsg')
    throw usage('Control points need the mapped system they were measured in, as EPSG:CODE.');
  const control = importControl(store, file, crs.code);
  return { json: { file, control }, text: controlText(control) };
}

export function controlText(control: ControlView | null): string {
  if (control === null) return 'The file names no control point: the grid is untied.';
  const { points, systemName, scale, expectedScale, turnDeg, residuals, standardDeviationM } = control;
  const doubt =
    standardDeviationM === null
      ? 'two points leave nothing over to judge them by'
      : `standard deviation ${standardDeviationM.toFixed(3)} m`;
  return [
    `Grid tied to ${systemName} by ${points.length} points: turned ${turnDeg.toFixed(3)} degrees, scale ${scale.toFixed(6)} (a perfect tape: ${expectedScale.toFixed(6)}); ${doubt}`,
    ...residuals.map(
      (r) => `  ${r.label.padEnd(6)} east ${r.eastM.toFixed(3)} m, north ${r.northM.toFixed(3)} m off`,
    ),
    ...control.warnings.map((warning) => `  ${warning}`),
  ].join('\n');
}
