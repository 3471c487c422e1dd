/** Where things stand on a page. Sizes: ISO 216 (A4, A3), ASME Y14.1 and ANSI X3.151 (Letter 8.5 x 11 in, Tabloid 11 x 17 in). */
import type { Orientation, PageName } from './figure-model.ts';
import type { RectMm } from './scene.ts';

const PORTRAIT_MM: Record<PageName, readonly [widthMm: number, heightMm: number]> = {
  A4: [210, 297],
  A3: [297, 420],
  Letter: [215.9, 279.4],
  Tabloid: [279.4, 431.8],
};

export const HEADER_MM = 15;
export const FOOTER_MM = 8.5;
export const STRIP_MM = 13;
/** Room left of and under the neat line for coordinates. */
export const COORDINATES_MM = 5;
const COLUMN_GAP_MM = 5;
const TITLE_BLOCK_MM = 29;

export interface PageLayout {
  readonly page: PageName;
  readonly widthMm: number;
  readonly heightMm: number;
  /** Inside the margins. */
  readonly body: RectMm;
  readonly header: RectMm;
  readonly footer: RectMm;
}

export interface MapLayout extends PageLayout {
  readonly frame: RectMm;
  /** Scale bars, north and the coordinate system, under the map. */
  readonly strip: RectMm;
  readonly columns: readonly RectMm[];
  /** Only on a sheet for a permit office. */
  readonly titleBlock: RectMm | null;
}

export function layoutPage(page: PageName, orientation: Orientation): PageLayout {
  const [short, long] = PORTRAIT_MM[page];
  const [widthMm, heightMm] = orientation === 'portrait' ? [short, long] : [long, short];
  const margin = page === 'A4' || page === 'Letter' ? 11 : 14;
  const inner = { xMm: margin, widthMm: widthMm - 2 * margin };
  const bodyTop = margin + HEADER_MM;
  return {
    page,
    widthMm,
    heightMm,
    header: { ...inner, yMm: margin, heightMm: HEADER_MM },
    footer: { ...inner, yMm: heightMm - margin - FOOTER_MM + 2, heightMm: FOOTER_MM - 2 },
    body: { ...inner, yMm: bodyTop, heightMm: heightMm - margin - FOOTER_MM - bodyTop },
  };
}

export function splitColumns(rect: RectMm, count: number): RectMm[] {
  const widthMm = (rect.widthMm - (count - 1) * COLUMN_GAP_MM) / count;
  return Array.from({ length: count }, (_, i) => ({
    ...rect,
    xMm: rect.xMm + i * (widthMm + COLUMN_GAP_MM),
    widthMm,
  }));
}

/** Between the neat line and the edge of the map's part, above and at the right. */
const FRAME_EDGE_MM = 1.6;

/** The neat line within the map's part, whose left and lower edges carry coordinates. */
export function frameIn(part: RectMm): RectMm {
  return {
    xMm: part.xMm + COORDINATES_MM,
    yMm: part.yMm + FRAME_EDGE_MM,
    widthMm: part.widthMm - COORDINATES_MM,
    heightMm: part.heightMm - FRAME_EDGE_MM - COORDINATES_MM,
  };
}

/** The map's part around a neat line. */
export function outerOf(frame: RectMm): RectMm {
  return {
    xMm: frame.xMm - COORDINATES_MM,
    yMm: frame.yMm - FRAME_EDGE_MM,
    widthMm: frame.widthMm + COORDINATES_MM,
    heightMm: frame.heightMm + FRAME_EDGE_MM + COORDINATES_MM,
  };
}

/** Least and most height of the columns under a portrait map, as parts of the body. */
export const COLUMNS_SHARE = { least: 0.24, most: 0.5, step: 0.02 } as const;

/** Map at the left and one column at the right, or map above and three columns below that take `columnsShare`. */
export function layoutMapPage(
  page: PageName,
  orientation: Orientation,
  columnsShare: number,
  hasTitleBlock = false,
): MapLayout {
  const base = layoutPage(page, orientation);
  const landscape = orientation === 'landscape';
  const columnWidth = page === 'A4' || page === 'Letter' ? 74 : 92;
  const mapWidth = landscape ? base.body.widthMm - columnWidth - COLUMN_GAP_MM : base.body.widthMm;
  const titleBlock = hasTitleBlock
    ? {
        xMm: base.body.xMm,
        yMm: base.body.yMm + base.body.heightMm - TITLE_BLOCK_MM,
        widthMm: mapWidth,
        heightMm: TITLE_BLOCK_MM,
      }
    : null;
  // The title block lies under the map; on a wide sheet the column beside it keeps its height.
  const taken = titleBlock === null ? 0 : TITLE_BLOCK_MM + (landscape ? 2 : COLUMN_GAP_MM / 2);
  const body = { ...base.body, heightMm: base.body.heightMm - taken };
  const columnsHeight = landscape ? body.heightMm : body.heightMm * columnsShare;
  const mapHeight = landscape ? body.heightMm : body.heightMm - columnsHeight - COLUMN_GAP_MM;
  const frame = {
    xMm: body.xMm + COORDINATES_MM,
    yMm: body.yMm + 1.6,
    widthMm: mapWidth - COORDINATES_MM,
    heightMm: mapHeight - 1.6 - COORDINATES_MM - STRIP_MM,
  };
  const strip = {
    xMm: frame.xMm,
    yMm: frame.yMm + frame.heightMm + COORDINATES_MM,
    widthMm: frame.widthMm,
    heightMm: STRIP_MM,
  };
  const columns = landscape
    ? [{ ...base.body, xMm: body.xMm + body.widthMm - columnWidth, widthMm: columnWidth }]
    : splitColumns({ ...body, yMm: body.yMm + body.heightMm - columnsHeight, heightMm: columnsHeight }, 3);
  return { ...base, frame, strip, columns, titleBlock };
}
