/** A map with what makes it readable, for any rectangle: the sheet's large map, or a figure in a report. */
import { drawFlow, flowBlocks } from './blocks.ts';
import { legend, remarksBlock } from './column-blocks.ts';
import { drawMap } from './draw-map.ts';
import type { FigureInput, PageName } from './figure-model.ts';
import {
  describeNorth,
  describeSystem,
  drawNorthArrow,
  drawScaleBars,
  SCALE_BAR_WIDTH_MM,
} from './furniture.ts';
import { COORDINATES_MM, STRIP_MM, splitColumns } from './layout.ts';
import { boundsOf, fitMap, type MapView } from './map-view.ts';
import type { RectMm, SceneNode, Tag } from './scene.ts';
import { BODY_PT, INK, SMALL_PT, SOFT_INK } from './style.ts';
import { MM_PER_PT, wrapText } from './text.ts';

/** Between the neat line and the ground, so that labels at the lot line find room. */
const MAP_MARGIN_MM = 7;

/** How the ground lies in a frame: the lot in full, and the probes on or near it. */
export function viewOf(input: FigureInput, frame: RectMm): MapView {
  // The lot says what belongs on the sheet; a probe far off it must not shrink the map to nothing.
  const ground = boundsOf([...(input.lot ?? []), ...(input.footprint?.ring ?? [])]);
  const walkStart = input.walkM?.slice(0, 1) ?? [];
  const probes = boundsOf([...input.probes.map((probe) => probe.positionM), ...walkStart]);
  if (ground === null || probes === null) return fitMap(ground ?? probes, frame, MAP_MARGIN_MM, input.frame);
  const reachX = 0.5 * (ground.maxX - ground.minX);
  const reachY = 0.5 * (ground.maxY - ground.minY);
  const near = boundsOf([
    [Math.max(probes.minX, ground.minX - reachX), Math.max(probes.minY, ground.minY - reachY)],
    [Math.min(probes.maxX, ground.maxX + reachX), Math.min(probes.maxY, ground.maxY + reachY)],
    [ground.minX, ground.minY],
    [ground.maxX, ground.maxY],
  ]);
  return fitMap(near, frame, MAP_MARGIN_MM, input.frame);
}

const NORTH_WIDTH_MM = 8;
/** Words beside the scale bars take at least this; in a narrower room they stand below the bars. */
const LEAST_WORDS_MM = 40;

interface Furniture {
  readonly nodes: readonly SceneNode[];
  readonly heightMm: number;
}

/** Scale bars with scale and system in words, from the top left corner of the room. */
export function drawScale(input: FigureInput, view: MapView, room: RectMm, page: string): Furniture {
  const beside = room.widthMm - SCALE_BAR_WIDTH_MM - 4;
  const isBeside = beside >= LEAST_WORDS_MM;
  const textX = room.xMm + (isBeside ? SCALE_BAR_WIDTH_MM + 4 : 0);
  const width = isBeside ? beside : room.widthMm;
  const nodes: SceneNode[] = [
    {
      kind: 'group',
      name: 'scale-bars',
      tag: { role: 'Figure', alt: 'Scale bars in metres and in feet' },
      children: drawScaleBars(view.scale, input.frame, room.xMm, room.yMm + 1),
    },
  ];
  let y = room.yMm + (isBeside ? 4 : 15);
  const add = (
    text: string,
    sizePt: number,
    face: 'regular' | 'semibold',
    colour: string,
    role: string,
  ): void => {
    const tag: Tag = { role: 'P' };
    for (const line of wrapText(text, face, sizePt, width)) {
      nodes.push({
        kind: 'text',
        tag,
        text: line,
        xMm: textX,
        yMm: y,
        sizePt,
        face,
        colour,
        anchor: 'start',
        role,
      });
      y += sizePt * MM_PER_PT * 1.2;
    }
  };
  add(`Scale ${view.scale.text} on ${page}, printed at 100 %`, BODY_PT, 'semibold', INK, 'scale');
  add(
    `${describeSystem(input.frame)} ${describeNorth(input.frame)}`,
    SMALL_PT - 0.5,
    'regular',
    SOFT_INK,
    'system',
  );
  return { nodes, heightMm: Math.max(12, y - room.yMm - 1.5) };
}

/** Rooms under a map for scale and north. */
export function splitStrip(strip: RectMm): { readonly scale: RectMm; readonly north: RectMm } {
  const right = strip.xMm + strip.widthMm;
  return {
    scale: { ...strip, widthMm: strip.widthMm - NORTH_WIDTH_MM - 2 },
    north: { ...strip, xMm: right - NORTH_WIDTH_MM, widthMm: NORTH_WIDTH_MM, heightMm: 12.5 },
  };
}

export function drawNorth(input: FigureInput, room: RectMm): SceneNode[] {
  return [
    {
      kind: 'group',
      name: 'north-arrow',
      tag: { role: 'Figure', alt: `Arrow to the north: ${describeNorth(input.frame)}` },
      children: drawNorthArrow(input.frame, room.xMm + room.widthMm / 2, room.yMm + 0.5),
    },
  ];
}

/** Scale and north in a strip under a map. */
export function drawStrip(input: FigureInput, view: MapView, strip: RectMm, page: string): SceneNode[] {
  const { scale, north } = splitStrip(strip);
  return [...drawScale(input, view, scale, page).nodes, ...drawNorth(input, north)];
}

const LEGEND_COLUMNS = 2;

/** The map at a true scale, its strip and its legend, within a width and a height from (0, 0). */
export function composeMapPanel(
  input: FigureInput,
  widthMm: number,
  heightMm: number,
  page: PageName,
): { readonly nodes: readonly SceneNode[]; readonly heightMm: number } {
  const columnWidth =
    splitColumns({ xMm: 0, yMm: 0, widthMm, heightMm }, LEGEND_COLUMNS)[0]?.widthMm ?? widthMm;
  const key = legend(input, columnWidth);
  const belowMm = Math.max(key.heightMm, 12);
  const frame = {
    xMm: COORDINATES_MM,
    yMm: 1.6,
    widthMm: widthMm - COORDINATES_MM - 1.6,
    heightMm: heightMm - 1.6 - COORDINATES_MM - STRIP_MM - belowMm - 2,
  };
  const view = viewOf(input, frame);
  const map = drawMap(input, view);
  const strip = {
    xMm: frame.xMm,
    yMm: frame.yMm + frame.heightMm + COORDINATES_MM,
    widthMm: frame.widthMm,
    heightMm: STRIP_MM,
  };
  const below = { xMm: 0, yMm: strip.yMm + STRIP_MM + 2, widthMm, heightMm: belowMm };
  const remarks = remarksBlock(map.remarks, columnWidth);
  const flow = flowBlocks(remarks === null ? [key] : [key, remarks], splitColumns(below, LEGEND_COLUMNS));
  return {
    nodes: [...map.nodes, ...drawStrip(input, view, strip, page), ...drawFlow(flow)],
    heightMm: below.yMm + Math.max(...flow.usedMm),
  };
}
