import type { ProjectFrame } from '../contract/model.ts';
import { isFootFrame } from '../contract/project-words.ts';
import { fromMetres } from '../units.ts';

/** Units that the crew writes in: those of the project's coordinates. */
export interface SheetUnits {
  readonly length: 'm' | 'ft';
  readonly suction: string;
  readonly volume: string;
  readonly flow: string;
}

export function sheetUnits(frame: ProjectFrame): SheetUnits {
  const common = { volume: 'mL', flow: 'mL/min' };
  return isFootFrame(frame)
    ? { length: 'ft', suction: 'in. H2O', ...common }
    : { length: 'm', suction: 'kPa', ...common };
}

export function depthText(depthM: number | null, frame: ProjectFrame): string {
  if (depthM === null) return '–';
  const { length } = sheetUnits(frame);
  return `${fromMetres(depthM, length).toFixed(2)} ${length}`;
}

export function lengthText(valueM: number, frame: ProjectFrame): string {
  const { length } = sheetUnits(frame);
  return `${fromMetres(valueM, length).toFixed(0)} ${length}`;
}

/** Coordinates as a receiver shows them: to the centimetre, or a hundredth of a foot. */
export function placeText([x, y]: readonly [number, number]): readonly [string, string] {
  return [`E ${x.toFixed(2)}`, `N ${y.toFixed(2)}`];
}
