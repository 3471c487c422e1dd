import { useMemo } from 'react';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { formatLength, formatLevel, formatPercent, formatRadon, radonUnitLabel } from '../format.ts';
import { placedRing, placementConflicts, type UnderRing, underRing } from '../map/placement.ts';
import { toNative, usesFeet } from '../map/project-frame.ts';
import { type PlacementDraft, UNMOVED } from '../state/app-state.ts';
import { resultBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';

type Row = readonly [name: string, of: (under: UnderRing) => string];

/** Moves and turns the footprint, by hand on the map or by numbers, and says at once what the surface holds there. */
export function PlacementForm() {
  const app = useApp();
  const view = useView();
  const { footprint, frame, lot, keepOuts, settings } = view;
  const placement = useAppState((state) => state.placement);
  const surface = useAppState((state) => state.surface);
  const feet = usesFeet(frame);
  const unit = feet ? 'ft' : 'm';
  const result = surface?.result ?? null;
  const ring = footprint?.ring ?? null;
  const moved = useMemo(() => (ring ? placedRing(ring, placement) : null), [ring, placement]);
  const before = useMemo(() => (ring && result ? underRing(result, ring) : null), [ring, result]);
  const now = useMemo(() => (moved && result ? underRing(result, moved) : null), [moved, result]);
  const conflicts = useMemo(
    () => (moved ? placementConflicts(moved, lot, keepOuts) : []),
    [moved, lot, keepOuts],
  );
  if (!footprint || !moved) return null;
  const isMoved = moved !== ring;
  const set = (part: Partial<PlacementDraft>) =>
    app.store.update((state) => ({ ...state, placement: { ...state.placement, ...part } }));

  const radon = (valueKBqPerM3: number) => formatRadon(valueKBqPerM3, settings.radonUnit);
  const limit = result?.exceedance?.limitKBqPerM3;
  const rows: Row[] = [
    ['Mean', (under) => radon(under.meanKBqPerM3)],
    ['Third quartile of the cells', (under) => radon(under.upperQuartileKBqPerM3)],
    ['Highest cell', (under) => radon(under.highestKBqPerM3)],
  ];
  if (limit !== undefined && (before?.shareAbove ?? now?.shareAbove ?? null) !== null) {
    rows.push([
      `Ground expected above ${formatLevel(limit, settings.radonUnit)}`,
      (under) => (under.shareAbove === null ? '–' : formatPercent(under.shareAbove)),
    ]);
  }

  return (
    <section className="block" aria-labelledby="site-move">
      <h3 id="site-move">Move the footprint</h3>
      <p>Drag it on the map, or give the move in numbers. It is kept only when you say so.</p>
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
        <p className="hint">
          {isMoved ? `Moved ${formatLength(Math.hypot(placement.dxM, placement.dyM), feet, 1)}.` : ''}
        </p>
      </div>
      {before || now ? (
        <>
          <table className="data" aria-label="Surface under the footprint">
            <thead>
              <tr>
                <th scope="col">Surface under it, {radonUnitLabel(settings.radonUnit)}</th>
                <th scope="col" className="number">
                  As it stands
                </th>
                <th scope="col" className="number">
                  Moved
                </th>
              </tr>
            </thead>
            <tbody>
              {rows.map(([name, of]) => (
                <tr key={name}>
                  <th scope="row">{name}</th>
                  <td className="number">{before ? of(before) : '–'}</td>
                  <td className="number value">{isMoved && now ? of(now) : '–'}</td>
                </tr>
              ))}
            </tbody>
          </table>
          <p className="hint">
            Read from the surface cell by cell, without the doubt of a mean over the footprint: the search
            below judges that. A model, not a class.
            {now && now.offSurface > 0.005
              ? ` ${formatPercent(now.offSurface)} of it lies where there is no estimate.`
              : ''}
            {surface?.basis === resultBasis(view)
              ? ''
              : ' The surface is out of date: work it out again in Map.'}
          </p>
        </>
      ) : (
        <p className="hint">
          {result
            ? 'There is no estimate under it.'
            : 'Work out the surface in Map to see here what it holds under the footprint.'}
        </p>
      )}
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
          onClick={() => app.store.update((state) => ({ ...state, placement: UNMOVED }))}
        >
          Put it back
        </button>
        <button
          type="button"
          className="primary"
          disabled={!isMoved}
          onClick={() =>
            void app.setFootprint(
              footprint.label,
              moved.map((corner) => toNative(frame, corner)),
            )
          }
        >
          Keep this placement
        </button>
      </div>
    </section>
  );
}
