import type { ProjectView } from '../../core/contract/model.ts';
import type { CrossValidation } from '../../core/contract/results.ts';
import { fromKBqPerM3 } from '../../core/units.ts';
import { formatRadon, prettyUnits, radonUnitLabel, trimNumber } from '../format.ts';
import { withSelectedProbe } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';
import { axisTicks } from './axis.ts';

const W = 440;
const H = 250;
const LEFT = 52;
const BOTTOM = 36;
const TOP = 12;
const RIGHT = 12;
/** Two standard errors off: worth a look. */
const FAR_Z = 2;

/** Each probe left out in turn: what was measured against what the others predict. */
export function CrossValidationChart({ check, view }: { check: CrossValidation; view: ProjectView }) {
  const app = useApp();
  const selectedId = useAppState((state) => state.selectedSampleId);
  const selectedProbe = view.samples.find((sample) => sample.id === selectedId)?.probeId;
  const labels = new Map(view.probes.map((probe) => [probe.id, probe.label]));
  const unit = view.settings.radonUnit;
  const shown = (value: number) => fromKBqPerM3(value, unit);
  const max =
    Math.max(...check.points.flatMap((point) => [shown(point.observed), shown(point.predicted)]), 1e-9) *
    1.08;
  const x = (value: number) => LEFT + (Math.max(0, value) / max) * (W - LEFT - RIGHT);
  const y = (value: number) => H - BOTTOM - (Math.max(0, value) / max) * (H - BOTTOM - TOP);
  const far = check.points.filter((point) => point.z !== null && Math.abs(point.z) > FAR_Z);

  return (
    <>
      <p className="verdict">{prettyUnits(check.verdict)}</p>
      <dl className="facts facts-tight">
        <div>
          <dt>Probes</dt>
          <dd>{check.n}</dd>
        </div>
        <div>
          <dt>Mean error</dt>
          <dd>
            {formatRadon(check.meanError, unit)} {radonUnitLabel(unit)}
          </dd>
        </div>
        <div>
          <dt>RMSE</dt>
          <dd>
            {formatRadon(check.rmse, unit)} {radonUnitLabel(unit)}
          </dd>
        </div>
        <div>
          <dt>Misses over stated errors</dt>
          <dd>
            {check.msdr === null
              ? 'none: no error to compare with'
              : `${trimNumber(Math.sqrt(check.msdr))} (right is 1)`}
          </dd>
        </div>
        <div>
          <dt>Correlation</dt>
          <dd>{trimNumber(check.correlation, 2)}</dd>
        </div>
      </dl>
      <figure className="chart">
        <svg
          viewBox={`0 0 ${W} ${H}`}
          role="img"
          aria-label={`Measured against predicted at ${check.n} probes`}
        >
          {axisTicks(max, 5).map((value) => (
            <g key={value}>
              <path className="chart-grid" d={`M${LEFT} ${y(value)}H${W - RIGHT}`} />
              <text className="chart-text" x={LEFT - 6} y={y(value) + 4} textAnchor="end">
                {trimNumber(value)}
              </text>
              <text className="chart-text" x={x(value)} y={H - BOTTOM + 16} textAnchor="middle">
                {trimNumber(value)}
              </text>
            </g>
          ))}
          <path className="chart-axis" d={`M${LEFT} ${TOP}V${H - BOTTOM}H${W - RIGHT}`} />
          <path className="chart-even" d={`M${x(0)} ${y(0)}L${x(max)} ${y(max)}`} />
          <text className="chart-text" x={W - RIGHT} y={H - 4} textAnchor="end">
            measured, {radonUnitLabel(unit)}
          </text>
          <text className="chart-text" x={LEFT + 4} y={TOP + 2}>
            predicted by the others
          </text>
          {check.points.map((point) => (
            // biome-ignore lint/a11y/noStaticElementInteractions: a shortcut for the pointer only
            <circle
              key={point.probeId}
              className={`validation-point ${point.z !== null && Math.abs(point.z) > FAR_Z ? 'far' : ''} ${
                point.probeId === selectedProbe ? 'selected' : ''
              }`}
              cx={x(shown(point.observed))}
              cy={y(shown(point.predicted))}
              r={point.probeId === selectedProbe ? 6 : 4}
              onClick={() => app.store.update((state) => withSelectedProbe(state, point.probeId))}
            >
              <title>{`${labels.get(point.probeId) ?? point.probeId}: measured ${formatRadon(point.observed, unit)}, predicted ${formatRadon(point.predicted, unit)}${point.z === null ? '' : `, z ${trimNumber(point.z, 2)}`}`}</title>
            </circle>
          ))}
        </svg>
      </figure>
      {far.length > 0 ? (
        <p className="hint">
          More than {FAR_Z} standard errors off:{' '}
          {far.map((point, index) => (
            <span key={point.probeId}>
              {index > 0 ? ', ' : ''}
              <button
                type="button"
                className="link"
                onClick={() => app.store.update((state) => withSelectedProbe(state, point.probeId))}
              >
                {labels.get(point.probeId) ?? point.probeId}
              </button>
            </span>
          ))}
        </p>
      ) : null}
    </>
  );
}
