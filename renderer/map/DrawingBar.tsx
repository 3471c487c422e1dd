import { useEffect } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { formatArea, formatLength } from '../format.ts';
import { type Drawing, leastCorners } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { measureDrawing, withoutLastCorner } from './draw.ts';
import { usesFeet } from './project-frame.ts';

function targetName(drawing: Drawing): string {
  if (drawing.keepOut) return `Keep-out ${drawing.keepOut.label}`;
  return drawing.target === 'lot' ? 'Lot line' : 'Footprint';
}

function progressText(drawing: Drawing, pointerM: PositionM | null, feet: boolean): string {
  const { corners, lastSideM, perimeterM, areaM2 } = measureDrawing(drawing, pointerM);
  const corner = drawing.shape === 'line' ? 'Point' : 'Corner';
  if (corners === 0) return `Click the first ${corner.toLowerCase()}.`;
  const parts = [`${corner} ${corners + 1}`];
  if (lastSideM !== null) parts.push(`side ${formatLength(lastSideM, feet)}`);
  if (drawing.shape === 'line' && corners > 1) parts.push(`length ${formatLength(perimeterM, feet)}`);
  if (areaM2 > 0) parts.push(`area ${formatArea(areaM2, feet)}`);
  return parts.join(' · ');
}

export interface DrawingBarProps {
  readonly drawing: Drawing;
  readonly pointerM: PositionM | null;
  readonly onFinish: () => void;
}

export function DrawingBar({ drawing, pointerM, onFinish }: DrawingBarProps) {
  const app = useApp();
  const feet = usesFeet(useView().frame);
  const corners = drawing.points.length;

  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement) return;
      if (event.key === 'Escape') app.store.update((state) => ({ ...state, drawing: null }));
      else if (event.key === 'Enter' && !(event.target instanceof HTMLButtonElement)) onFinish();
      else if (event.key === 'Backspace') {
        app.store.update((state) =>
          state.drawing ? { ...state, drawing: withoutLastCorner(state.drawing) } : state,
        );
      } else return;
      event.preventDefault();
    };
    window.addEventListener('keydown', onKey);
    return () => window.removeEventListener('keydown', onKey);
  }, [app, onFinish]);

  return (
    <section className="drawing-bar" aria-label={`Drawing: ${targetName(drawing)}`}>
      <p>
        <strong>{targetName(drawing)}</strong> {progressText(drawing, pointerM, feet)}
      </p>
      <button
        type="button"
        className="quiet"
        disabled={corners === 0}
        onClick={() =>
          app.store.update((state) =>
            state.drawing ? { ...state, drawing: withoutLastCorner(state.drawing) } : state,
          )
        }
      >
        Remove last corner
      </button>
      <button
        type="button"
        className="quiet"
        onClick={() => app.store.update((state) => ({ ...state, drawing: null }))}
      >
        Cancel drawing
      </button>
      <button
        type="button"
        className="primary"
        disabled={corners < leastCorners(drawing.shape)}
        onClick={onFinish}
      >
        Finish drawing
      </button>
    </section>
  );
}
