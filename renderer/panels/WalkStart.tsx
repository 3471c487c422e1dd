import type { PositionM, ProjectView } from '../../core/contract/model.ts';
import { useApp, useAppState, useView } from '../state/context.ts';

/** Where a walk starts, as requests take it; absent without a lot. */
export function walkStart(view: ProjectView, corner: number): { startM?: PositionM } {
  const startM = view.lot?.[corner] ?? view.lot?.[0];
  return startM ? { startM } : {};
}

/** The corner of the lot where the car stands. */
export function WalkStart() {
  const app = useApp();
  const view = useView();
  const corner = useAppState((state) => state.walkCorner);
  const corners = view.lot ?? [];
  return (
    <label className="field">
      Walk starts at
      <select
        value={Math.min(corner, Math.max(0, corners.length - 1))}
        disabled={corners.length === 0}
        onChange={(event) =>
          app.store.update((state) => ({ ...state, walkCorner: Number(event.target.value) }))
        }
      >
        {corners.map((point, index) => (
          <option key={point.join(' ')} value={index}>
            corner {index + 1}
            {directionOf(point, corners)}
          </option>
        ))}
      </select>
    </label>
  );
}

/** Which side of the lot's middle the corner lies on, in words. */
function directionOf(point: PositionM, corners: readonly PositionM[]): string {
  const middle = (axis: 0 | 1) => corners.reduce((sum, c) => sum + c[axis], 0) / corners.length;
  const [east, north] = [point[0] - middle(0), point[1] - middle(1)];
  const size = Math.hypot(east, north);
  if (size === 0) return '';
  const words = [
    Math.abs(north) > 0.38 * size ? (north > 0 ? 'north' : 'south') : '',
    Math.abs(east) > 0.38 * size ? (east > 0 ? 'east' : 'west') : '',
  ].filter((word) => word !== '');
  return `, ${words.join('-')}`;
}
