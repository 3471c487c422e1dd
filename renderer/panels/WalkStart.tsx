import { useEffect, useState } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { coordinateUnit, toNative } from '../map/project-frame.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { parseCoordinate } from './corners.ts';

const OWN_PLACE = 'own';

/** Where the car stands: a corner of the lot, or a place pointed at or typed. Kept in the project. */
export function WalkStart() {
  const app = useApp();
  const { lot, walkStart, frame } = useView();
  const picking = useAppState((state) => state.picking);
  const corners = lot ?? [];
  const held = walkStart?.positionM ?? null;
  const corner =
    held === null ? 0 : corners.findIndex((c) => Math.hypot(c[0] - held[0], c[1] - held[1]) < 0.001);
  const [asked, setAsked] = useState(false);
  const isOwn = asked || corner < 0;
  const [texts, setTexts] = useState<readonly [string, string]>(['', '']);
  useEffect(() => {
    const native = walkStart?.native;
    if (native) setTexts([native[0].toFixed(3), native[1].toFixed(3)]);
  }, [walkStart?.native]);
  useEffect(() => () => app.store.update((state) => ({ ...state, picking: null })), [app]);
  const typed = [parseCoordinate(texts[0]), parseCoordinate(texts[1])] as const;
  const [x, y] = typed;

  return (
    <>
      <label className="field">
        Walk starts at
        <select
          value={isOwn ? OWN_PLACE : String(corner)}
          onChange={(event) => {
            const { value } = event.target;
            setAsked(value === OWN_PLACE);
            const at = corners[Number(value)];
            if (value === OWN_PLACE || at === undefined) return;
            void app.setWalkStart(value === '0' ? null : toNative(frame, at));
          }}
        >
          {corners.map((point, index) => (
            <option key={point.join(' ')} value={index}>
              corner {index + 1}
              {directionOf(point, corners)}
            </option>
          ))}
          <option value={OWN_PLACE}>another place</option>
        </select>
      </label>
      {isOwn ? (
        <div className="row">
          {(['East', 'North'] as const).map((name, axis) => (
            <label key={name} className="field number-field">
              {name}, {coordinateUnit(frame)}
              <input
                type="text"
                inputMode="decimal"
                value={texts[axis]}
                aria-invalid={texts[axis] !== '' && typed[axis] === null}
                onChange={(event) =>
                  setTexts((now) => now.with(axis, event.target.value) as [string, string])
                }
              />
            </label>
          ))}
          <button
            type="button"
            disabled={x === null || y === null}
            onClick={() => {
              if (x !== null && y !== null) void app.setWalkStart([x, y]);
            }}
          >
            Set start
          </button>
          <button
            type="button"
            className="quiet"
            aria-pressed={picking !== null}
            onClick={() =>
              app.store.update((state) => ({
                ...state,
                picking: state.picking
                  ? null
                  : (positionM) => void app.setWalkStart(toNative(frame, positionM)),
              }))
            }
          >
            {picking ? 'Click where the car stands …' : 'Point at it on the map'}
          </button>
        </div>
      ) : null}
    </>
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
