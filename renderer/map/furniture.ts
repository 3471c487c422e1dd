/** Scale bar, coordinate ticks and grid crosses, worked out from project metres. Pure. */
import type { PositionM, ProjectFrame } from '../../core/contract/model.ts';
import { M_PER_FOOT } from '../../core/units.ts';
import { toNative, toProject } from './project-frame.ts';

export interface Camera {
  readonly centreM: PositionM;
  readonly pxPerM: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

export interface ScaleBar {
  readonly lengthPx: number;
  readonly divisions: number;
  readonly label: string;
  readonly half: string;
}

/** Largest of 1, 2, 5 times a power of ten that is not above `limit`. */
export function roundDown125(limit: number): number {
  const decade = 10 ** Math.floor(Math.log10(limit));
  const m = limit / decade;
  return (m >= 5 ? 5 : m >= 2 ? 2 : 1) * decade;
}

/** Smallest of 1, 2, 5 times a power of ten that is not under `limit`. */
export function roundUp125(limit: number): number {
  const decade = 10 ** Math.floor(Math.log10(limit) + 1e-9);
  const m = limit / decade;
  return (m <= 1 + 1e-9 ? 1 : m <= 2 ? 2 : m <= 5 ? 5 : 10) * decade;
}

export function scaleBar(camera: Camera, feet: boolean, maxPx = 180): ScaleBar {
  const unitM = feet ? M_PER_FOOT : 1;
  const length = roundDown125(maxPx / camera.pxPerM / unitM);
  const leading = Math.round(length / 10 ** Math.floor(Math.log10(length) + 1e-9));
  const unit = feet ? 'ft' : 'm';
  const trim = (value: number) => String(Number(value.toPrecision(6)));
  return {
    lengthPx: length * unitM * camera.pxPerM,
    divisions: leading === 5 ? 5 : 4,
    label: `${trim(length)} ${unit}`,
    half: trim(length / 2),
  };
}

export function toScreen(camera: Camera, [xM, yM]: PositionM): [number, number] {
  return [
    camera.widthPx / 2 + (xM - camera.centreM[0]) * camera.pxPerM,
    camera.heightPx / 2 - (yM - camera.centreM[1]) * camera.pxPerM,
  ];
}

export interface GridTick {
  readonly px: number;
  readonly label: string;
}

export interface MapGrid {
  readonly x: readonly GridTick[];
  readonly y: readonly GridTick[];
}

/** Spacing of round native coordinates that lie at least `spacingPx` apart on the screen. */
export function gridStep(camera: Camera, frame: ProjectFrame, spacingPx = 90): number {
  return roundUp125(spacingPx / (camera.pxPerM * frame.metresPerUnit));
}

/** Round native coordinates that fall on the sheet, at least `spacingPx` apart. */
export function mapGrid(camera: Camera, frame: ProjectFrame, spacingPx = 90): MapGrid {
  const pxPerUnit = camera.pxPerM * frame.metresPerUnit;
  const step = gridStep(camera, frame, spacingPx);
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const [cx, cy] = toNative(frame, camera.centreM);
  const ticks = (middle: number, halfPx: number, place: (value: number) => number): GridTick[] => {
    const half = halfPx / pxPerUnit;
    const out: GridTick[] = [];
    for (let k = Math.ceil((middle - half) / step); k * step <= middle + half && out.length < 60; k++) {
      const value = k * step;
      out.push({ px: place(value), label: value.toFixed(decimals) });
    }
    return out;
  };
  return {
    x: ticks(cx, camera.widthPx / 2, (x) => toScreen(camera, toProject(frame, [x, cy]))[0]),
    y: ticks(cy, camera.heightPx / 2, (y) => toScreen(camera, toProject(frame, [cx, y]))[1]),
  };
}
