import { useEffect } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { formatArea, formatLength } from '../format.ts';
import type { Drawing } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { measureDrawing, withoutLastCorner } from './draw.ts';
import { usesFeet } from './project-frame.ts';

export interface DrawingBarProps {
  readonly drawing: Drawing;
  readonly pointerM: PositionM | null;
  readonly onFinish: () => void;
}

export function DrawingBar({ drawing, pointerM, onFinish }: DrawingBarProps) {
  const app = useApp();
  const feet = usesFeet(useView().frame);
  const measures = measureDrawing(drawing, pointerM);

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
    <section
      className="drawing-bar"
      aria-label={`Drawing the ${drawing.target === 'lot' ? 'lot line' : 'footprint'}`}
    >
      <p>
        <strong>{drawing.target === 'lot' ? 'Lot line' : 'Footprint'}</strong>{' '}
        {measures.corners === 0
          ? 'Click the first corner.'
          : `Corner ${measures.corners + 1}${measures.lastSideM === null ? '' : ` · side ${formatLength(measures.lastSideM, feet)}`}${
              measures.areaM2 > 0 ? ` · area ${formatArea(measures.areaM2, feet)}` : ''
            }`}
      </p>
      <button
        type="button"
        className="quiet"
        disabled={measures.corners === 0}
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
      <button type="button" className="primary" disabled={measures.corners < 3} onClick={onFinish}>
        Finish drawing
      </button>
    </section>
  );
}
