import { memo } from 'react';
import type { ProjectFrame } from '../../core/contract/model.ts';
import { groupThousands } from '../format.ts';
import { type Camera, mapGrid, scaleBar } from './furniture.ts';
import { usesFeet } from './project-frame.ts';

/** Width of the margin between neatline and sheet edge that carries the coordinates; as in styles/map.css. */
const MARGIN_PX = 30;

export interface FurnitureProps {
  readonly camera: Camera;
  readonly frame: ProjectFrame;
}

/** Neatline with coordinates, grid crosses, scale bar and north arrow: what makes it a sheet and not a picture. */
export const Furniture = memo(function Furniture({ camera, frame }: FurnitureProps) {
  const { widthPx: width, heightPx: height } = camera;
  const grid = mapGrid(camera, frame);
  const bar = scaleBar(camera, usesFeet(frame));
  const turn = frame.convergenceDeg;
  const full = { width: width + 2 * MARGIN_PX, height: height + 2 * MARGIN_PX };
  const clearOfCorner = (px: number, length: number) => px > 26 && px < length - 26;
  return (
    <svg
      className="furniture"
      width={full.width}
      height={full.height}
      viewBox={`${-MARGIN_PX} ${-MARGIN_PX} ${full.width} ${full.height}`}
      aria-hidden="true"
    >
      <rect className="neatline-outer" x={-5} y={-5} width={width + 10} height={height + 10} />
      <rect className="neatline" x={0} y={0} width={width} height={height} />
      {grid.x.map((tick) => (
        <g key={`x${tick.label}`}>
          <path className="tick" d={`M${tick.px} -5V0M${tick.px} ${height}v5`} />
          {clearOfCorner(tick.px, width) ? (
            <>
              <text className="coordinate" x={tick.px} y={-10} textAnchor="middle">
                {groupThousands(tick.label).replace('-', '−')}
              </text>
              <text className="coordinate" x={tick.px} y={height + 19} textAnchor="middle">
                {groupThousands(tick.label).replace('-', '−')}
              </text>
            </>
          ) : null}
          {grid.y.map((row) => (
            <path
              key={row.label}
              className="cross"
              d={`M${tick.px - 4} ${row.px}h8M${tick.px} ${row.px - 4}v8`}
            />
          ))}
        </g>
      ))}
      {grid.y.map((tick) => (
        <g key={`y${tick.label}`}>
          <path className="tick" d={`M-5 ${tick.px}H0M${width} ${tick.px}h5`} />
          {clearOfCorner(tick.px, height) ? (
            <>
              <text
                className="coordinate"
                transform={`translate(-10 ${tick.px}) rotate(-90)`}
                textAnchor="middle"
              >
                {groupThousands(tick.label).replace('-', '−')}
              </text>
              <text
                className="coordinate"
                transform={`translate(${width + 19} ${tick.px}) rotate(-90)`}
                textAnchor="middle"
              >
                {groupThousands(tick.label).replace('-', '−')}
              </text>
            </>
          ) : null}
        </g>
      ))}
      <g transform={`translate(${width - 34} 50)`}>
        <circle className="furniture-paper" r={30} />
        <path className="north-dark" d="M0 -24L7 16L0 9Z" />
        <path className="north-light" d="M0 -24L-7 16L0 9Z" />
        <text className="north-letter" y={27} textAnchor="middle">
          {turn === null ? 'N' : 'GN'}
        </text>
        {turn === null || Math.abs(turn) < 0.3 ? null : (
          <g transform={`rotate(${-turn} 0 9)`}>
            <path className="true-north" d="M0 9V-30" />
            <text className="true-north-star" y={-29} textAnchor="middle">
              ★
            </text>
          </g>
        )}
      </g>
      <g transform={`translate(16 ${height - 18})`}>
        <rect className="furniture-paper" x={-8} y={-22} width={bar.lengthPx + 52} height={34} rx={2} />
        {Array.from({ length: bar.divisions }, (_, i) => {
          const part = bar.lengthPx / bar.divisions;
          return (
            <rect
              // biome-ignore lint/suspicious/noArrayIndexKey: the divisions are their places
              key={i}
              className={i % 2 === 0 ? 'bar-dark' : 'bar-light'}
              x={i * part}
              y={0}
              width={part}
              height={5}
            />
          );
        })}
        <text className="bar-text" x={0} y={-5}>
          0
        </text>
        <text className="bar-text" x={bar.lengthPx} y={-5} textAnchor="middle">
          {bar.label}
        </text>
        {bar.divisions === 4 ? (
          <text className="bar-text" x={bar.lengthPx / 2} y={-5} textAnchor="middle">
            {bar.half}
          </text>
        ) : null}
      </g>
    </svg>
  );
});
