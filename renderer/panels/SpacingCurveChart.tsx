import type { KeyboardEvent, MouseEvent } from 'react';
import type { CurvePointView, CurveResult } from '../../core/contract/field-sheets.ts';
import { formatLength, formatNumber, plural } from '../format.ts';
import { axisTicks } from './axis.ts';

const W = 440;
const H = 210;
const LEFT = 44;
const RIGHT = 40;
const BOTTOM = 34;
const TOP = 22;

export interface SpacingCurveChartProps {
  readonly curve: CurveResult;
  /** Index into the points. */
  readonly chosen: number;
  readonly feet: boolean;
  readonly onChoose: (index: number) => void;
}

export function pointWords(point: CurvePointView, feet: boolean): string {
  return `${plural(point.probes, 'probe')} ${formatLength(point.spacingM, feet, 1)} apart: error ${formatNumber(100 * point.errorShare, 2)} % of the scatter, ${formatNumber(point.hoursOfWork, 2)} h of work`;
}

/** Map error and hours over the number of probes; a click or the arrow keys choose a point. */
export function SpacingCurveChart({ curve, chosen, feet, onChoose }: SpacingCurveChartProps) {
  const { points, elbow, minimumCount } = curve;
  const most = Math.max(...points.map((p) => p.probes)) * 1.04;
  const mostHours = Math.max(...points.map((p) => p.hoursOfWork)) * 1.08;
  const x = (probes: number) => LEFT + (probes / most) * (W - LEFT - RIGHT);
  // Hours start at 0; the error does not, or its fall could not be seen.
  const shares = points.map((p) => p.errorShare);
  const low = Math.max(0, Math.floor(Math.min(...shares) * 20 - 0.2) / 20);
  const high = Math.ceil(Math.max(...shares) * 20 + 0.2) / 20;
  const yPart = (part: number) => H - BOTTOM - part * (H - BOTTOM - TOP);
  const yShare = (share: number) => yPart((share - low) / (high - low));
  const yHours = (hours: number) => yPart(hours / mostHours);
  const step = high - low > 0.3 ? 10 : 5;
  const shareTicks = Array.from(
    { length: Math.floor((100 * (high - low)) / step + 1e-6) + 1 },
    (_, i) => Math.ceil((100 * low) / step - 1e-6) * step + i * step,
  ).filter((tick) => tick <= 100 * high + 1e-6);
  const line = (y: (point: CurvePointView) => number) =>
    points.map((p, i) => `${i === 0 ? 'M' : 'L'}${x(p.probes).toFixed(1)} ${y(p).toFixed(1)}`).join('');
  const point = points[chosen];
  const atElbow = elbow === null ? undefined : points[elbow];

  const byKey = (event: KeyboardEvent) => {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
    const to =
      event.key === 'Home' ? 0 : event.key === 'End' ? points.length - 1 : step ? chosen + step : null;
    if (to === null) return;
    event.preventDefault();
    onChoose(Math.min(points.length - 1, Math.max(0, to)));
  };
  const byClick = (event: MouseEvent<HTMLDivElement>) => {
    const box = event.currentTarget.getBoundingClientRect();
    const at = ((event.clientX - box.left) / box.width) * W;
    const nearest = points.reduce(
      (best, p, i) => (Math.abs(x(p.probes) - at) < Math.abs(x(points[best]?.probes ?? 0) - at) ? i : best),
      0,
    );
    onChoose(nearest);
  };

  return (
    <figure className="chart">
      <div
        className="chart-slider"
        role="slider"
        tabIndex={0}
        aria-label="Number of probes"
        aria-valuemin={points[0]?.probes ?? 0}
        aria-valuemax={points.at(-1)?.probes ?? 0}
        aria-valuenow={point?.probes ?? 0}
        aria-valuetext={point ? `${pointWords(point, feet)}${chosen === elbow ? ', at the elbow' : ''}` : ''}
        onKeyDown={byKey}
        onClick={byClick}
      >
        <svg viewBox={`0 0 ${W} ${H}`} aria-hidden="true">
          {shareTicks.map((tick) => (
            <g key={tick}>
              <path className="chart-grid" d={`M${LEFT} ${yShare(tick / 100)}H${W - RIGHT}`} />
              <text className="chart-text" x={LEFT - 6} y={yShare(tick / 100) + 4} textAnchor="end">
                {tick}
              </text>
            </g>
          ))}
          {axisTicks(mostHours, 4).map((hours) => (
            <text
              key={hours}
              className="chart-text"
              x={W - RIGHT + 6}
              y={yHours(hours) + 4}
              textAnchor="start"
            >
              {hours}
            </text>
          ))}
          {axisTicks(most, 7).map((probes) => (
            <g key={probes}>
              <path className="chart-axis" d={`M${x(probes)} ${H - BOTTOM}v4`} />
              <text className="chart-text" x={x(probes)} y={H - BOTTOM + 16} textAnchor="middle">
                {probes}
              </text>
            </g>
          ))}
          <path className="chart-axis" d={`M${LEFT} ${TOP}V${H - BOTTOM}H${W - RIGHT}V${TOP}`} />
          <text className="chart-text" x={W - RIGHT} y={H - 4} textAnchor="end">
            probes
          </text>
          <text className="chart-text" x={LEFT} y={TOP - 8}>
            map error, % of scatter
          </text>
          <text className="chart-text" x={W - RIGHT} y={TOP - 8} textAnchor="end">
            hours of work
          </text>
          <path className="chart-even" d={`M${x(minimumCount)} ${TOP}V${H - BOTTOM}`} />
          <path className="curve-fitted" d={line((p) => yHours(p.hoursOfWork))} />
          <path className="curve-model" d={line((p) => yShare(p.errorShare))} />
          {points.map((p, i) => (
            <circle
              key={p.probes}
              className={`bin ${i === chosen ? 'bin-chosen' : ''}`}
              cx={x(p.probes)}
              cy={yShare(p.errorShare)}
              r={i === chosen ? 5.5 : 3.5}
            />
          ))}
          {atElbow ? (
            <circle className="elbow-ring" cx={x(atElbow.probes)} cy={yShare(atElbow.errorShare)} r={9} />
          ) : null}
        </svg>
      </div>
      <figcaption>
        <span className="key">map error</span>
        <span className="key key-fitted">hours</span>
        <span className="key key-bin">{atElbow ? 'ringed: the elbow' : 'numbers tried'}</span>
        <span>dashed upright: least number of the scheme ({minimumCount})</span>
      </figcaption>
    </figure>
  );
}
