import type { PositionM, ProjectFrame, ProjectView } from '../../core/contract/model.ts';

export function toNative(frame: ProjectFrame, [xM, yM]: PositionM): [number, number] {
  return [frame.originNative[0] + xM / frame.metresPerUnit, frame.originNative[1] + yM / frame.metresPerUnit];
}

export function toProject(frame: ProjectFrame, [x, y]: readonly [number, number]): PositionM {
  return [
    (x - frame.originNative[0]) * frame.metresPerUnit,
    (y - frame.originNative[1]) * frame.metresPerUnit,
  ];
}

/** A projected system covers a country: until something is placed, the sheet shows no particular ground. */
export function isNowhere({ frame, lot, probes, keepOuts, footprint }: ProjectView): boolean {
  return frame.crs.kind === 'epsg' && !lot && !footprint && probes.length === 0 && keepOuts.length === 0;
}

/** Unit of the coordinates as people write it. */
export function coordinateUnit({ unitLabel }: Pick<ProjectFrame, 'unitLabel'>): string {
  return unitLabel === 'ft-us' ? 'US ft' : unitLabel;
}

/** A project whose coordinates are in feet also shows depths and distances in feet. */
export function usesFeet(frame: ProjectFrame): boolean {
  return frame.metresPerUnit !== 1;
}
