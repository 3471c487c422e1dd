import { useMemo, useState } from 'react';
import { fromMetres, toMetres } from '../../core/units.ts';
import { WarningList } from '../components/Notice.tsx';
import { NumberInput } from '../components/NumberInput.tsx';
import { formatLength } from '../format.ts';
import { distanceM } from '../map/geometry.ts';
import { toProject, usesFeet } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';
import { useSketch } from '../state/use-sketch.ts';
import type { OutlineFormProps } from './OutlineEntry.tsx';
import { useLiveAnswer } from './use-live-answer.ts';

/** A rectangular footprint by its sizes and its clear distances from two lot lines, as a site plan gives it. */
export function RectangleForm({ name, submitText, canSubmit, onSubmit }: OutlineFormProps) {
  const { frame, lot } = useView();
  const feet = usesFeet(frame);
  const unit = feet ? 'ft' : 'm';
  const ring = lot ?? [];
  const [input, setInput] = useState(() => ({
    side: 0,
    distanceM: toMetres(feet ? 16 : 5, unit),
    otherSide: ring.length - 1,
    otherDistanceM: toMetres(feet ? 10 : 3, unit),
    widthM: toMetres(feet ? 40 : 12, unit),
    depthM: toMetres(feet ? 30 : 9, unit),
  }));
  const { output, problem } = useLiveAnswer('outline.rectangle', 'rectangle', input);
  const sketchM = useMemo(
    () => output?.ring.map((point) => toProject(frame, point)) ?? null,
    [output, frame],
  );
  useSketch(sketchM, true);
  const set = (part: Partial<typeof input>) => setInput((now) => ({ ...now, ...part }));
  const sideSelect = (label: string, value: number, onChange: (side: number) => void) => (
    <label className="field">
      {label}
      <select value={value} onChange={(event) => onChange(Number(event.target.value))}>
        {ring.map((corner, side) => {
          const next = (side + 1) % ring.length;
          return (
            // biome-ignore lint/suspicious/noArrayIndexKey: a side is its place in the ring
            <option key={side} value={side}>
              {side + 1} to {next + 1} ({formatLength(distanceM(corner, ring[next] ?? corner), feet)})
            </option>
          );
        })}
      </select>
    </label>
  );
  const length = (label: string, valueM: number, least: number, onChange: (valueM: number) => void) => (
    <NumberInput
      label={`${label}, ${unit}`}
      value={fromMetres(valueM, unit)}
      least={least}
      most={10_000}
      onChange={(value) => onChange(toMetres(value, unit))}
    />
  );

  return (
    <form
      className="stack"
      aria-label={`${name} by distances from lot lines`}
      onSubmit={(event) => {
        event.preventDefault();
        if (output && canSubmit) onSubmit(output.ring);
      }}
    >
      <div className="row">
        {sideSelect('Parallel to the lot line from corner', input.side, (side) => set({ side }))}
        {length('Clear by', input.distanceM, 0, (value) => set({ distanceM: value }))}
      </div>
      <div className="row">
        {sideSelect('Beside the lot line from corner', input.otherSide, (side) => set({ otherSide: side }))}
        {length('Clear of it by', input.otherDistanceM, 0, (value) => set({ otherDistanceM: value }))}
      </div>
      <div className="row">
        {length('Length along', input.widthM, 0.01, (value) => set({ widthM: value }))}
        {length('Depth', input.depthM, 0.01, (value) => set({ depthM: value }))}
      </div>
      <WarningList warnings={output?.notes ?? []} label="Notes on the footprint" />
      <div className="form-end">
        <p className="hint" role={problem === null ? undefined : 'alert'}>
          {problem ??
            'Corners are numbered as in the list of the lot line. The map shows where it would stand.'}
        </p>
        <button type="submit" className="primary" disabled={!output || !canSubmit}>
          {submitText}
        </button>
      </div>
    </form>
  );
}
