import { useState } from 'react';
import type { ControlPointView, ControlView, CrsChoice } from '../../core/contract/requests.ts';
import { WarningList } from '../components/Notice.tsx';
import { formatNumber, plural } from '../format.ts';
import { coordinateUnit } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { useAnswer } from '../state/use-answer.ts';
import { CrsSearch, isProjected } from './CrsSearch.tsx';
import { parseCoordinate } from './corners.ts';

const CELLS = ['localX', 'localY', 'mappedX', 'mappedY'] as const;
type Cell = (typeof CELLS)[number];
type PointTexts = Readonly<Record<Cell | 'label', string>>;

const CELL_NAMES: Record<Cell, string> = {
  localX: 'local x',
  localY: 'local y',
  mappedX: 'mapped east',
  mappedY: 'mapped north',
};
const EMPTY: PointTexts = { label: '', localX: '', localY: '', mappedX: '', mappedY: '' };
const LEAST_POINTS = 2;

function textsOf(control: ControlView | null): PointTexts[] {
  const points = (control?.points ?? []).map(({ label, local, mapped }) => ({
    label,
    localX: String(local[0]),
    localY: String(local[1]),
    mappedX: String(mapped[0]),
    mappedY: String(mapped[1]),
  }));
  while (points.length < LEAST_POINTS) points.push({ ...EMPTY, label: `C${points.length + 1}` });
  return points;
}

/** The points that are filled in, or what is still missing, in words. */
function pointsOf(rows: readonly PointTexts[]): readonly ControlPointView[] | string {
  const points: ControlPointView[] = [];
  for (const row of rows) {
    if (CELLS.every((cell) => row[cell].trim() === '')) continue;
    const numbers = CELLS.map((cell) => parseCoordinate(row[cell]));
    const bad = CELLS.find((_, i) => numbers[i] === null);
    if (bad !== undefined) return `${row.label}: ${CELL_NAMES[bad]} “${row[bad]}” is not a number.`;
    const [x = 0, y = 0, east = 0, north = 0] = numbers as number[];
    points.push({ label: row.label.trim(), local: [x, y], mapped: [east, north] });
  }
  if (points.some(({ label }) => label === '')) return 'Give each point a name.';
  return points.length < LEAST_POINTS ? 'Two points are needed; a third shows whether they agree.' : points;
}

/** Ties a grid of tape and compass to the map, with how well its points agree. */
export function ControlPoints() {
  const answer = useAnswer('control.get', 'Reading the control points');
  if (answer === null) return null;
  const { control } = answer;
  return (
    <>
      <h4>Control points</h4>
      {control ? <ControlFit control={control} /> : <p>The local grid is not tied to the map.</p>}
      <ControlForm key={JSON.stringify(control?.points ?? null)} control={control} />
    </>
  );
}

/** The short way round. */
const turnText = (turnDeg: number) =>
  turnDeg > 180 ? `${(360 - turnDeg).toFixed(2)}° anticlockwise` : `${turnDeg.toFixed(2)}° clockwise`;

/** To the millimetre, zero without a sign. */
const metres = (valueM: number) => (Math.round(valueM * 1000) / 1000 || 0).toFixed(3).replace('-', '−');

function ControlFit({ control }: { control: ControlView }) {
  const { residuals, standardDeviationM, scale, expectedScale, turnDeg, systemName, warnings } = control;
  return (
    <>
      <dl className="facts">
        <div>
          <dt>Tied to</dt>
          <dd>{systemName}</dd>
        </div>
        <div>
          <dt>Turned</dt>
          <dd>its north is {turnText(turnDeg)} of grid north</dd>
        </div>
        <div>
          <dt>Scale</dt>
          <dd>
            {scale.toFixed(5)}; a perfect tape would give {expectedScale.toFixed(5)}
          </dd>
        </div>
        <div>
          <dt>Agreement</dt>
          <dd>
            {standardDeviationM === null
              ? 'two points leave nothing over to judge by'
              : `standard deviation ${formatNumber(standardDeviationM)} m`}
          </dd>
        </div>
      </dl>
      {standardDeviationM === null ? null : (
        <table className="data" aria-label="Residuals of the control points">
          <thead>
            <tr>
              <th scope="col">Fitted less given</th>
              <th scope="col" className="number">
                East, m
              </th>
              <th scope="col" className="number">
                North, m
              </th>
              <th scope="col" className="number">
                Off by, m
              </th>
            </tr>
          </thead>
          <tbody>
            {residuals.map(({ label, eastM, northM, lengthM }) => (
              <tr key={label}>
                <th scope="row">{label}</th>
                <td className="number">{metres(eastM)}</td>
                <td className="number">{metres(northM)}</td>
                <td className="number value">{metres(lengthM)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <WarningList warnings={warnings} label="Control point warnings" />
    </>
  );
}

function ControlForm({ control }: { control: ControlView | null }) {
  const app = useApp();
  const { frame } = useView();
  const [rows, setRows] = useState(() => textsOf(control));
  const [chosen, setChosen] = useState<CrsChoice | null>(null);
  const code = isProjected(chosen) ? chosen.code : chosen === null ? (control?.code ?? null) : null;
  const mappedUnit = isProjected(chosen) ? `, ${coordinateUnit(chosen)}` : '';
  const points = pointsOf(rows);
  const missing = typeof points === 'string' ? points : code === null ? 'Choose a projected system.' : null;
  const change = (index: number, part: Partial<PointTexts>) =>
    setRows((now) => now.map((row, i) => (i === index ? { ...row, ...part } : row)));

  return (
    <details>
      <summary>{control ? 'Change the control points' : 'Tie the grid to the map'}</summary>
      <form
        className="stack details-row"
        onSubmit={(event) => {
          event.preventDefault();
          if (typeof points !== 'string' && code !== null) void app.setControl({ code, points });
        }}
      >
        <CrsSearch
          chosen={chosen}
          onChoose={setChosen}
          {...(control ? { current: `Tied to ${control.systemName}.` } : {})}
        />
        <table className="data corners" aria-label="Control points">
          <thead>
            <tr>
              <th scope="col">Point</th>
              <th scope="col">Local x, {coordinateUnit(frame)}</th>
              <th scope="col">Local y, {coordinateUnit(frame)}</th>
              <th scope="col">Mapped east{mappedUnit}</th>
              <th scope="col">Mapped north{mappedUnit}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row, index) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: a point is its place in the table
              <tr key={index}>
                <td>
                  <input
                    type="text"
                    aria-label={`Control point ${index + 1} name`}
                    value={row.label}
                    maxLength={60}
                    onChange={(event) => change(index, { label: event.target.value })}
                  />
                </td>
                {CELLS.map((cell) => (
                  <td key={cell}>
                    <input
                      type="text"
                      inputMode="decimal"
                      aria-label={`Control point ${index + 1} ${CELL_NAMES[cell]}`}
                      value={row[cell]}
                      onChange={(event) => change(index, { [cell]: event.target.value })}
                    />
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
        <div className="form-end">
          <button
            type="button"
            className="quiet"
            onClick={() => setRows((now) => [...now, { ...EMPTY, label: `C${now.length + 1}` }])}
          >
            Add point
          </button>
          <p className="hint" aria-live="polite">
            {missing ?? `${plural(typeof points === 'string' ? 0 : points.length, 'point')}.`}
          </p>
          {control ? (
            <button type="button" onClick={() => void app.setControl({ code: control.code, points: [] })}>
              Untie
            </button>
          ) : null}
          <button type="submit" className="primary" disabled={missing !== null}>
            Set control points
          </button>
        </div>
      </form>
    </details>
  );
}
