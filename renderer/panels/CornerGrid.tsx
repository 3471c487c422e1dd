import { useState } from 'react';
import { type CornerText, checkCorners, parsePastedCorners } from './corners.ts';

export interface CornerGridProps {
  readonly name: string;
  readonly shape?: 'polygon' | 'line';
  readonly unitLabel: string;
  readonly initial: readonly (readonly [number, number])[];
  readonly submitText: string;
  /** False while something beside the corners is still missing. */
  readonly canSubmit?: boolean;
  readonly onSubmit: (ring: readonly (readonly [number, number])[]) => void;
}

const EMPTY: CornerText = { x: '', y: '' };
const LEAST_ROWS = 4;

function textOf(ring: readonly (readonly [number, number])[]): CornerText[] {
  const rows = ring.map(([x, y]) => ({ x: String(Number(x.toFixed(4))), y: String(Number(y.toFixed(4))) }));
  while (rows.length < LEAST_ROWS) rows.push(EMPTY);
  return rows;
}

/** Corners in native coordinates, typed or pasted; the keyboard's way to what clicks on the map do. */
export function CornerGrid({
  name,
  shape = 'polygon',
  unitLabel,
  initial,
  submitText,
  canSubmit = true,
  onSubmit,
}: CornerGridProps) {
  const [corners, setCorners] = useState(() => textOf(initial));
  const [asked, setAsked] = useState(false);
  const { ring, missing } = checkCorners(corners, shape);

  const change = (index: number, part: Partial<CornerText>) =>
    setCorners((now) => now.map((corner, i) => (i === index ? { ...corner, ...part } : corner)));

  const paste = (index: number, event: React.ClipboardEvent) => {
    const pasted = parsePastedCorners(event.clipboardData.getData('text'));
    if (!pasted) return;
    event.preventDefault();
    setCorners((now) => {
      const next = [...now];
      pasted.forEach((corner, i) => {
        next[index + i] = corner;
      });
      return next;
    });
  };

  return (
    <form
      className="corner-grid"
      onSubmit={(event) => {
        event.preventDefault();
        setAsked(true);
        if (missing === null && canSubmit) onSubmit(ring);
      }}
    >
      <table className="data corners" aria-label={`Corners of the ${name}`}>
        <thead>
          <tr>
            <th scope="col">Corner</th>
            <th scope="col">East, {unitLabel}</th>
            <th scope="col">North, {unitLabel}</th>
            <th scope="col">
              <span className="visually-hidden">Remove</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {corners.map((corner, index) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: a corner is its place in the ring
            <tr key={index}>
              <th scope="row">{index + 1}</th>
              {(['x', 'y'] as const).map((axis) => (
                <td key={axis}>
                  <input
                    type="text"
                    inputMode="decimal"
                    aria-label={`${name} corner ${index + 1} ${axis === 'x' ? 'east' : 'north'}`}
                    value={corner[axis]}
                    onChange={(event) => change(index, { [axis]: event.target.value })}
                    onPaste={(event) => paste(index, event)}
                  />
                </td>
              ))}
              <td>
                <button
                  type="button"
                  className="quiet small"
                  aria-label={`Remove ${name} corner ${index + 1}`}
                  onClick={() => setCorners((now) => now.filter((_, i) => i !== index))}
                >
                  ×
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <div className="form-end">
        <button type="button" className="quiet" onClick={() => setCorners((now) => [...now, EMPTY])}>
          Add corner
        </button>
        <p className="hint" role={asked && missing !== null ? 'alert' : undefined}>
          {missing ??
            (shape === 'line'
              ? `${ring.length} points.`
              : `${ring.length} corners. The last joins the first.`)}
        </p>
        <button type="submit" className="primary" disabled={missing !== null || !canSubmit}>
          {submitText}
        </button>
      </div>
    </form>
  );
}
