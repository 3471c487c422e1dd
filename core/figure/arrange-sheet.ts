/** Where the template puts every part of a sheet, before a person moves any. */
import type { SheetKind } from '../contract/sheet.ts';
import { blockMakers, makeBlocks } from './block-makers.ts';
import { BLOCK_GAP_MM, type Block, type Flow, flowBlocks, flowLevel, placeBlock } from './blocks.ts';
import { describeBase } from './draw-map.ts';
import type { FigureInput, Orientation, PageName, SheetTemplate } from './figure-model.ts';
import { COLUMNS_SHARE, layoutMapPage, layoutPage, type MapLayout, splitColumns } from './layout.ts';
import { viewOf } from './map-panel.ts';
import { setTable } from './sample-table.ts';
import type { RectMm, SceneNode } from './scene.ts';

export interface PlacedPart {
  readonly id: string;
  /** From 1. */
  readonly page: number;
  readonly rect: RectMm;
  /** Where they stand on the page. */
  readonly nodes: readonly SceneNode[];
}

/** A table narrower than this would break most of its findings over many lines. */
const TABLE_WIDTH_MM = 180;
const LEAST_TABLE_MM = 32;
/** Width of a column of notes that reads well. */
const NOTES_WIDTH_MM = 92;
const CONTINUED = '-continued';

/** What of a part goes on elsewhere has its id with an ending. */
export function isContinuationOf(id: string, part: string): boolean {
  return id.startsWith(`${part}${CONTINUED}`);
}

/** In their order where all that must stand there then fits, else the longest first: they leave the least room unused. */
function flowWhole(blocks: readonly Block[], columns: readonly RectMm[]): Flow {
  const inOrder = flowBlocks(blocks, columns);
  if (inOrder.left.every((block) => !block.required)) return inOrder;
  const longestFirst = flowBlocks(blocks, columns, { longestFirst: true });
  return longestFirst.left.every((block) => !block.required) ? longestFirst : inOrder;
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
    const flow = flowWhole(makeBlocks(blockMakers(input, { template, remarks, named }), width), columns);
    if (flow.left.every((block) => !block.required)) return flow;
  }
  // Cautions first in line: whatever else is cut, they are not.
  const blocks = makeBlocks(blockMakers(input, { template, remarks, named: 0 }), width);
  const [first, rest] = [
    blocks.filter((b) => b.name === 'cautions'),
    blocks.filter((b) => b.name !== 'cautions'),
  ];
  return flowBlocks([...first, ...rest], columns, { cut: true });
}

/** So much of the body may be taken from a portrait map for blocks that could as well stand on page 2. */
const SHARE_FOR_MORE = 0.08;

/** A portrait sheet gives the columns what they must have, a little more where then all fits, and the rest to the map. */
export function chooseLayout(input: FigureInput, { page, orientation, template }: SheetKind): MapLayout {
  const { least, most, step } = COLUMNS_SHARE;
  const layoutOf = (share: number) => layoutMapPage(page, orientation, share, template === 'permit');
  if (orientation === 'landscape') return layoutOf(least);
  const widthMm = layoutOf(least).columns[0]?.widthMm ?? 0;
  const makers = blockMakers(input, { template: 'map', remarks: describeBase(input), named: 12 });
  const blocks = makeBlocks(makers, widthMm);
  const shares = Array.from(
    { length: Math.floor((most - least) / step + 1.001) },
    (_, i) => least + i * step,
  );
  const leftAt = (share: number) => flowWhole(blocks, layoutOf(share).columns).left;
  const enough = shares.find((share) => leftAt(share).every((block) => !block.required)) ?? most;
  const all = shares.find((share) => share >= enough && leftAt(share).length === 0);
  return layoutOf(all !== undefined && all - enough <= SHARE_FOR_MORE + 1e-9 ? all : enough);
}

/** The way of the page in which the lot comes out larger; a wide sheet where both are alike. */
export function chooseOrientation(input: FigureInput, page: PageName, template: SheetTemplate): Orientation {
  const [wide, tall] = (['landscape', 'portrait'] as const).map(
    (orientation) => viewOf(input, chooseLayout(input, { page, orientation, template }).frame).scale.mmPerM,
  );
  return (tall ?? 0) > (wide ?? 0) ? 'portrait' : 'landscape';
}

interface LaidTable {
  readonly nodes: readonly SceneNode[];
  readonly next: number;
  readonly heightMm: number;
}

/** The table in one column, or in two side by side on a wide sheet, from row `first` on; level where it ends here. */
function layTable(input: FigureInput, first: number, room: RectMm, mustAdvance: boolean): LaidTable {
  const columns = splitColumns(room, Math.max(1, Math.floor(room.widthMm / TABLE_WIDTH_MM)));
  const lay = (most: number): LaidTable => {
    const nodes: SceneNode[] = [];
    let [next, heightMm] = [first, 0];
    for (const column of columns) {
      if (next >= input.rows.length) break;
      const table = setTable(input, next, column, mustAdvance, next + most);
      nodes.push(...table.nodes);
      next = table.next;
      heightMm = Math.max(heightMm, table.heightMm);
    }
    return { nodes, next, heightMm };
  };
  const full = lay(Number.POSITIVE_INFINITY);
  if (columns.length === 1 || full.next < input.rows.length) return full;
  const level = lay(Math.ceil((input.rows.length - first) / columns.length));
  return level.next === full.next ? level : full;
}

/** Blocks that found no room on page 1, as wide as reads well; the tail of one that was cut keeps its width. */
function widen(
  input: FigureInput,
  left: readonly Block[],
  widthMm: number,
  context: Parameters<typeof blockMakers>[1],
): Block[] {
  const makers = new Map(blockMakers(input, context).map((maker) => [maker.id, maker]));
  return left.flatMap((block) => {
    const maker = makers.get(block.name);
    return maker === undefined ? [block] : (maker.make(widthMm) ?? []);
  });
}

/** Where a person put the table of samples. */
export interface TablePlace {
  readonly page: number;
  readonly rect: RectMm;
}

/** What did not fit on page 1, then the table, over as many pages as they take. */
function arrangeFurtherPages(
  input: FigureInput,
  sheet: SheetKind,
  left: readonly Block[],
  table: TablePlace | null,
): PlacedPart[] {
  const { body } = layoutPage(sheet.page, sheet.orientation);
  const parts: PlacedPart[] = [];
  let row = 0;
  const setPart = (page: number, room: RectMm, mustAdvance: boolean): void => {
    const laid = layTable(input, row, room, mustAdvance);
    if (laid.next === row) return;
    const id = row === 0 ? 'samples' : `samples${CONTINUED}-${page}`;
    const nodes: SceneNode[] = [{ kind: 'group', name: id, children: laid.nodes }];
    parts.push({ id, page, rect: { ...room, heightMm: laid.heightMm }, nodes });
    row = laid.next;
  };
  let waiting = table;
  const setWaiting = (page: number): void => {
    if (waiting !== null) setPart(page, waiting.rect, true);
    waiting = null;
  };
  if (waiting?.page === 1) setWaiting(1);
  // Here nothing is left for later: a block longer than a page is cut as often as it takes.
  const asRequired = (list: readonly Block[]) => list.map((block) => ({ ...block, required: true }));
  const context = { template: sheet.template, remarks: [], named: Number.POSITIVE_INFINITY };
  const setIn = (columns: readonly RectMm[]) =>
    asRequired(widen(input, left, columns[0]?.widthMm ?? body.widthMm, context));
  const count = Math.max(1, Math.round(body.widthMm / NOTES_WIDTH_MM));
  const [wide, narrow] = [splitColumns(body, count), splitColumns(body, count + 1)];
  const allFit = (columns: readonly RectMm[]) => flowBlocks(setIn(columns), columns).left.length === 0;
  // One column more where that keeps all notes on one page, rather than a few of them alone on the next.
  const columns = !allFit(wide) && allFit(narrow) ? narrow : wide;
  let blocks = setIn(columns);
  for (let page = 2; blocks.length > 0 || row < input.rows.length; page++) {
    const whole = flowLevel(blocks, columns);
    const flow = whole.left.length < blocks.length ? whole : flowBlocks(blocks, columns, { cut: true });
    for (const { block, rect } of flow.placed)
      parts.push({ id: block.name, page, rect, nodes: [placeBlock(block, rect.xMm, rect.yMm)] });
    blocks = asRequired(flow.left);
    // A page further on than there are any is the first without notes.
    if (waiting !== null && (page === waiting.page || blocks.length === 0)) {
      setWaiting(page);
      continue;
    }
    if (blocks.length > 0) continue;
    const used = Math.max(0, ...flow.usedMm);
    const taken = used === 0 ? 0 : used + 2 * BLOCK_GAP_MM;
    const room = { ...body, yMm: body.yMm + taken, heightMm: body.heightMm - taken };
    // A head with a row or two at the foot of a page would be read as the whole table.
    if (used === 0 || room.heightMm >= LEAST_TABLE_MM) setPart(page, room, used === 0);
  }
  return parts;
}

/** Texts, plots and table where the template puts them, on as many pages as they take. */
export function arrangeBlocks(
  input: FigureInput,
  sheet: SheetKind,
  layout: MapLayout,
  remarks: readonly string[],
  table: TablePlace | null,
): PlacedPart[] {
  const flow = flowFirstPage(input, layout.columns, remarks, sheet.template);
  const first = flow.placed.map(({ block, rect }) => ({
    id: block.name,
    page: 1,
    rect,
    nodes: [placeBlock(block, rect.xMm, rect.yMm)],
  }));
  return [...first, ...arrangeFurtherPages(input, sheet, flow.left, table)];
}
