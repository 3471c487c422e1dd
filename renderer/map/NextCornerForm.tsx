import { useState } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import { parseCoordinate } from '../panels/corners.ts';
import type { Drawing } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { withCorner } from './draw.ts';
import { coordinateUnit, toNative, toProject, usesFeet } from './project-frame.ts';

type Way = 'direction' | 'coordinates' | 'step';

const WAY_NAMES: Record<Way, string> = {
  direction: 'direction, length',
  coordinates: 'coordinates',
  step: 'step from the last',
};

/** The next corner in numbers: what the pointer cannot do exactly, and the keyboard's way to draw. */
export function NextCornerForm({ drawing }: { readonly drawing: Drawing }) {
  const app = useApp();
  const { frame } = useView();
  const [wanted, setWay] = useState<Way>('coordinates');
  const [first, setFirst] = useState('');
  const [second, setSecond] = useState('');
  const [problem, setProblem] = useState<string | null>(null);
  const lastM = drawing.points.at(-1) ?? null;
  // Without a corner there is nothing to measure from.
  const way = lastM === null ? 'coordinates' : wanted;
  const unit = usesFeet(frame) ? 'ft' : 'm';
  const labels: Record<Way, readonly [string, string]> = {
    direction: ['Direction', `Length, ${unit}`],
    coordinates: [`East, ${coordinateUnit(frame)}`, `North, ${coordinateUnit(frame)}`],
    step: [`East, ${coordinateUnit(frame)}`, `North, ${coordinateUnit(frame)}`],
  };

  const place = async (): Promise<PositionM | string> => {
    if (way === 'direction') {
      const result = await app.client.request('traverse.compute', {
        // A field each: the direction cannot run into the length.
        text: `bearing\tdistance\n${first}\t${second}`,
        options: {
          start: toNative(frame, lastM ?? [0, 0]),
          angleUnit: 'deg',
          lengthUnit: unit,
          rule: 'none',
          returns: false,
          turnDeg: 0,
          onGround: false,
        },
      });
      return result.rows[0]?.problem ?? result.pathM[1] ?? 'Give a direction and a length';
    }
    const [x, y] = [parseCoordinate(first), parseCoordinate(second)];
    if (x === null || y === null) return `“${x === null ? first : second}” is not a number`;
    if (way === 'coordinates') return toProject(frame, [x, y]);
    const [east, north] = toNative(frame, lastM ?? [0, 0]);
    return toProject(frame, [east + x, north + y]);
  };

  return (
    <form
      className="next-corner"
      aria-label="Next corner in numbers"
      onSubmit={(event) => {
        event.preventDefault();
        void app.attempt('Placing the corner', place).then((placed) => {
          setProblem(typeof placed === 'string' ? placed : null);
          if (placed === null || typeof placed === 'string') return;
          app.store.update((state) =>
            state.drawing ? { ...state, drawing: withCorner(state.drawing, placed, true) } : state,
          );
          setFirst('');
          setSecond('');
        });
      }}
    >
      <label>
        <span className="visually-hidden">Next corner by</span>
        <select value={way} disabled={lastM === null} onChange={(event) => setWay(event.target.value as Way)}>
          {(Object.keys(WAY_NAMES) as Way[]).map((one) => (
            <option key={one} value={one}>
              {WAY_NAMES[one]}
            </option>
          ))}
        </select>
      </label>
      <label>
        {labels[way][0]}{' '}
        <input
          type="text"
          value={first}
          placeholder={way === 'direction' ? 'N 12-30-00 E' : ''}
          aria-invalid={problem !== null}
          onChange={(event) => setFirst(event.target.value)}
        />
      </label>
      <label>
        {labels[way][1]}{' '}
        <input
          type="text"
          inputMode="decimal"
          value={second}
          aria-invalid={problem !== null}
          onChange={(event) => setSecond(event.target.value)}
        />
      </label>
      <button type="submit" className="quiet" disabled={first.trim() === '' || second.trim() === ''}>
        Place corner
      </button>
      {problem === null ? null : (
        <p className="next-corner-problem" role="alert">
          {problem}.
        </p>
      )}
    </form>
  );
}
