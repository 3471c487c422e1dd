/** A small map beside the large one: the error of the surface, or the chance of lying above a limit. */

import { contourBands } from '../contour/contour.ts';
import { chooseLevels } from '../contour/levels.ts';
import type { RingM } from '../contract/model.ts';
import { unitText } from '../contract/project-words.ts';
import type { SurfaceResult } from '../contract/results.ts';
import { fromKBqPerM3 } from '../units.ts';
import { type Block, BlockBuilder } from './blocks.ts';
import type { FigureInput, FigureInset } from './figure-model.ts';
import { boundsOf } from './map-view.ts';
import { disc, plotText } from './plot-axes.ts';
import type { PointMm } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import { FOOTPRINT_LINE, INK, SMALL_PT } from './style.ts';
import { widenValues } from './weak-ground.ts';
import { formatLevel } from './words.ts';

/** Pale to slate: one hue of its own, so that it is never read as radon. Lightness falls in even steps. */
const SHADES = ['#f3f5f7', '#d5dde4', '#b6c5d1', '#96acbd', '#7693a9', '#567a95'];
const PROBABILITY_LEVELS = [0, 0.05, 0.25, 0.5, 0.75, 0.95];
const SHAPE = 1.25;

export function insetShade(index: number, count: number): string {
  const at = count <= 1 ? 0 : Math.round((index / (count - 1)) * (SHADES.length - 1));
  return SHADES[at] ?? '#ffffff';
}

function spanOf(values: Float64Array): readonly [number, number] {
  return values.reduce<readonly [number, number]>(
    ([low, high], v) => (Number.isFinite(v) ? [Math.min(low, v), Math.max(high, v)] : [low, high]),
    [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY],
  );
}

/** Standard error of the estimate; null for a method without one. */
export function errorInset(
  surface: SurfaceResult,
  lot: RingM,
  unit: FigureInput['radonUnit'],
): FigureInset | null {
  const values = surface.standardErrorKBqPerM3;
  const [low, high] = spanOf(values);
  if (!Number.isFinite(low)) return null;
  const factor = fromKBqPerM3(1, unit);
  const levels = chooseLevels(low * factor, high * factor, [], SHADES.length).map((level) => level / factor);
  return {
    title: `Standard error of the surface, ${unitText(unit)}`,
    bands: contourBands(surface.grid, widenValues(surface.grid, values), levels, [[lot]]),
    labels: levels.map((level) => formatLevel(level, unit)),
  };
}

/** Chance that the ground at a place holds more than the scheme's highest limit; null where there is no such limit. */
export function probabilityInset(
  surface: SurfaceResult,
  lot: RingM,
  unit: FigureInput['radonUnit'],
): FigureInset | null {
  if (surface.exceedance === null) return null;
  const { limitKBqPerM3, probability } = surface.exceedance;
  const values = widenValues(surface.grid, probability);
  return {
    title: `Chance of more than ${formatLevel(limitKBqPerM3, unit)} ${unitText(unit)} at a place, %`,
    bands: contourBands(surface.grid, values, PROBABILITY_LEVELS, [[lot]]),
    labels: PROBABILITY_LEVELS.map((p) => String(Math.round(p * 100))),
  };
}

/** @param moreMm - height beyond, or short of, what the width asks for */
export function insetBlock(
  input: FigureInput,
  inset: FigureInset,
  widthMm: number,
  name = 'inset',
  moreMm = 0,
): Block {
  const block = new BlockBuilder(widthMm).heading(inset.title);
  const positions = [
    ...(input.lot ?? []),
    ...inset.bands.flatMap((b) => b.polygons.flatMap((polygon) => polygon[0] ?? [])),
  ];
  const bounds = boundsOf(positions);
  if (bounds === null) return block.build(name, false);
  const key = 13;
  const most = {
    widthMm: widthMm - key - 2,
    heightMm: Math.max(15, widthMm / SHAPE + moreMm),
  };
  const scale = Math.min(
    most.widthMm / Math.max(1e-6, bounds.maxX - bounds.minX),
    most.heightMm / Math.max(1e-6, bounds.maxY - bounds.minY),
  );
  const drawnMm = (bounds.maxY - bounds.minY) * scale;
  const top = block.yMm + 0.6;
  const at = ([x, y]: readonly [number, number]): PointMm => [
    (x - bounds.minX) * scale + 0.3,
    top + (bounds.maxY - y) * scale,
  ];
  const used = inset.bands.map((band, i) => ({
    band,
    label: inset.labels[i] ?? '',
    shade: insetShade(i, inset.bands.length),
  }));
  for (const { band, shade } of used) {
    const segments = band.polygons.flatMap((polygon) =>
      polygon.flatMap((ring) => polylineSegments(ring.map(at), true)),
    );
    if (segments.length > 0) {
      block.draw({ kind: 'path', segments, fill: shade, stroke: { colour: INK, widthMm: 0.08 } });
    }
  }
  if (input.lot !== null) {
    block.draw({
      kind: 'path',
      segments: polylineSegments(input.lot.map(at), true),
      stroke: { colour: INK, widthMm: 0.3 },
    });
  }
  if (input.footprint !== null) {
    block.draw({
      kind: 'path',
      segments: polylineSegments(input.footprint.ring.map(at), true),
      stroke: { ...FOOTPRINT_LINE, widthMm: 0.2 },
    });
  }
  const within = (x: number, y: number) =>
    x >= bounds.minX && x <= bounds.maxX && y >= bounds.minY && y <= bounds.maxY;
  for (const probe of input.probes) {
    if (within(...probe.positionM)) block.draw(disc(at(probe.positionM), 0.4, INK));
  }
  const keyX = widthMm - key + 1;
  used.toReversed().forEach(({ label, shade, band }, i) => {
    const y = top + i * 3.6;
    block.draw(
      {
        kind: 'path',
        segments: rectSegments({ xMm: keyX, yMm: y, widthMm: 3.4, heightMm: 3.6 }),
        fill: shade,
        stroke: { colour: INK, widthMm: 0.1 },
      },
      plotText(band.to === null ? `≥ ${label}` : label, keyX + 4.2, y + 3.5, {
        anchor: 'start',
        colour: INK,
      }),
    );
  });
  block.gap(Math.max(drawnMm, used.length * 3.6) + 1.6);
  return block
    .paragraph('Each figure stands at the lower edge of its shade. Dots: probes.', { sizePt: SMALL_PT })
    .build(name, false);
}
