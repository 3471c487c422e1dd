import { useState } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { coordinateUnit, toNative } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';
import { CornerGrid } from './CornerGrid.tsx';
import { MoveOutlineForm } from './MoveOutlineForm.tsx';
import { ParallelForm } from './ParallelForm.tsx';
import { RectangleForm } from './RectangleForm.tsx';
import { TraverseForm } from './TraverseForm.tsx';

type Way = 'corners' | 'courses' | 'rectangle' | 'parallel' | 'move';

const WAY_NAMES: Record<Way, string> = {
  corners: 'Corners',
  courses: 'Bearings and distances',
  rectangle: 'Off two lot lines',
  parallel: 'Parallel',
  move: 'Move',
};

export interface OutlineEntryProps {
  readonly name: 'lot' | 'footprint' | 'keep-out';
  readonly shape?: 'polygon' | 'line';
  readonly initialM: readonly PositionM[];
  readonly submitText: string;
  /** False while something beside the outline is still missing. */
  readonly canSubmit?: boolean;
  /** In the project's own coordinates; `source` says how it was entered, where that is more than corners. */
  readonly onSubmit: (ring: readonly (readonly [number, number])[], source?: string) => void;
}

/** Every way to give an outline in numbers. */
export function OutlineEntry({
  name,
  shape = 'polygon',
  initialM,
  submitText,
  canSubmit = true,
  onSubmit,
}: OutlineEntryProps) {
  const { frame, lot, footprint } = useView();
  const [wanted, setWay] = useState<Way>('corners');
  const ways: Way[] = ['corners'];
  if (shape === 'polygon') ways.push('courses');
  if (name === 'footprint' && lot) ways.push('rectangle');
  if (name !== 'lot' && (lot || footprint)) ways.push('parallel');
  // The footprint has its own place to be moved and turned.
  if (name !== 'footprint' && initialM.length > 0) ways.push('move');
  const way = ways.includes(wanted) ? wanted : 'corners';
  const shared = { name, submitText, canSubmit, onSubmit };

  return (
    <div className="stack">
      <fieldset className="segments">
        <legend className="visually-hidden">How the {name} is entered</legend>
        {ways.map((one) => (
          <label key={one} className="segment">
            <input type="radio" name={`${name}-way`} checked={way === one} onChange={() => setWay(one)} />
            <span>{WAY_NAMES[one]}</span>
          </label>
        ))}
      </fieldset>
      {way === 'corners' ? (
        <CornerGrid
          {...shared}
          shape={shape}
          unitLabel={coordinateUnit(frame)}
          initial={initialM.map((point) => toNative(frame, point))}
        />
      ) : way === 'courses' ? (
        <TraverseForm {...shared} startM={initialM[0] ?? null} />
      ) : way === 'rectangle' ? (
        <RectangleForm {...shared} />
      ) : way === 'parallel' ? (
        <ParallelForm {...shared} shape={shape} />
      ) : (
        <MoveOutlineForm {...shared} outlineM={initialM} isRing={shape === 'polygon'} />
      )}
    </div>
  );
}

/** What each of the ways is told. */
export type OutlineFormProps = Pick<OutlineEntryProps, 'name' | 'submitText' | 'onSubmit'> & {
  readonly canSubmit: boolean;
};
