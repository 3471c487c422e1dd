import { useEffect, useMemo, useRef, useState } from 'react';
import type { SitePlanPoint, SitePlanView } from '../../core/contract/site-plans.ts';
import { fromMetres } from '../../core/units.ts';
import { WarningList } from '../components/Notice.tsx';
import { formatLength, trimNumber } from '../format.ts';
import { coordinateUnit, toNative, usesFeet } from '../map/project-frame.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { usePicture } from '../state/use-site-plans.ts';
import { parseCoordinate } from './corners.ts';
import { useLiveAnswer } from './use-live-answer.ts';

interface PointText {
  readonly label: string;
  readonly column: string;
  readonly row: string;
  readonly x: string;
  readonly y: string;
}

type Field = 'column' | 'row' | 'x' | 'y';
type Placing = Pick<SitePlanView, 'fit' | 'points'>;

const FIELD_NAMES: Record<Field, string> = { column: 'column', row: 'row', x: 'east', y: 'north' };
const ZOOMS = [1, 2, 4, 8] as const;

function textOf({ label, pixel, native }: SitePlanPoint): PointText {
  const text = (value: number) => trimNumber(value, 12).replace('−', '-');
  return { label, column: text(pixel[0]), row: text(pixel[1]), x: text(native[0]), y: text(native[1]) };
}

/** Points with all four numbers; the others are still being entered. */
function wholePoints(texts: readonly PointText[]): SitePlanPoint[] {
  return texts.flatMap(({ label, ...cells }) => {
    const [column, row, x, y] = [cells.column, cells.row, cells.x, cells.y].map(parseCoordinate);
    if (column == null || row == null || x == null || y == null) return [];
    return [{ label, pixel: [column, row] as const, native: [x, y] as const }];
  });
}

export interface SitePlanPlacingProps {
  readonly plan: SitePlanView;
  readonly onPlace: (placing: Placing) => Promise<void>;
  readonly onClose: () => void;
}

/** Places a picture by points seen in it and known on the ground, with what each is off by; shown on the map at once. */
export function SitePlanPlacing({ plan, onPlace, onClose }: SitePlanPlacingProps) {
  const app = useApp();
  const { frame } = useView();
  const feet = usesFeet(frame);
  const picking = useAppState((state) => state.picking);
  const { canvas, problem: pictureProblem } = usePicture(plan);
  const [texts, setTexts] = useState<readonly PointText[]>(() => plan.points.map(textOf));
  const [fit, setFit] = useState(plan.fit);
  const points = useMemo(() => wholePoints(texts), [texts]);
  const least = fit === 'affine' ? 3 : 2;
  const input = useMemo(
    () => (points.length < least ? null : { id: plan.id, fit, points }),
    [plan.id, fit, points, least],
  );
  const { output, problem } = useLiveAnswer('site-plan.try', 'site-plan-try', input);
  const tried = input === null ? null : (output?.plan ?? null);
  useEffect(() => {
    app.store.update((state) => ({ ...state, triedSitePlan: tried }));
    return () => app.store.update((state) => ({ ...state, triedSitePlan: null, picking: null }));
  }, [app, tried]);

  const change = (index: number, part: Partial<PointText>) =>
    setTexts((now) => now.map((text, i) => (i === index ? { ...text, ...part } : text)));
  const pickOnMap = (index: number) =>
    app.store.update((state) => ({
      ...state,
      picking: (positionM) => {
        const [x, y] = toNative(frame, positionM);
        change(index, { x: x.toFixed(3), y: y.toFixed(3) });
      },
    }));
  const residualOf = (label: string) => tried?.residuals.find((one) => one.label === label) ?? null;

  return (
    <section className="stack inset-form" aria-label={`Place ${plan.label}`}>
      <p>
        Click a point in the picture, then say where it lies: by its coordinates, or by pointing at it on the
        map. Two points at least, far apart; a third shows a slip.
      </p>
      {pictureProblem ? <p className="notice notice-error">{pictureProblem}</p> : null}
      <PlanPicture
        plan={plan}
        canvas={canvas}
        points={texts}
        onPoint={(column, row) =>
          setTexts((now) => {
            const open = now.findIndex((text) => text.column === '' && text.row === '');
            const pixel = { column: column.toFixed(1), row: row.toFixed(1) };
            if (open >= 0) return now.map((text, i) => (i === open ? { ...text, ...pixel } : text));
            return [...now, { label: nextLabel(now), ...pixel, x: '', y: '' }];
          })
        }
      />
      <div className="course-rows">
        <table className="data corners" aria-label="Control points of the site plan">
          <thead>
            <tr>
              <th scope="col">Point</th>
              <th scope="col">Column</th>
              <th scope="col">Row</th>
              <th scope="col">East, {coordinateUnit(frame)}</th>
              <th scope="col">North, {coordinateUnit(frame)}</th>
              <th scope="col" className="number">
                Off by, {feet ? 'ft' : 'm'}
              </th>
              <th scope="col">
                <span className="visually-hidden">Point at or remove</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {texts.map((text, index) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: a point is its place in the list
              <tr key={index}>
                <th scope="row">{text.label}</th>
                {(Object.keys(FIELD_NAMES) as Field[]).map((field) => (
                  <td key={field}>
                    <input
                      type="text"
                      inputMode="decimal"
                      aria-label={`Point ${text.label} ${FIELD_NAMES[field]}`}
                      aria-invalid={text[field] !== '' && parseCoordinate(text[field]) === null}
                      value={text[field]}
                      onChange={(event) => change(index, { [field]: event.target.value })}
                    />
                  </td>
                ))}
                <td className="number">
                  {residualOf(text.label) === null
                    ? '–'
                    : fromMetres(residualOf(text.label)?.lengthM ?? 0, feet ? 'ft' : 'm').toFixed(3)}
                </td>
                <td className="row-tools">
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`On map: point ${text.label}`}
                    onClick={() => pickOnMap(index)}
                  >
                    On map
                  </button>
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`Remove point ${text.label}`}
                    onClick={() => setTexts((now) => now.filter((_, i) => i !== index))}
                  >
                    ×
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div className="row">
        <button
          type="button"
          className="quiet"
          onClick={() =>
            setTexts((now) => [...now, { label: nextLabel(now), column: '', row: '', x: '', y: '' }])
          }
        >
          Add point
        </button>
        <label className="field">
          The copy is
          <select value={fit} onChange={(event) => setFit(event.target.value as SitePlanView['fit'])}>
            <option value="similarity">true to scale</option>
            <option value="affine">stretched or slanted (3 points)</option>
          </select>
        </label>
      </div>
      <WarningList warnings={tried?.warnings ?? []} label="Notes on the fit" />
      <div className="form-end">
        <p className="hint" role={problem === null ? undefined : 'alert'}>
          {picking
            ? 'Point at the place on the map. Corners, sides and probes take hold of the pointer; Alt lets it go.'
            : (problem ??
              (tried
                ? `100 pixels are ${formatLength(100 * (tried.metresPerPixel ?? 0), feet)}. The map shows it as it would lie.`
                : `${points.length} of at least ${least} points are whole.`))}
        </p>
        <button type="button" className="quiet" onClick={onClose}>
          Cancel
        </button>
        <button
          type="button"
          className="primary"
          disabled={tried === null}
          onClick={() => void onPlace({ fit, points })}
        >
          Place it
        </button>
      </div>
    </section>
  );
}

function nextLabel(texts: readonly PointText[]): string {
  const taken = new Set(texts.map((text) => text.label));
  let number = 1;
  while (taken.has(String(number))) number++;
  return String(number);
}

/** The picture, enlarged and scrolled as wanted; a click tells the pixel under it. */
function PlanPicture({
  plan,
  canvas,
  points,
  onPoint,
}: {
  readonly plan: SitePlanView;
  readonly canvas: HTMLCanvasElement | null;
  readonly points: readonly PointText[];
  readonly onPoint: (column: number, row: number) => void;
}) {
  const host = useRef<HTMLCanvasElement>(null);
  const [zoom, setZoom] = useState<number>(1);
  useEffect(() => {
    const shown = host.current;
    if (!shown || !canvas) return;
    shown.width = canvas.width;
    shown.height = canvas.height;
    shown.getContext('2d')?.drawImage(canvas, 0, 0);
  }, [canvas]);
  const inPicture = points.flatMap(({ label, column, row }) => {
    const [x, y] = [parseCoordinate(column), parseCoordinate(row)];
    return x === null || y === null ? [] : [{ label, x: x / plan.widthPx, y: y / plan.heightPx }];
  });
  return (
    <>
      <div className="row">
        <fieldset className="segments">
          <legend className="visually-hidden">Size of the picture</legend>
          {ZOOMS.map((one) => (
            <label key={one} className="segment">
              <input type="radio" name="plan-zoom" checked={zoom === one} onChange={() => setZoom(one)} />
              <span>{one === 1 ? 'Whole' : `${one} ×`}</span>
            </label>
          ))}
        </fieldset>
        <p className="hint">
          {canvas ? `${plan.widthPx} by ${plan.heightPx} pixels` : 'The picture is being read.'}
        </p>
      </div>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by the keyboard */}
      <section className="plan-picture" aria-label={`Picture of ${plan.label}`} tabIndex={0}>
        <div className={`plan-picture-sheet zoom-${zoom}`}>
          <canvas
            ref={host}
            onClick={(event) => {
              const box = event.currentTarget.getBoundingClientRect();
              onPoint(
                ((event.clientX - box.left) / box.width) * plan.widthPx,
                ((event.clientY - box.top) / box.height) * plan.heightPx,
              );
            }}
          />
          <svg className="plan-picture-marks" viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">
            {inPicture.map(({ label, x, y }) => (
              <g key={label}>
                <line x1={x - 0.02} x2={x + 0.02} y1={y} y2={y} />
                <line x1={x} x2={x} y1={y - 0.02} y2={y + 0.02} />
              </g>
            ))}
          </svg>
        </div>
      </section>
    </>
  );
}
