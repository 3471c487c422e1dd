/** From what is known of a lot to finished pages. */
import type { SheetChanges, SheetKind, SheetLayoutView, SheetPartView } from '../contract/sheet.ts';
import {
  arrangeBlocks,
  chooseLayout,
  chooseOrientation,
  isContinuationOf,
  type PlacedPart,
} from './arrange-sheet.ts';
import { closeGaps, sayGaps } from './close-gaps.ts';
import { drawMap } from './draw-map.ts';
import type { ComposeOptions, FigureInput } from './figure-model.ts';
import { frameIn, type MapLayout, outerOf } from './layout.ts';
import { drawNorth, drawScale, splitStrip, viewOf } from './map-panel.ts';
import type { MapView } from './map-view.ts';
import { fitOnPaper, lieOver, moveBlock, sayWhatIsCovered, sayWhatIsOdd, withBacking } from './move-parts.ts';
import { drawFooter, drawHeader } from './page-frame.ts';
import type { RectMm, Scene, SceneNode } from './scene.ts';
import { EDGE_MM, partRule } from './sheet-parts.ts';
import { drawTitleBlock } from './title-block.ts';

export interface ComposedSheet {
  readonly scenes: readonly Scene[];
  readonly layout: SheetLayoutView;
}

function group(name: string, children: readonly SceneNode[]): SceneNode {
  return { kind: 'group', name, children };
}

/** Furniture of page 1 that is no text block: scale, north and, on a permit sheet, the title block. */
function drawFurniture(
  input: FigureInput,
  view: MapView,
  layout: MapLayout,
  sheet: SheetKind,
  changes: SheetChanges,
): PlacedPart[] {
  const strip = splitStrip(layout.strip);
  const place = (id: string, own: RectMm, needMm: number): { page: number; rect: RectMm } => {
    const put = changes[id]?.place ?? null;
    return put === null ? { page: 1, rect: own } : { page: put.page, rect: fitOnPaper(put, needMm, sheet) };
  };
  const wanted = changes['scale']?.place ?? { page: 1, ...strip.scale };
  const need = drawScale(input, view, wanted, layout.page).heightMm;
  const scale = place('scale', { ...strip.scale, heightMm: need }, need);
  const north = place('north', strip.north, strip.north.heightMm);
  const parts: PlacedPart[] = [
    { id: 'scale', ...scale, nodes: [group('scale', drawScale(input, view, scale.rect, layout.page).nodes)] },
    { id: 'north', ...north, nodes: [group('north', drawNorth(input, north.rect))] },
  ];
  if (layout.titleBlock !== null) {
    const at = place('title-block', layout.titleBlock, 0);
    const nodes = drawTitleBlock(input, at.rect, view.scale.text, layout.page);
    parts.push({ id: 'title-block', ...at, nodes: [group('title-block', nodes)] });
  }
  return parts;
}

/**
 * The finished pages and where their parts stand: the map sheet first, then notes that found no room there and the
 * table of samples. Cautions and class stand on page 1 always; nothing is printed outside the margins unless a person
 * put it there.
 */
export function composeSheet(input: FigureInput, options: ComposeOptions = {}): ComposedSheet {
  const page = options.page ?? 'A4';
  const template = options.template ?? 'map';
  const orientation = options.orientation ?? chooseOrientation(input, page, template);
  const sheet: SheetKind = { template, page, orientation };
  const changes = typeof options.changes === 'function' ? options.changes(sheet) : (options.changes ?? {});
  const layout = chooseLayout(input, sheet);
  const put = (id: string): RectMm | null => changes[id]?.place ?? null;

  const mapRect = put('map') ?? outerOf(layout.frame);
  const view = viewOf(input, frameIn(mapRect));
  const map = drawMap(input, view);
  const table = changes['samples']?.place ?? null;
  const arranged = arrangeBlocks(
    input,
    sheet,
    layout,
    map.remarks,
    table === null ? null : { page: table.page, rect: table },
  );
  const all: PlacedPart[] = [
    { id: 'map', page: 1, rect: mapRect, nodes: map.nodes },
    ...drawFurniture(input, view, layout, sheet, changes),
    ...arranged,
  ];
  const lastPage = Math.max(...all.map((part) => part.page));
  const unfit: string[] = [];
  const standing = all.flatMap((part): PlacedPart[] => {
    const whole = all.find((other) => isContinuationOf(part.id, other.id));
    const change = changes[whole?.id ?? part.id];
    const isBlock = arranged.includes(part) && !part.id.startsWith('samples');
    if (!isBlock || (change?.place ?? null) === null) return [part];
    if (whole !== undefined) return unfit.includes(whole.id) ? [part] : [];
    const moved = change?.place
      ? moveBlock(input, sheet, map.remarks, part.id, {
          ...change.place,
          page: Math.min(change.place.page, lastPage),
        })
      : null;
    if (moved === null) unfit.push(part.id);
    return [moved ?? part];
  });
  const hidden = standing
    .map((part) => part.id)
    .filter((id) => changes[id]?.hidden === true && partRule(id).canHide);
  const isHidden = (part: PlacedPart) =>
    hidden.includes(part.id) || hidden.some((id) => isContinuationOf(part.id, id));
  const shown = standing.filter((part) => !isHidden(part));
  const pageCount = Math.max(...shown.map((part) => part.page));

  const closing = Object.keys(changes).length === 0 ? {} : closeGaps({ template: arranged, shown });
  const header = put('header') ?? layout.header;
  const footer = put('footer') ?? layout.footer;
  const framed: PlacedPart[] = [
    { id: 'header', page: 1, rect: header, nodes: [] },
    ...shown,
    { id: 'footer', page: 1, rect: footer, nodes: [] },
  ];
  return {
    scenes: drawPages(input, layout, shown, changes, { pageCount, header, footer }),
    layout: {
      ...sheet,
      widthMm: layout.widthMm,
      heightMm: layout.heightMm,
      marginMm: layout.header.xMm,
      edgeMm: EDGE_MM,
      parts: viewParts(
        [framed[0] as PlacedPart, ...standing, framed.at(-1) as PlacedPart],
        changes,
        hidden,
        unfit,
      ),
      remarks: [
        ...sayWhatIsOdd(framed, changes, hidden, unfit),
        ...sayWhatIsCovered(shown, input, view),
        ...sayGaps(closing),
      ],
      closing,
    },
  };
}

function drawPages(
  input: FigureInput,
  layout: MapLayout,
  parts: readonly PlacedPart[],
  changes: SheetChanges,
  frame: { readonly pageCount: number; readonly header: RectMm; readonly footer: RectMm },
): Scene[] {
  const { pageCount, header, footer } = frame;
  // What was moved lies over what was not, and what must always be seen over all.
  const rank = ({ id }: PlacedPart): number =>
    (changes[id]?.place ?? null) === null ? 0 : partRule(id).canHide ? 1 : id === 'map' ? 0 : 2;
  const ordered = [...parts].sort((a, b) => rank(a) - rank(b));
  return Array.from({ length: pageCount }, (_, i): Scene => {
    const own = ordered.filter((part) => part.page === i + 1);
    const drawn = own.map((part, k) => {
      const isOver = rank(part) > 0 && own.slice(0, k).some((other) => lieOver(part.rect, other.rect));
      return isOver ? withBacking(part) : part;
    });
    return {
      widthMm: layout.widthMm,
      heightMm: layout.heightMm,
      title: `${input.title}: ${input.projectName}`,
      nodes: [
        group('header', drawHeader(input, header, i === 0 ? null : 'Samples and notes')),
        ...drawn.flatMap((part) => part.nodes),
        group('footer', drawFooter(input, footer, i + 1, pageCount)),
      ],
    };
  });
}

function viewParts(
  parts: readonly PlacedPart[],
  changes: SheetChanges,
  hidden: readonly string[],
  unfit: readonly string[],
): SheetPartView[] {
  return parts
    .filter((part) => !parts.some((other) => isContinuationOf(part.id, other.id)))
    .map(({ id, page, rect: { xMm, yMm, widthMm, heightMm } }) => ({
      id,
      ...partRule(id),
      page,
      xMm,
      yMm,
      widthMm,
      heightMm,
      hidden: hidden.includes(id),
      moved: (changes[id]?.place ?? null) !== null && !unfit.includes(id),
    }));
}

/** The pages of `composeSheet`. */
export function composeFigure(input: FigureInput, options: ComposeOptions = {}): readonly Scene[] {
  return composeSheet(input, options).scenes;
}
