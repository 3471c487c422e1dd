/** Ticks on the neat line with the project's own coordinates, and fine crosses inside. */
import type { ProjectFrame } from '../contract/model.ts';
import type { MapView } from './map-view.ts';
import { multiplesBetween, niceStep, toPage } from './map-view.ts';
import type { SceneNode, TextNode } from './scene.ts';
import { polylineSegments } from './scene.ts';
import { HAIRLINE, NEAT_LINE, SMALL_PT, SOFT_INK } from './style.ts';
import { measureText } from './text.ts';

const WANTED_SPACING_MM = 26;
const TICK_MM = 1.6;
const CROSS_MM = 1.2;

/** Whole part grouped by thin spaces, '3 456 120'; with `decimals` always as many, else as many as it has up to 6. */
export function formatCoordinate(value: number, decimals: number | null = null): string {
  const text = decimals === null ? String(Math.round(value * 1e6) / 1e6) : value.toFixed(decimals);
  const [whole = '', fraction] = text.replace('-', '').split('.');
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, '\u2009') : whole;
  return `${text.startsWith('-') ? '−' : ''}${grouped}${fraction === undefined ? '' : `.${fraction}`}`;
}

export function drawFrameGrid(
  frame: ProjectFrame,
  view: MapView,
): { readonly inside: SceneNode[]; readonly outside: SceneNode[] } {
  const { frameRect, scale, centreM } = view;
  const [originX, originY] = frame.originNative;
  const halfWidthM = frameRect.widthMm / 2 / scale.mmPerM;
  const halfHeightM = frameRect.heightMm / 2 / scale.mmPerM;
  const step = niceStep(WANTED_SPACING_MM / (scale.mmPerM * frame.metresPerUnit));
  const native = (origin: number, m: number): number => origin + m / frame.metresPerUnit;
  const xs = multiplesBetween(
    native(originX, centreM[0] - halfWidthM),
    native(originX, centreM[0] + halfWidthM),
    step,
  );
  const ys = multiplesBetween(
    native(originY, centreM[1] - halfHeightM),
    native(originY, centreM[1] + halfHeightM),
    step,
  );
  const pageX = (x: number): number => toPage(view, [(x - originX) * frame.metresPerUnit, 0])[0];
  const pageY = (y: number): number => toPage(view, [0, (y - originY) * frame.metresPerUnit])[1];
  const left = frameRect.xMm;
  const top = frameRect.yMm;
  const right = left + frameRect.widthMm;
  const bottom = top + frameRect.heightMm;

  const inside: SceneNode[] = xs.flatMap((x) =>
    ys.map((y): SceneNode => {
      const [px, py] = [pageX(x), pageY(y)];
      return {
        kind: 'path',
        segments: [
          ...polylineSegments([
            [px - CROSS_MM, py],
            [px + CROSS_MM, py],
          ]),
          ...polylineSegments([
            [px, py - CROSS_MM],
            [px, py + CROSS_MM],
          ]),
        ],
        stroke: HAIRLINE,
      };
    }),
  );

  const outside: SceneNode[] = [];
  const tick = (x1: number, y1: number, x2: number, y2: number): void => {
    outside.push({
      kind: 'path',
      segments: polylineSegments([
        [x1, y1],
        [x2, y2],
      ]),
      stroke: { ...NEAT_LINE, widthMm: 0.15 },
    });
  };
  const label = (text: string, xMm: number, yMm: number, rotationDeg: number): void => {
    const node: TextNode = {
      kind: 'text',
      text,
      xMm,
      yMm,
      sizePt: SMALL_PT - 0.5,
      face: 'regular',
      colour: SOFT_INK,
      anchor: 'middle',
      rotationDeg,
      role: 'coordinate',
    };
    outside.push(node);
  };
  for (const x of xs) {
    const px = pageX(x);
    tick(px, bottom, px, bottom + TICK_MM);
    tick(px, top, px, top + TICK_MM);
    const text = formatCoordinate(x);
    const half = measureText(text, 'regular', SMALL_PT) / 2;
    if (px - half >= left && px + half <= right) label(text, px, bottom + TICK_MM + 2, 0);
  }
  for (const y of ys) {
    const py = pageY(y);
    tick(left - TICK_MM, py, left, py);
    tick(right - TICK_MM, py, right, py);
    const text = formatCoordinate(y);
    const half = measureText(text, 'regular', SMALL_PT) / 2;
    if (py - half >= top && py + half <= bottom) label(text, left - TICK_MM - 0.6, py, -90);
  }
  return { inside, outside };
}
