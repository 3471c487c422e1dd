import { useMemo } from 'react';
import type { Pose } from '../../core/contract/model.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { formatLength } from '../format.ts';
import { isSamePose, placedRing, placementConflicts } from '../map/placement.ts';
import { usesFeet } from '../map/project-frame.ts';
import { standingPose } from '../state/app-state.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { LiveGround } from './LiveGround.tsx';

/** Moves, turns and mirrors the footprint, by hand on the map or by numbers, and says at once what lies under it. */
export function PlacementForm() {
  const app = useApp();
  const view = useView();
  const { footprint, frame, lot, keepOuts } = view;
  const placement = useAppState((state) => state.placement);
  const feet = usesFeet(frame);
  const unit = feet ? 'ft' : 'm';
  const drawn = footprint?.drawnRing ?? null;
  const ring = useMemo(() => (drawn ? placedRing(drawn, placement) : null), [drawn, placement]);
  const conflicts = useMemo(
    () => (ring ? placementConflicts(ring, lot, keepOuts) : []),
    [ring, lot, keepOuts],
  );
  if (!footprint) return null;
  const standing = standingPose(view);
  const isMoved = !isSamePose(placement, standing);
  const set = (part: Partial<Pose>) =>
    app.store.update((state) => ({ ...state, placement: { ...state.placement, ...part } }));
  const movedM = Math.hypot(placement.dxM, placement.dyM);

  return (
    <section className="block" aria-labelledby="site-move">
      <h3 id="site-move">Move the footprint</h3>
      <p>
        Drag it on the map, turn it by its handle, or give numbers from where it is drawn. It is kept only
        when you say so.
      </p>
      <div className="row">
        <NumberInput
          label={`East, ${unit}`}
          value={fromMetres(placement.dxM, unit)}
          least={-10_000}
          most={10_000}
          onChange={(value) => set({ dxM: toMetres(value, unit) })}
        />
        <NumberInput
          label={`North, ${unit}`}
          value={fromMetres(placement.dyM, unit)}
          least={-10_000}
          most={10_000}
          onChange={(value) => set({ dyM: toMetres(value, unit) })}
        />
        <NumberInput
          label="Turn left, °"
          value={placement.turnDeg}
          least={-360}
          most={360}
          onChange={(turnDeg) => set({ turnDeg })}
        />
        <label className="check-line">
          <input
            type="checkbox"
            checked={placement.mirrored}
            onChange={(event) => set({ mirrored: event.target.checked })}
          />
          Mirrored
        </label>
      </div>
      <p className="hint">
        {movedM < 0.005
          ? 'Where it is drawn.'
          : `Moved ${formatLength(movedM, feet, 1)} from where it is drawn.`}
      </p>
      <LiveGround isMoved={isMoved} />
      {conflicts.length > 0 ? (
        <ul className="notice notice-warning" aria-label="In the way">
          {conflicts.map((conflict) => (
            <li key={conflict}>{conflict}</li>
          ))}
        </ul>
      ) : null}
      <div className="form-end">
        <button
          type="button"
          className="quiet"
          disabled={!isMoved}
          onClick={() => app.store.update((state) => ({ ...state, placement: standing }))}
        >
          Put it back
        </button>
        <button
          type="button"
          disabled={!isMoved}
          onClick={() => void app.keepPlacement(null, placement, false)}
        >
          Keep beside the others
        </button>
        <button
          type="button"
          className="primary"
          disabled={!isMoved}
          onClick={() => void app.keepPlacement(null, placement, true)}
        >
          Keep and choose
        </button>
      </div>
    </section>
  );
}
