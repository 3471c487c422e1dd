/** Scale bars and north. */

import type { ProjectFrame } from '../contract/model.ts';
import { isFootFrame } from '../contract/project-words.ts';
import { M_PER_FOOT, M_PER_US_SURVEY_FOOT } from '../units.ts';
import type { MapScale } from './map-view.ts';
import type { SceneNode, TextNode } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import { HAIR, INK, PAPER, SMALL_PT } from './style.ts';

const BAR_HEIGHT_MM = 0.9;
const SEGMENTS = 4;
/** One bar is at most this long with its last figures. */
export const SCALE_BAR_WIDTH_MM = 62;

function barText(text: string, xMm: number, yMm: number, anchor: TextNode['anchor']): TextNode {
  return {
    kind: 'text',
    text,
    xMm,
    yMm,
    sizePt: SMALL_PT - 0.5,
    face: 'regular',
    colour: INK,
    anchor,
    role: 'scale-bar',
  };
}

const LONGEST_BAR_MM = 50;

/** The longest of 1, 2, 5 x 10^n per segment with which the bar stays under its longest. */
function segmentLength(mmPerUnit: number): number {
  const most = LONGEST_BAR_MM / SEGMENTS / mmPerUnit;
  const decade = 10 ** Math.floor(Math.log10(most));
  return Math.max(...[1, 2, 5].map((step) => step * decade).filter((step) => step <= most * (1 + 1e-9)));
}

/** One bar: four segments by turns dark and light, figures above. (xMm, yMm) is its lower left corner. */
export function drawScaleBar(mmPerUnit: number, unit: string, xMm: number, yMm: number): SceneNode[] {
  const step = segmentLength(mmPerUnit);
  const length = step * mmPerUnit;
  const nodes: SceneNode[] = [];
  for (let i = 0; i < SEGMENTS; i++) {
    nodes.push({
      kind: 'path',
      segments: rectSegments({
        xMm: xMm + i * length,
        yMm: yMm - BAR_HEIGHT_MM,
        widthMm: length,
        heightMm: BAR_HEIGHT_MM,
      }),
      fill: i % 2 === 0 ? INK : PAPER,
      stroke: { colour: INK, widthMm: 0.12 },
    });
  }
  for (const i of [0, 2, 4]) {
    const text = String(Number((i * step).toPrecision(6)));
    nodes.push(barText(text, xMm + i * length, yMm - BAR_HEIGHT_MM - 0.8, 'middle'));
  }
  nodes.push(barText(unit, xMm + SEGMENTS * length + 1.6, yMm, 'start'));
  return nodes;
}

/** A metric bar and a foot bar; the sheet's own unit lies on top. The group is 11 mm high, its top left at (xMm, yMm). */
export function drawScaleBars(scale: MapScale, frame: ProjectFrame, xMm: number, yMm: number): SceneNode[] {
  const survey = Math.abs(frame.metresPerUnit - M_PER_US_SURVEY_FOOT) < 1e-9;
  const foot = {
    mm: scale.mmPerM * (survey ? M_PER_US_SURVEY_FOOT : M_PER_FOOT),
    unit: survey ? 'ft (US survey)' : 'ft',
  };
  const metre = { mm: scale.mmPerM, unit: 'm' };
  const [first, second] = isFootFrame(frame) ? [foot, metre] : [metre, foot];
  return [
    ...drawScaleBar(first.mm, first.unit, xMm + 1.5, yMm + 4),
    ...drawScaleBar(second.mm, second.unit, xMm + 1.5, yMm + 9.6),
  ];
}

/** Grid north, and true north where the angle between them is known. 12 mm high, centred on xMm, top at yMm. */
export function drawNorthArrow(frame: ProjectFrame, xMm: number, yMm: number): SceneNode[] {
  const tip = yMm + 2.6;
  const foot = yMm + 11.5;
  const nodes: SceneNode[] = [];
  if (frame.convergenceDeg !== null && Math.abs(frame.convergenceDeg) >= 0.05) {
    // Grid north east of true north: true north lies to the left of the arrow.
    const angle = (-frame.convergenceDeg * Math.PI) / 180;
    const reach = foot - tip;
    nodes.push({
      kind: 'path',
      segments: polylineSegments([
        [xMm, foot],
        [xMm + Math.sin(angle) * reach, foot - Math.cos(angle) * reach],
      ]),
      stroke: { colour: HAIR, widthMm: 0.18, dashMm: [0.7, 0.5] },
    });
  }
  nodes.push(
    {
      kind: 'path',
      segments: polylineSegments([
        [xMm, tip],
        [xMm, foot],
      ]),
      stroke: { colour: INK, widthMm: 0.2 },
    },
    {
      kind: 'path',
      segments: polylineSegments(
        [
          [xMm, tip],
          [xMm + 1.25, tip + 4.4],
          [xMm, tip + 3.5],
        ],
        true,
      ),
      fill: INK,
      stroke: { colour: INK, widthMm: 0.12, join: 'round' },
    },
    {
      kind: 'path',
      segments: polylineSegments(
        [
          [xMm, tip],
          [xMm - 1.25, tip + 4.4],
          [xMm, tip + 3.5],
        ],
        true,
      ),
      fill: PAPER,
      stroke: { colour: INK, widthMm: 0.12, join: 'round' },
    },
    {
      kind: 'text',
      text: 'N',
      xMm,
      yMm: yMm + 1.8,
      sizePt: 7.5,
      face: 'semibold',
      colour: INK,
      anchor: 'middle',
      role: 'north',
    },
  );
  return nodes;
}

/** What the arrow means, in words. */
export function describeNorth(frame: ProjectFrame): string {
  const grid = frame.crs.kind === 'local' ? 'North of the local grid' : 'Grid north';
  const angle = frame.convergenceDeg;
  if (angle === null) return `${grid}; its angle to true north is not known.`;
  if (Math.abs(angle) < 0.005) return `${grid}, here the same as true north.`;
  return `${grid}; true north lies ${Math.abs(angle).toFixed(2)}° ${angle > 0 ? 'west' : 'east'} of it.`;
}

/** The system of the figures on the frame, its code and what a tape would measure. */
export function describeSystem(frame: ProjectFrame): string {
  const isNamed = frame.crs.kind !== 'epsg' || frame.crsName.includes(`EPSG:${frame.crs.code}`);
  const code = isNamed || frame.crs.kind !== 'epsg' ? '' : ` (EPSG:${frame.crs.code})`;
  const factor =
    frame.gridScaleFactor === 1
      ? ''
      : ` Distance on the ground = distance on the map ÷ ${frame.gridScaleFactor.toFixed(6)}.`;
  return `Coordinates on the frame: ${frame.crsName}${code}, x east and y north in ${frame.unitLabel}.${factor}`;
}
