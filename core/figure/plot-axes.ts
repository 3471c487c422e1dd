/** The frame of a small plot: axes, ticks, figures and titles, and where a number lies on the page. */
import { formatNumber } from '../contract/project-words.ts';
import { niceStep } from './map-view.ts';
import type { PointMm, RectMm, SceneNode, TextNode } from './scene.ts';
import { polylineSegments } from './scene.ts';
import { HAIRLINE, INK, SMALL_PT, SOFT_INK } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT } from './text.ts';

export interface PlotAxis {
  readonly from: number;
  readonly to: number;
  readonly title: string;
}

export interface PlotFrame {
  /** Inside the axes. */
  readonly area: RectMm;
  readonly nodes: readonly SceneNode[];
  at(x: number, y: number): PointMm;
}

const PLOT_PT = SMALL_PT - 0.5;
const LEFT_MM = 11;
const BELOW_MM = 8.5;
const WANTED_TICKS = 5;

export function plotText(text: string, xMm: number, yMm: number, more: Partial<TextNode> = {}): TextNode {
  return {
    kind: 'text',
    text,
    xMm,
    yMm,
    sizePt: PLOT_PT,
    face: 'regular',
    colour: SOFT_INK,
    anchor: 'middle',
    role: 'plot',
    ...more,
  };
}

function ticksOf(axis: PlotAxis): number[] {
  const step = niceStep((axis.to - axis.from) / WANTED_TICKS);
  const first = Math.ceil(axis.from / step - 1e-9);
  const last = Math.floor(axis.to / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * step);
}

/** The axes within `rect`, which also holds their figures and titles. */
export function drawPlotFrame(rect: RectMm, x: PlotAxis, y: PlotAxis): PlotFrame {
  const area = {
    xMm: rect.xMm + LEFT_MM,
    yMm: rect.yMm + 1.5,
    widthMm: rect.widthMm - LEFT_MM - 2.5,
    heightMm: rect.heightMm - 1.5 - BELOW_MM,
  };
  const bottom = area.yMm + area.heightMm;
  const at = (px: number, py: number): PointMm => [
    area.xMm + ((px - x.from) / (x.to - x.from)) * area.widthMm,
    bottom - ((py - y.from) / (y.to - y.from)) * area.heightMm,
  ];
  const nodes: SceneNode[] = [];
  const half = (CAP_HEIGHT / 2) * PLOT_PT * MM_PER_PT;
  const line = (from: PointMm, to: PointMm, stroke = HAIRLINE): void => {
    nodes.push({ kind: 'path', segments: polylineSegments([from, to]), stroke });
  };
  for (const value of ticksOf(y)) {
    const [, py] = at(x.from, value);
    line([area.xMm, py], [area.xMm + area.widthMm, py]);
    nodes.push(plotText(tickText(value), area.xMm - 1, py + half, { anchor: 'end' }));
  }
  const axisStroke = { colour: INK, widthMm: 0.18 };
  for (const value of ticksOf(x)) {
    const [px] = at(value, y.from);
    line([px, bottom], [px, bottom + 0.9], axisStroke);
    nodes.push(plotText(tickText(value), px, bottom + 3));
  }
  line([area.xMm, area.yMm], [area.xMm, bottom], axisStroke);
  line([area.xMm, bottom], [area.xMm + area.widthMm, bottom], axisStroke);
  nodes.push(
    plotText(x.title, area.xMm + area.widthMm / 2, bottom + 6.4, { colour: INK }),
    plotText(y.title, rect.xMm + 2.2, area.yMm + area.heightMm / 2, { colour: INK, rotationDeg: -90 }),
  );
  return { area, nodes, at };
}

function tickText(value: number): string {
  return value === 0
    ? '0'
    : formatNumber(value, Math.abs(value) >= 1000 ? 4 : 3)
        .replace(/(\.\d*?)0+$/, '$1')
        .replace(/\.$/, '');
}

/** A disc of radius `rMm`. */
export function disc([xMm, yMm]: PointMm, rMm: number, fill: string): SceneNode {
  const h = rMm * 0.5522847498;
  return {
    kind: 'path',
    segments: [
      ['M', xMm + rMm, yMm],
      ['C', xMm + rMm, yMm + h, xMm + h, yMm + rMm, xMm, yMm + rMm],
      ['C', xMm - h, yMm + rMm, xMm - rMm, yMm + h, xMm - rMm, yMm],
      ['C', xMm - rMm, yMm - h, xMm - h, yMm - rMm, xMm, yMm - rMm],
      ['C', xMm + h, yMm - rMm, xMm + rMm, yMm - h, xMm + rMm, yMm],
      ['Z'],
    ],
    fill,
  };
}
