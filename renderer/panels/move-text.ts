import type { Pose } from '../../core/contract/model.ts';
import { formatLength, trimNumber } from '../format.ts';

/** The shorter way round, left being anticlockwise. */
function turnText(turnDeg: number): string {
  const turn = ((((turnDeg + 180) % 360) + 360) % 360) - 180;
  if (Math.abs(turn) < 0.05) return '';
  return `turned ${trimNumber(Math.abs(turn))}° ${turn > 0 ? 'left' : 'right'}`;
}

/** From where the footprint is drawn. */
export function moveText(pose: Pose, distanceMovedM: number, feet: boolean): string {
  return [
    distanceMovedM < 0.005 ? 'not moved' : formatLength(distanceMovedM, feet, 1),
    turnText(pose.turnDeg),
    pose.mirrored ? 'mirrored' : '',
  ]
    .filter((part) => part !== '')
    .join(', ');
}
