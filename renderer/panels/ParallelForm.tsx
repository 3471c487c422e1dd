import { useMemo, useState } from 'react';
import { toMetres } from '../../core/units.ts';
import { formatLength } from '../format.ts';
import { distanceM } from '../map/geometry.ts';
import { toProject, usesFeet } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';
import { useSketch } from '../state/use-sketch.ts';
import { parseCoordinate } from './corners.ts';
import type { OutlineFormProps } from './OutlineEntry.tsx';
import { useLiveAnswer } from './use-live-answer.ts';

/** An outline, or a line, parallel to sides of the lot or the footprint at a distance. */
export function ParallelForm({
  name,
  shape,
  submitText,
  canSubmit,
  onSubmit,
}: OutlineFormProps & { readonly shape: 'polygon' | 'line' }) {
  const { frame, lot, footprint } = useView();
  const feet = usesFeet(frame);
  const unit = feet ? 'ft' : 'm';
  const sources = [
    ...(lot ? (['lot'] as const) : []),
    ...(footprint && name !== 'footprint' ? (['footprint'] as const) : []),
  ];
  const [of, setOf] = useState<'lot' | 'footprint'>(sources[0] ?? 'lot');
  const [chosen, setChosen] = useState<ReadonlySet<number>>(new Set([0]));
  const [text, setText] = useState('3');
  const [isOutside, setOutside] = useState(false);
  const ring = (of === 'lot' ? lot : footprint?.ring) ?? [];
  const distance = parseCoordinate(text);
  const input = useMemo(() => {
    if (distance === null || distance < 0) return null;
    const sides = shape === 'polygon' ? ('all' as const) : [...chosen].filter((side) => side < ring.length);
    if (sides.length === 0) return null;
    return { of, sides, distanceM: toMetres(distance, unit) * (isOutside ? -1 : 1) };
  }, [of, shape, chosen, distance, unit, isOutside, ring.length]);
  const { output, problem } = useLiveAnswer('outline.parallel', 'parallel', input);
  const fits = output !== null && output.shape === shape;
  const sketchM = useMemo(
    () => output?.points.map((point) => toProject(frame, point)) ?? null,
    [output, frame],
  );
  useSketch(sketchM, output?.shape === 'polygon');

  return (
    <form
      className="stack"
      aria-label={`${name} parallel to sides`}
      onSubmit={(event) => {
        event.preventDefault();
        if (output && fits && canSubmit) onSubmit(output.points);
      }}
    >
      <div className="row">
        <label className="field">
          Parallel to the
          <select value={of} onChange={(event) => setOf(event.target.value as 'lot' | 'footprint')}>
            {sources.map((one) => (
              <option key={one} value={one}>
                {one === 'lot' ? 'lot line' : 'footprint'}
              </option>
            ))}
          </select>
        </label>
        <label className="field number-field">
          Distance, {unit}
          <input
            type="text"
            inputMode="decimal"
            value={text}
            aria-invalid={distance === null || distance < 0}
            onChange={(event) => setText(event.target.value)}
          />
        </label>
        <label className="field">
          To the
          <select
            value={isOutside ? 'outside' : 'inside'}
            onChange={(event) => setOutside(event.target.value === 'outside')}
          >
            <option value="inside">inside</option>
            <option value="outside">outside</option>
          </select>
        </label>
      </div>
      {shape === 'line' ? (
        <fieldset className="side-choices">
          <legend>Sides, from corner to corner</legend>
          {ring.map((corner, side) => {
            const next = (side + 1) % ring.length;
            return (
              // biome-ignore lint/suspicious/noArrayIndexKey: a side is its place in the ring
              <label key={side} className="check-line">
                <input
                  type="checkbox"
                  checked={chosen.has(side)}
                  onChange={(event) => {
                    const sides = new Set(chosen);
                    if (event.target.checked) sides.add(side);
                    else sides.delete(side);
                    setChosen(sides);
                  }}
                />
                {side + 1} to {next + 1} ({formatLength(distanceM(corner, ring[next] ?? corner), feet)})
              </label>
            );
          })}
        </fieldset>
      ) : null}
      <div className="form-end">
        <p className="hint" role={problem === null ? undefined : 'alert'}>
          {problem ??
            (output && !fits
              ? 'All sides make an area: choose the shape "Area", or fewer sides.'
              : 'The map shows it as it would be.')}
        </p>
        <button type="submit" className="primary" disabled={!fits || !canSubmit}>
          {submitText}
        </button>
      </div>
    </form>
  );
}
