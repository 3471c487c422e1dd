import { useEffect } from 'react';
import { formatArea, formatLength } from '../format.ts';
import { type Drawing, leastCorners } from '../state/app-state.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { measureDrawing, withoutLastCorner } from './draw.ts';
import { NextCornerForm } from './NextCornerForm.tsx';
import { usesFeet } from './project-frame.ts';
import { type Aim, SNAP_WORDS } from './snap.ts';

function targetName(drawing: Drawing): string {
  if (drawing.keepOut) return `Keep-out ${drawing.keepOut.label}`;
  return drawing.target === 'lot' ? 'Lot line' : 'Footprint';
}

function progressText(drawing: Drawing, aim: Aim | null, feet: boolean): string {
  const { corners, lastSideM, perimeterM, areaM2 } = measureDrawing(drawing, aim?.atM ?? null);
  const corner = drawing.shape === 'line' ? 'Point' : 'Corner';
  const held = aim?.kind ? [SNAP_WORDS[aim.kind]] : [];
  if (corners === 0)
    return [`Click the first ${corner.toLowerCase()}, or type it below`, ...held].join(' · ');
  const parts = [`${corner} ${corners + 1}`, ...held];
  if (lastSideM !== null) parts.push(`side ${formatLength(lastSideM, feet)}`);
  if (drawing.shape === 'line' && corners > 1) parts.push(`length ${formatLength(perimeterM, feet)}`);
  if (areaM2 > 0) parts.push(`area ${formatArea(areaM2, feet)}`);
  return parts.join(' · ');
}

export interface DrawingBarProps {
  readonly drawing: Drawing;
  readonly aim: Aim | null;
  readonly onFinish: () => void;
}

export function DrawingBar({ drawing, aim, onFinish }: DrawingBarProps) {
  const app = useApp();
  const aids = useAppState((state) => state.aids);
  const feet = usesFeet(useView().frame);
  const corners = drawing.points.length;

  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const isTyping =
        event.target instanceof HTMLElement && event.target.matches('input[type=text], textarea, select');
      if (isTyping || event.ctrlKey || event.metaKey) return;
      if (event.key === 'Escape') app.store.update((state) => ({ ...state, drawing: null }));
      else if (event.key === 'Enter' && !(event.target instanceof HTMLButtonElement)) onFinish();
      else if (event.key === 's' || event.key === 'r') {
        const aid = event.key === 's' ? 'snap' : 'rightAngles';
        app.store.update((state) => ({ ...state, aids: { ...state.aids, [aid]: !state.aids[aid] } }));
      } else if (event.key === 'Backspace') {
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
        <strong>{targetName(drawing)}</strong> {progressText(drawing, aim, feet)}
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
      <div className="drawing-aids">
        {(
          [
            ['snap', 'Snap', 'S; hold Alt to point freely'],
            ['rightAngles', 'Right angles', 'R'],
          ] as const
        ).map(([aid, name, keys]) => (
          <label key={aid} className="check-line" title={`Key ${keys}`}>
            <input
              type="checkbox"
              checked={aids[aid]}
              onChange={(event) => {
                const isOn = event.target.checked;
                app.store.update((state) => ({ ...state, aids: { ...state.aids, [aid]: isOn } }));
              }}
            />
            {name}
          </label>
        ))}
        <NextCornerForm drawing={drawing} />
      </div>
    </section>
  );
}
