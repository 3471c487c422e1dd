import type { VariogramParameters } from '../../core/contract/model.ts';
import type { VariogramResult } from '../../core/contract/results.ts';
import { fromMetres } from '../../core/units.ts';
import { prettyUnits, trimNumber } from '../format.ts';
import { axisTicks } from './axis.ts';
import { semivarianceAt } from './variogram-curve.ts';

const W = 440;
const H = 210;
const LEFT = 52;
const BOTTOM = 34;
const TOP = 12;
const RIGHT = 12;

export interface VariogramChartProps {
  readonly variogram: VariogramResult;
  /** Model being tried by hand, where it differs from the one in use. */
  readonly tried: VariogramParameters | null;
  readonly feet: boolean;
}

/** Binned semivariance with the model's curve; the dots' size is the number of pairs. */
export function VariogramChart({ variogram, tried, feet }: VariogramChartProps) {
  const { bins, model, fitted } = variogram;
  const maxLag = Math.max(...bins.map((bin) => bin.lagM), model.rangeM * 0.6, 1) * 1.06;
  const curves = [model, fitted, tried].filter((one): one is VariogramParameters => one !== null);
  const maxValue =
    Math.max(
      ...bins.map((bin) => bin.semivariance),
      ...curves.map((one) => semivarianceAt(one, maxLag)),
      1e-9,
    ) * 1.1;
  const maxPairs = Math.max(...bins.map((bin) => bin.pairs), 1);
  const x = (lagM: number) => LEFT + (lagM / maxLag) * (W - LEFT - RIGHT);
  const y = (value: number) => H - BOTTOM - (value / maxValue) * (H - BOTTOM - TOP);
  const curve = (parameters: VariogramParameters) =>
    Array.from({ length: 81 }, (_, i) => {
      const lag = (i / 80) * maxLag;
      return `${i === 0 ? 'M' : 'L'}${x(lag).toFixed(1)} ${y(semivarianceAt(parameters, Math.max(lag, 1e-6))).toFixed(1)}`;
    }).join('');
  const lagTicks = axisTicks(feet ? fromMetres(maxLag, 'ft') : maxLag, 6);
  const summary = `Semivariance in ${bins.length} bins up to ${trimNumber(maxLag)} m; ${model.kind} model: nugget ${trimNumber(
    model.nugget,
  )}, partial sill ${trimNumber(model.partialSill)}, range ${trimNumber(model.rangeM)} m.`;

  return (
    <figure className="chart">
      <svg viewBox={`0 0 ${W} ${H}`} role="img" aria-label={summary}>
        {axisTicks(maxValue, 4).map((value) => (
          <g key={value}>
            <path className="chart-grid" d={`M${LEFT} ${y(value)}H${W - RIGHT}`} />
            <text className="chart-text" x={LEFT - 6} y={y(value) + 4} textAnchor="end">
              {trimNumber(value)}
            </text>
          </g>
        ))}
        {lagTicks.map((value) => {
          const at = x(feet ? value * 0.3048 : value);
          return (
            <g key={value}>
              <path className="chart-axis" d={`M${at} ${H - BOTTOM}v4`} />
              <text className="chart-text" x={at} y={H - BOTTOM + 16} textAnchor="middle">
                {trimNumber(value)}
              </text>
            </g>
          );
        })}
        <path className="chart-axis" d={`M${LEFT} ${TOP}V${H - BOTTOM}H${W - RIGHT}`} />
        <text className="chart-text" x={W - RIGHT} y={H - 4} textAnchor="end">
          distance, {feet ? 'ft' : 'm'}
        </text>
        <text className="chart-text" x={LEFT + 4} y={TOP + 2}>
          semivariance
          {variogram.transform === 'log' ? ' of the logarithms' : `, ${prettyUnits(variogram.unit)}`}
        </text>
        {fitted ? <path className="curve-fitted" d={curve(fitted)} /> : null}
        <path className="curve-model" d={curve(model)} />
        {tried ? <path className="curve-tried" d={curve(tried)} /> : null}
        {bins.map((bin) => (
          <circle
            key={bin.lagM}
            className="bin"
            cx={x(bin.lagM)}
            cy={y(bin.semivariance)}
            r={2 + 4.5 * Math.sqrt(bin.pairs / maxPairs)}
          >
            <title>{`${trimNumber(bin.lagM)} m: ${trimNumber(bin.semivariance)}, ${bin.pairs} pairs`}</title>
          </circle>
        ))}
      </svg>
      <figcaption>
        <span className="key key-model">model in use</span>
        {fitted ? <span className="key key-fitted">fit to the bins</span> : null}
        {tried ? <span className="key key-tried">by hand, not yet used</span> : null}
        <span className="key key-bin">bins (size: pairs)</span>
      </figcaption>
    </figure>
  );
}
