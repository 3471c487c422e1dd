import { useState } from 'react';
import type { CurveModel, CurveRequest } from '../../core/contract/field-sheets.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { prettyUnits } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { planBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { CURVE_JOB } from '../state/proposals.ts';
import { pointWords, SpacingCurveChart } from './SpacingCurveChart.tsx';

/** Unpacking, blanks, backgrounds, for each instrument and day (common practice). */
const FIRST_DAILY_MINUTES = 60;
const FIRST_RANGE_M = 30;
const FIRST_NUGGET_PCT = 30;

export interface SpacingCurveFormProps {
  /** What the layout form has chosen so far. */
  readonly layout: Pick<
    CurveRequest,
    'pattern' | 'around' | 'minutesPerTest' | 'instruments' | 'days' | 'startM'
  >;
  readonly count: number;
  readonly disabled: boolean;
  readonly onChoose: (count: number) => void;
}

/** What a number of probes buys, before any is driven: a guess of the ground, or the variogram measured here. */
export function SpacingCurveForm({ layout, count, disabled, onChoose }: SpacingCurveFormProps) {
  const app = useApp();
  const view = useView();
  const feet = usesFeet(view.frame);
  const unit = feet ? 'ft' : 'm';
  const curve = useAppState((state) => state.curve);
  const working = useAppState((state) => state.jobs.some((job) => job.label === CURVE_JOB));
  const before = curve?.request.model;
  const guess = before && before !== 'measured' ? before : null;
  const canMeasure = view.samples.length > 0;
  const [measured, setMeasured] = useState(before === 'measured');
  const [rangeM, setRangeM] = useState(guess?.rangeM ?? (feet ? toMetres(100, 'ft') : FIRST_RANGE_M));
  const [nuggetPct, setNuggetPct] = useState(guess ? 100 * guess.nuggetShare : FIRST_NUGGET_PCT);
  const [dailyMinutes, setDailyMinutes] = useState(curve?.request.dailyMinutes ?? FIRST_DAILY_MINUTES);
  const model: CurveModel =
    measured && canMeasure ? 'measured' : { kind: 'spherical', rangeM, nuggetShare: nuggetPct / 100 };
  const request: CurveRequest = { ...layout, model, dailyMinutes };
  const isStale =
    curve !== null &&
    (curve.basis !== planBasis(view) || JSON.stringify(curve.request) !== JSON.stringify(request));
  const points = curve?.result.points ?? [];
  const nearest = points.reduce(
    (best, p, i) =>
      Math.abs(p.probes - count) < Math.abs((points[best]?.probes ?? Infinity) - count) ? i : best,
    0,
  );
  const shown = points[nearest];

  return (
    <details open={curve !== null}>
      <summary>How many probes: error of the map against hours</summary>
      <div className="stack details-row">
        <div className="row">
          <fieldset className="segments">
            <legend>Variogram</legend>
            <label className="segment">
              <input
                type="radio"
                name="curve-model"
                checked={!measured || !canMeasure}
                onChange={() => setMeasured(false)}
              />
              <span>Guess</span>
            </label>
            <label className="segment" title={canMeasure ? undefined : 'Nothing is measured yet.'}>
              <input
                type="radio"
                name="curve-model"
                disabled={!canMeasure}
                checked={measured && canMeasure}
                onChange={() => setMeasured(true)}
              />
              <span>Measured here</span>
            </label>
          </fieldset>
          {model === 'measured' ? null : (
            <>
              <NumberInput
                label={`Range, ${unit}`}
                value={fromMetres(rangeM, unit)}
                least={1}
                most={10_000}
                onChange={(value) => setRangeM(toMetres(value, unit))}
              />
              <NumberInput label="Nugget, %" value={nuggetPct} least={0} most={100} onChange={setNuggetPct} />
            </>
          )}
          <NumberInput
            label="Other minutes"
            value={dailyMinutes}
            least={0}
            most={1440}
            onChange={setDailyMinutes}
          />
        </div>
        <p className="hint">
          Range: how far apart two places still tell of each other. Nugget: the part of the scatter that shows
          even side by side. Other minutes of a day: unpacking, blanks, backgrounds.
        </p>
        <div className="row">
          <button type="button" disabled={disabled || working} onClick={() => void app.computeCurve(request)}>
            {curve === null ? 'Work out the curve' : 'Work it out again'}
          </button>
          {working ? (
            <p className="hint" role="status">
              Trying layouts …
            </p>
          ) : isStale ? (
            <p className="hint">Out of date: the choices above have changed.</p>
          ) : null}
        </div>
        {curve && shown ? (
          <>
            <SpacingCurveChart
              curve={curve.result}
              chosen={nearest}
              feet={feet}
              onChoose={(index) => onChoose(points[index]?.probes ?? count)}
            />
            <p>
              {pointWords(shown, feet)}
              {nearest === curve.result.elbow ? ': the elbow' : ''}. Click or use the arrow keys to choose
              another; the layout above takes its number.
            </p>
            <ul className="reasons">
              <li>{prettyUnits(curve.result.modelWords)}.</li>
              <li>{curve.result.elbowRule}</li>
              {curve.result.cautions.map((caution) => (
                <li key={caution}>{prettyUnits(caution)}</li>
              ))}
            </ul>
          </>
        ) : null}
      </div>
    </details>
  );
}
