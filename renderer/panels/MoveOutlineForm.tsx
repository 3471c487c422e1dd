import { useMemo, useState } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { toMetres } from '../../core/units.ts';
import { toNative, usesFeet } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';
import { useSketch } from '../state/use-sketch.ts';
import { parseCoordinate } from './corners.ts';
import type { OutlineFormProps } from './OutlineEntry.tsx';

/** Moves a whole outline by an exact step; its shape stays as it is. */
export function MoveOutlineForm({
  name,
  submitText,
  canSubmit,
  onSubmit,
  outlineM,
  isRing,
}: OutlineFormProps & { readonly outlineM: readonly PositionM[]; readonly isRing: boolean }) {
  const { frame } = useView();
  const unit = usesFeet(frame) ? 'ft' : 'm';
  const [eastText, setEast] = useState('0');
  const [northText, setNorth] = useState('0');
  const [east, north] = [parseCoordinate(eastText), parseCoordinate(northText)];
  const movedM = useMemo(() => {
    if (east === null || north === null || (east === 0 && north === 0)) return null;
    const [dx, dy] = [toMetres(east, unit), toMetres(north, unit)];
    return outlineM.map(([x, y]): PositionM => [x + dx, y + dy]);
  }, [outlineM, east, north, unit]);
  useSketch(movedM, isRing);

  return (
    <form
      className="stack"
      aria-label={`Move the ${name}`}
      onSubmit={(event) => {
        event.preventDefault();
        if (movedM && canSubmit) onSubmit(movedM.map((point) => toNative(frame, point)));
      }}
    >
      <div className="row">
        <label className="field number-field">
          East by, {unit}
          <input
            type="text"
            inputMode="decimal"
            value={eastText}
            aria-invalid={east === null}
            onChange={(event) => setEast(event.target.value)}
          />
        </label>
        <label className="field number-field">
          North by, {unit}
          <input
            type="text"
            inputMode="decimal"
            value={northText}
            aria-invalid={north === null}
            onChange={(event) => setNorth(event.target.value)}
          />
        </label>
      </div>
      <div className="form-end">
        <p className="hint">West and south are negative. The map shows where it would go.</p>
        <button type="submit" className="primary" disabled={!movedM || !canSubmit}>
          {submitText}
        </button>
      </div>
    </form>
  );
}
