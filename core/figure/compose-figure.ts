/** From what is known of a lot to finished pages. */
import type { Block, Flow } from './blocks.ts';
import { BLOCK_GAP_MM, flowBlocks } from './blocks.ts';
import { classDetail, classStatement } from './class-block.ts';
import {
  cautions,
  exceptions,
  legend,
  methodBlock,
  notesBlock,
  qualityBlock,
  remarksBlock,
  sheetDataBlock,
} from './column-blocks.ts';
import { drawMap } from './draw-map.ts';
import type { ComposeOptions, FigureInput, Orientation, PageName, SheetTemplate } from './figure-model.ts';
import { insetBlock } from './inset.ts';
import {
  COLUMNS_SHARE,
  columnsLike,
  layoutMapPage,
  layoutPage,
  type MapLayout,
  type PageLayout,
  splitColumns,
} from './layout.ts';
import { drawStrip, viewOf } from './map-panel.ts';
import { drawFooter, drawHeader } from './page-frame.ts';
import { crossValidationBlock, histogramBlock, variogramBlock } from './plots.ts';
import { setTable } from './sample-table.ts';
import type { RectMm, Scene, SceneNode } from './scene.ts';
import { drawTitleBlock } from './title-block.ts';

/** A table narrower than this would break most of its findings over many lines. */
const TABLE_WIDTH_MM = 180;
const LEAST_TABLE_MM = 32;

function present<T>(items: readonly (T | null)[]): T[] {
  return items.filter((item): item is T => item !== null);
}

function firstPageBlocks(
  input: FigureInput,
  widthMm: number,
  remarks: readonly string[],
  named: number,
  template: SheetTemplate,
): Block[] {
  const plots =
    template === 'quality'
      ? [
          histogramBlock(input, widthMm),
          variogramBlock(input, widthMm),
          crossValidationBlock(input, widthMm),
          ...(input.insets ?? []).map((inset) => insetBlock(input, inset, widthMm)),
        ]
      : [];
  return present([
    classStatement(input, widthMm),
    exceptions(input, widthMm, named),
    legend(input, widthMm),
    remarksBlock(remarks, widthMm),
    notesBlock(input, widthMm),
    cautions(input, widthMm),
    methodBlock(input, widthMm),
    qualityBlock(input, widthMm),
    ...plots,
    classDetail(input, widthMm),
    sheetDataBlock(input, widthMm, template === 'permit'),
  ]);
}

/** Blocks of page 1. Exceptions are named in full if they fit, else fewer, so that class and cautions never fall off. */
function flowFirstPage(
  input: FigureInput,
  columns: readonly RectMm[],
  remarks: readonly string[],
  template: SheetTemplate,
): Flow {
  const width = columns[0]?.widthMm ?? 0;
  for (const named of [12, 8, 5, 3, 1]) {
    const flow = flowBlocks(firstPageBlocks(input, width, remarks, named, template), columns);
    if (flow.left.every((block) => !block.required)) return flow;
  }
  // Cautions first in line: whatever else is cut, they are not.
  const blocks = firstPageBlocks(input, width, remarks, 0, template);
  const [first, rest] = [
    blocks.filter((b) => b.name === 'cautions'),
    blocks.filter((b) => b.name !== 'cautions'),
  ];
  return flowBlocks([...first, ...rest], columns, true);
}

/** So much of the body may be taken from a portrait map for blocks that could as well stand on page 2. */
const SHARE_FOR_MORE = 0.08;

/** A portrait sheet gives the columns what they must have, a little more where then all fits, and the rest to the map. */
function chooseLayout(
  input: FigureInput,
  page: PageName,
  orientation: Orientation,
  template: SheetTemplate,
): MapLayout {
  const { least, most, step } = COLUMNS_SHARE;
  const layoutOf = (share: number) => layoutMapPage(page, orientation, share, template === 'permit');
  if (orientation === 'landscape') return layoutOf(least);
  const widthMm = layoutOf(least).columns[0]?.widthMm ?? 0;
  const blocks = firstPageBlocks(input, widthMm, [], 12, 'map');
  const shares = Array.from(
    { length: Math.floor((most - least) / step + 1.001) },
    (_, i) => least + i * step,
  );
  const leftAt = (share: number) => flowBlocks(blocks, layoutOf(share).columns).left;
  const enough = shares.find((share) => leftAt(share).every((block) => !block.required)) ?? most;
  const all = shares.find((share) => share >= enough && leftAt(share).length === 0);
  return layoutOf(all !== undefined && all - enough <= SHARE_FOR_MORE + 1e-9 ? all : enough);
}

/** The way of the page in which the lot comes out larger; a wide sheet where both are alike. */
function chooseOrientation(input: FigureInput, page: PageName, template: SheetTemplate): Orientation {
  const [wide, tall] = (['landscape', 'portrait'] as const).map(
    (way) => viewOf(input, chooseLayout(input, page, way, template).frame).scale.mmPerM,
  );
  return (tall ?? 0) > (wide ?? 0) ? 'portrait' : 'landscape';
}

/** The table in one column, or in two side by side on a wide sheet, from row `first` on. */
function layTable(
  input: FigureInput,
  first: number,
  room: RectMm,
  mustAdvance: boolean,
): { nodes: SceneNode[]; next: number } {
  const nodes: SceneNode[] = [];
  let next = first;
  for (const column of splitColumns(room, Math.max(1, Math.floor(room.widthMm / TABLE_WIDTH_MM)))) {
    if (next >= input.rows.length) break;
    const table = setTable(input, next, column, mustAdvance);
    nodes.push(...table.nodes);
    next = table.next;
  }
  return { nodes, next };
}

/** What did not fit on page 1, then the table, over as many pages as they take. */
function composeFurtherPages(input: FigureInput, left: readonly Block[], layout: PageLayout): SceneNode[][] {
  const pages: SceneNode[][] = [];
  // Here nothing is left for later: a block longer than a page is cut as often as it takes.
  let blocks = left.map((block) => ({ ...block, required: true }));
  let row = 0;
  while (blocks.length > 0 || row < input.rows.length) {
    const { body } = layout;
    const columns = columnsLike(body, blocks[0]?.widthMm ?? body.widthMm);
    const whole = flowBlocks(blocks, columns);
    const flow = whole.left.length < blocks.length ? whole : flowBlocks(blocks, columns, true);
    const nodes: SceneNode[] = [...flow.nodes];
    blocks = flow.left.map((block) => ({ ...block, required: true }));
    if (blocks.length === 0) {
      const used = Math.max(0, ...flow.usedMm);
      const taken = used === 0 ? 0 : used + 2 * BLOCK_GAP_MM;
      const room = { ...body, yMm: body.yMm + taken, heightMm: body.heightMm - taken };
      // A head with a row or two at the foot of a page would be read as the whole table.
      const isStub = used > 0 && room.heightMm < LEAST_TABLE_MM;
      const table = isStub ? { nodes: [], next: row } : layTable(input, row, room, used === 0);
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
  const template = options.template ?? 'map';
  const orientation = options.orientation ?? chooseOrientation(input, page, template);
  const layout = chooseLayout(input, page, orientation, template);
  const view = viewOf(input, layout.frame);
  const map = drawMap(input, view);
  const flow = flowFirstPage(input, layout.columns, map.remarks, template);
  const first: SceneNode[] = [
    ...map.nodes,
    ...drawStrip(input, view, layout.strip, layout.page),
    { kind: 'group', name: 'title-block', children: drawTitleBlock(input, layout, view.scale.text) },
    ...flow.nodes,
  ];
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
