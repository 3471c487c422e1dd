import { useState } from 'react';
import type { VariogramBin, VariogramResult } from '../../core/contract/results.ts';
import type { VariogramParameters } from '../../core/contract/settings.ts';
import { fromMetres } from '../../core/units.ts';
import { prettyUnits, trimNumber } from '../format.ts';
import { axisTicks } from './axis.ts';
import { type ChartFrame, VariogramHandles } from './VariogramHandles.tsx';
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
  /** Called while a handle of the curve is moved. */
  readonly onTry: (model: VariogramParameters) => void;
}

const COMPASS: Readonly<Record<number, string>> = {
  0: 'N to S',
  45: 'NE to SW',
  90: 'E to W',
  135: 'SE to NW',
};
/** Bins of fewer pairs are drawn pale; a handbook of geostatistics asks for more than 30 (Gebbers). */
const LEAST_PAIRS = 30;

/** The same bins whichever way they run, or the bins of four directions. */
function binGroups(variogram: VariogramResult, byDirection: boolean) {
  return byDirection ? variogram.directions : [{ azimuthDeg: null, bins: variogram.bins }];
}

/**
 * Binned semivariance with the model's curve; the dots' size is the number of pairs. The axes follow the bins
 * and the model in use, not the one being tried, so that the ground stands still under a dragged handle.
 */
export function VariogramChart({ variogram, tried, feet, onTry }: VariogramChartProps) {
  const [byDirection, setByDirection] = useState(false);
  const { model, fitted } = variogram;
  const groups = binGroups(variogram, byDirection && variogram.directions.length > 0);
  const bins = [...variogram.bins, ...groups.flatMap((group) => group.bins)];
  const maxLag = Math.max(...bins.map((bin) => bin.lagM), model.rangeM * 0.6, 1) * 1.06;
  const curves = [model, fitted].filter((one): one is VariogramParameters => one !== null);
  const maxValue =
    Math.max(
      ...bins.map((bin) => bin.semivariance),
      ...curves.map((one) => semivarianceAt(one, maxLag)),
      1e-9,
    ) * 1.1;
  const maxPairs = Math.max(...variogram.bins.map((bin) => bin.pairs), 1);
  const x = (lagM: number) => LEFT + (lagM / maxLag) * (W - LEFT - RIGHT);
  const y = (value: number) => H - BOTTOM - (value / maxValue) * (H - BOTTOM - TOP);
  const frame: ChartFrame = {
    maxLagM: maxLag,
    maxValue,
    x,
    y,
    lagAt: (px) => ((px - LEFT) / (W - LEFT - RIGHT)) * maxLag,
    valueAt: (py) => ((H - BOTTOM - py) / (H - BOTTOM - TOP)) * maxValue,
  };
  const shown = tried ?? model;
  const curve = (parameters: VariogramParameters) =>
    Array.from({ length: 81 }, (_, i) => {
      const lag = (i / 80) * maxLag;
      return `${i === 0 ? 'M' : 'L'}${x(lag).toFixed(1)} ${y(semivarianceAt(parameters, Math.max(lag, 1e-6))).toFixed(1)}`;
    }).join('');
  const lagTicks = axisTicks(feet ? fromMetres(maxLag, 'ft') : maxLag, 6);
  const summary = `Semivariance in ${variogram.bins.length} bins up to ${trimNumber(maxLag)} m; ${model.kind} model: nugget ${trimNumber(
    model.nugget,
  )}, partial sill ${trimNumber(model.partialSill)}, range ${trimNumber(model.rangeM)} m.`;

  return (
    <figure className="chart">
      {/* biome-ignore lint/a11y/useSemanticElements: a drawing with handles in it is a group, not an image */}
      <svg viewBox={`0 0 ${W} ${H}`} role="group" aria-label={summary}>
        <clipPath id="variogram-frame">
          <path d={`M${LEFT} 0H${W}V${H - BOTTOM}H${LEFT}Z`} />
        </clipPath>
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
        <g clipPath="url(#variogram-frame)">
          {fitted ? <path className="curve-fitted" d={curve(fitted)} /> : null}
          <path className="curve-model" d={curve(model)} />
          {model.anisotropy ? <path className="curve-model across" d={curve(across(model))} /> : null}
          {tried ? <path className="curve-tried" d={curve(tried)} /> : null}
          {tried?.anisotropy ? <path className="curve-tried across" d={curve(across(tried))} /> : null}
        </g>
        {groups.map(({ azimuthDeg, bins: some }) =>
          some.map((bin) => (
            <BinMark
              key={`${azimuthDeg} ${bin.lagM}`}
              azimuthDeg={azimuthDeg}
              bin={bin}
              at={[x(bin.lagM), y(bin.semivariance)]}
              radius={2 + 4.5 * Math.sqrt(bin.pairs / maxPairs)}
            />
          )),
        )}
        <VariogramHandles model={shown} frame={frame} feet={feet} onChange={onTry} />
      </svg>
      <figcaption>
        <span className="key">model in use</span>
        {fitted ? <span className="key key-fitted">fit to the bins</span> : null}
        {tried ? <span className="key key-tried">by hand, not yet used</span> : null}
        {groups[0]?.azimuthDeg === null ? (
          <span className="key key-bin">bins (size: pairs)</span>
        ) : (
          groups.map(({ azimuthDeg }) => (
            <span key={azimuthDeg} className="needle-key">
              <svg width="22" height="16" viewBox="-11 -8 22 16" aria-hidden="true">
                <Needle azimuthDeg={azimuthDeg ?? 0} length={7} />
              </svg>
              {COMPASS[azimuthDeg ?? 0]}
            </span>
          ))
        )}
        {variogram.directions.length > 0 ? (
          <label className="check-line">
            <input
              type="checkbox"
              checked={byDirection}
              onChange={(event) => setByDirection(event.target.checked)}
            />
            by direction
          </label>
        ) : null}
      </figcaption>
      {groups.some(
        (group) => group.azimuthDeg !== null && group.bins.some((bin) => bin.pairs < LEAST_PAIRS),
      ) ? (
        <p className="hint">
          Pale marks stand on fewer than {LEAST_PAIRS} pairs: a difference between directions there can be
          chance.
        </p>
      ) : null}
    </figure>
  );
}

/** The same model along its short axis. */
function across(model: VariogramParameters): VariogramParameters {
  return { ...model, rangeM: model.rangeM * (model.anisotropy?.ratio ?? 1) };
}

/** A short stroke along an azimuth, as a compass needle lies. */
function Needle({ azimuthDeg, length }: { readonly azimuthDeg: number; readonly length: number }) {
  return (
    <path
      className={`needle needle-${azimuthDeg}`}
      d={`M0 ${-length}V${length}`}
      transform={`rotate(${azimuthDeg})`}
    />
  );
}

interface BinMarkProps {
  readonly azimuthDeg: number | null;
  readonly bin: VariogramBin;
  readonly at: readonly [x: number, y: number];
  readonly radius: number;
}

function BinMark({ azimuthDeg, bin, at, radius }: BinMarkProps) {
  const which = azimuthDeg === null ? '' : `${COMPASS[azimuthDeg] ?? azimuthDeg}, `;
  const title = `${which}${trimNumber(bin.lagM)} m: ${trimNumber(bin.semivariance)}, ${bin.pairs} pairs`;
  return (
    <g
      className={azimuthDeg !== null && bin.pairs < LEAST_PAIRS ? 'bin-mark few' : 'bin-mark'}
      transform={`translate(${at[0].toFixed(1)} ${at[1].toFixed(1)})`}
    >
      <title>{title}</title>
      {azimuthDeg === null ? (
        <circle className="bin" r={radius} />
      ) : (
        <>
          <circle className="handle-reach" r={9} />
          <Needle azimuthDeg={azimuthDeg} length={7} />
        </>
      )}
    </g>
  );
}
