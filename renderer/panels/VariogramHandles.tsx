import { type PointerEvent, useRef } from 'react';
import type { VariogramParameters } from '../../core/contract/settings.ts';
import { fromMetres } from '../../core/units.ts';
import { trimNumber } from '../format.ts';
import { semivarianceAt } from './variogram-curve.ts';

/** The chart's frame: pixels of its own coordinate system, and the ends of its axes. */
export interface ChartFrame {
  readonly maxLagM: number;
  readonly maxValue: number;
  readonly x: (lagM: number) => number;
  readonly y: (value: number) => number;
  readonly lagAt: (x: number) => number;
  readonly valueAt: (y: number) => number;
}

export interface VariogramHandlesProps {
  readonly model: VariogramParameters;
  readonly frame: ChartFrame;
  readonly feet: boolean;
  readonly onChange: (model: VariogramParameters) => void;
}

type Part = 'nugget' | 'sill' | 'range';

/** One step of an arrow key, as a share of the axis. */
const STEP = 0.02;
/** A drag works in hundredths of a pixel; a model is not known to more than three figures. */
const FIGURES = 3;

const round = (value: number) => Number(value.toPrecision(FIGURES));

/** Nugget, sill and range of a model as three handles on its curve: dragged, or moved by arrow keys. */
export function VariogramHandles({ model, frame, feet, onChange }: VariogramHandlesProps) {
  const dragged = useRef<Part | null>(null);
  const { x, y, maxLagM, maxValue } = frame;
  const sill = model.nugget + model.partialSill;
  const atRange = semivarianceAt(model, Math.min(model.rangeM, maxLagM));
  const within = (value: number, most: number) => Math.min(Math.max(value, 0), most);
  const length = (lagM: number) =>
    feet ? `${trimNumber(fromMetres(lagM, 'ft'))} ft` : `${trimNumber(lagM)} m`;

  const moveTo = (part: Part, lagM: number, value: number) => {
    const to = within(value, maxValue);
    if (part === 'nugget')
      onChange({ ...model, nugget: round(Math.min(to, sill)), partialSill: round(Math.max(sill - to, 0)) });
    else if (part === 'sill') onChange({ ...model, partialSill: round(Math.max(to - model.nugget, 0)) });
    else onChange({ ...model, rangeM: round(Math.min(Math.max(lagM, maxLagM / 200), maxLagM)) });
  };

  const follow = (event: PointerEvent<SVGGElement>) => {
    const part = dragged.current;
    const svg = event.currentTarget.ownerSVGElement;
    const matrix = svg?.getScreenCTM();
    if (part === null || !svg || !matrix) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    moveTo(part, frame.lagAt(at.x), frame.valueAt(at.y));
  };

  const handles = [
    { part: 'nugget', name: 'Nugget', at: [x(0), y(within(model.nugget, maxValue))], value: model.nugget },
    { part: 'sill', name: 'Sill', at: [x(maxLagM), y(within(sill, maxValue))], value: sill },
    {
      part: 'range',
      name: 'Range',
      at: [x(within(model.rangeM, maxLagM)), y(within(atRange, maxValue))],
      value: model.rangeM,
    },
  ] as const;

  return (
    <>
      <path className="handle-line" d={`M${x(0)} ${y(within(sill, maxValue))}H${x(maxLagM)}`} />
      <path className="handle-line" d={`M${handles[2].at[0]} ${handles[2].at[1]}V${y(0)}`} />
      {handles.map(({ part, name, at, value }) => (
        <g
          key={part}
          className={`curve-handle handle-${part}`}
          role="slider"
          tabIndex={0}
          aria-label={name}
          aria-valuemin={0}
          aria-valuemax={part === 'range' ? maxLagM : maxValue}
          aria-valuenow={value}
          aria-valuetext={part === 'range' ? length(value) : trimNumber(value)}
          aria-orientation={part === 'range' ? 'horizontal' : 'vertical'}
          transform={`translate(${at[0].toFixed(1)} ${at[1].toFixed(1)})`}
          onPointerDown={(event) => {
            dragged.current = part;
            event.currentTarget.setPointerCapture(event.pointerId);
          }}
          onPointerMove={follow}
          onPointerUp={() => {
            dragged.current = null;
          }}
          onKeyDown={(event) => {
            const sign = ['ArrowUp', 'ArrowRight'].includes(event.key)
              ? 1
              : ['ArrowDown', 'ArrowLeft'].includes(event.key)
                ? -1
                : 0;
            if (sign === 0) return;
            event.preventDefault();
            const step = sign * STEP * (event.shiftKey ? 5 : 1);
            moveTo(part, model.rangeM + step * maxLagM, value + step * maxValue);
          }}
        >
          <title>{`${name}: drag, or arrow keys`}</title>
          <circle className="handle-reach" r={13} />
          <circle className="handle-knob" r={5.5} />
        </g>
      ))}
    </>
  );
}
