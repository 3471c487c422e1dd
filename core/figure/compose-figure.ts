/** From what is known of a lot to finished pages. */
import type { Block } from './blocks.ts';
import { BLOCK_GAP_MM, flowBlocks } from './blocks.ts';
import { classDetail, classStatement } from './class-block.ts';
import { cautions, exceptions, legend, methodBlock, qualityBlock, remarksBlock } from './column-blocks.ts';
import { drawMap } from './draw-map.ts';
import type { ComposeOptions, FigureInput } from './figure-model.ts';
import {
  describeNorth,
  describeSystem,
  drawNorthArrow,
  drawScaleBars,
  SCALE_BAR_WIDTH_MM,
} from './furniture.ts';
import { layoutMapPage, layoutPage, type MapLayout, type PageLayout, splitColumns } from './layout.ts';
import { boundsOf, fitMap, type MapView } from './map-view.ts';
import { drawFooter, drawHeader } from './page-frame.ts';
import { setTable } from './sample-table.ts';
import type { RectMm, Scene, SceneNode } from './scene.ts';
import { BODY_PT, INK, SMALL_PT, SOFT_INK } from './style.ts';
import { MM_PER_PT, wrapText } from './text.ts';

/** Between the neat line and the ground, so that labels at the lot line find room. */
const MAP_MARGIN_MM = 9;

function present<T>(items: readonly (T | null)[]): T[] {
  return items.filter((item): item is T => item !== null);
}

function viewOf(input: FigureInput, layout: MapLayout): MapView {
  // The lot says what belongs on the sheet; a probe far off it must not shrink the map to nothing.
  const ground = boundsOf([...(input.lot ?? []), ...(input.footprint?.ring ?? [])]);
  const probes = boundsOf(input.probes.map((probe) => probe.positionM));
  if (ground === null || probes === null)
    return fitMap(ground ?? probes, layout.frame, MAP_MARGIN_MM, input.frame);
  const reachX = 0.5 * (ground.maxX - ground.minX);
  const reachY = 0.5 * (ground.maxY - ground.minY);
  const near = boundsOf([
    [Math.max(probes.minX, ground.minX - reachX), Math.max(probes.minY, ground.minY - reachY)],
    [Math.min(probes.maxX, ground.maxX + reachX), Math.min(probes.maxY, ground.maxY + reachY)],
    [ground.minX, ground.minY],
    [ground.maxX, ground.maxY],
  ]);
  return fitMap(near, layout.frame, MAP_MARGIN_MM, input.frame);
}

function drawStrip(input: FigureInput, view: MapView, layout: MapLayout): SceneNode[] {
  const { strip } = layout;
  const textX = strip.xMm + SCALE_BAR_WIDTH_MM + 4;
  const arrowX = strip.xMm + strip.widthMm - 4;
  const width = arrowX - 6 - textX;
  const nodes = [
    ...drawScaleBars(view.scale, input.frame, strip.xMm, strip.yMm + 1),
    ...drawNorthArrow(input.frame, arrowX, strip.yMm + 0.5),
  ];
  let y = strip.yMm + 4;
  const add = (
    text: string,
    sizePt: number,
    face: 'regular' | 'semibold',
    colour: string,
    role: string,
  ): void => {
    for (const line of wrapText(text, face, sizePt, width)) {
      nodes.push({
        kind: 'text',
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
  add(`Scale ${view.scale.text} on ${layout.page}, printed at 100 %`, BODY_PT, 'semibold', INK, 'scale');
  add(
    `${describeSystem(input.frame)} ${describeNorth(input.frame)}`,
    SMALL_PT - 0.5,
    'regular',
    SOFT_INK,
    'system',
  );
  return nodes;
}

/** Blocks of page 1. Exceptions are named in full if they fit, else fewer, so that class and cautions never fall off. */
function flowFirstPage(
  input: FigureInput,
  columns: readonly RectMm[],
  remarks: readonly string[],
): { nodes: readonly SceneNode[]; left: readonly Block[] } {
  const width = columns[0]?.widthMm ?? 0;
  const blocksWith = (most: number): Block[] =>
    present([
      classStatement(input, width),
      exceptions(input, width, most),
      legend(input, width),
      remarksBlock(remarks, width),
      cautions(input, width),
      methodBlock(input, width),
      qualityBlock(input, width),
      classDetail(input, width),
    ]);
  for (const most of [12, 8, 5, 3, 1]) {
    const flow = flowBlocks(blocksWith(most), columns);
    if (flow.left.every((block) => !block.required)) return flow;
  }
  return flowBlocks(blocksWith(0), columns);
}

/** What did not fit on page 1, then the table, over as many pages as they take. */
function composeFurtherPages(input: FigureInput, left: readonly Block[], layout: PageLayout): SceneNode[][] {
  const pages: SceneNode[][] = [];
  let blocks = left;
  let row = 0;
  while (blocks.length > 0 || row < input.rows.length) {
    const { body } = layout;
    const flow = flowBlocks(blocks, splitColumns(body, Math.max(2, Math.round(body.widthMm / 66))));
    const stuck = blocks.length > 0 && flow.left.length === blocks.length;
    const nodes: SceneNode[] = [...flow.nodes];
    blocks = stuck ? [] : flow.left;
    if (blocks.length === 0) {
      const used = Math.max(0, ...flow.usedMm);
      const taken = used === 0 ? 0 : used + 2 * BLOCK_GAP_MM;
      const room = { ...body, yMm: body.yMm + taken, heightMm: body.heightMm - taken };
      const table = setTable(input, row, room, used === 0);
      nodes.push({ kind: 'group', name: 'samples', children: table.nodes });
      row = table.next;
    }
    pages.push(nodes);
  }
  return pages;
}

/**
 * The finished pages: the map sheet first, then notes that found no room there and the table of samples.
 * Cautions and class stand on page 1 always; nothing is printed outside the margins.
 */
export function composeFigure(input: FigureInput, options: ComposeOptions = {}): Scene[] {
  const page = options.page ?? 'A4';
  const orientation = options.orientation ?? 'landscape';
  const layout = layoutMapPage(page, orientation);
  const view = viewOf(input, layout);
  const map = drawMap(input, view);
  const flow = flowFirstPage(input, layout.columns, map.remarks);
  const first: SceneNode[] = [...map.nodes, ...drawStrip(input, view, layout), ...flow.nodes];
  const further = composeFurtherPages(input, flow.left, layoutPage(page, orientation));
  const pages = [first, ...further];
  return pages.map((nodes, i) => ({
    widthMm: layout.widthMm,
    heightMm: layout.heightMm,
    title: `${input.title}: ${input.projectName}`,
    nodes: [
      {
        kind: 'group',
        name: 'header',
        children: drawHeader(input, layout, i === 0 ? null : 'Samples and notes'),
      },
      ...nodes,
      { kind: 'group', name: 'footer', children: drawFooter(input, layout, i + 1, pages.length) },
    ],
  }));
}
