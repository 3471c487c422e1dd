/** Site plans as the map figure shows them: greyed, and cut to the ground around the lot. */
import type { PositionM, ProjectView } from '../contract/model.ts';
import type { SitePlanView } from '../contract/site-plans.ts';
import { asStored } from '../exchange/jpeg-orientation.ts';
import type { FigureBase } from '../figure/figure-model.ts';
import { boundsOf } from '../figure/map-view.ts';
import type { MutedPicture, PixelRect } from '../jobs/mute-picture.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { listSitePlans, sitePlanFile } from './site-plans.ts';

/** Of the longer side: finer than print at the scales of a sheet asks for, small enough for a file that is mailed. */
const MOST_PX = 2400;
/** A sheet shows ground beside the lot: at most its own size on every side. */
const AROUND_LOT = 1;

/** A sheet being arranged is drawn many times over the same plans. */
const muted = new Map<string, Promise<MutedPicture>>();
const MOST_KEPT = 4;

/** @returns the plans that the window's map shows, the lowest first; none where the figure is to be without */
export async function figureBase(
  store: ReadableStore,
  jobs: JobRunner,
  view: ProjectView,
  isWanted: boolean,
  context: RequestContext,
): Promise<FigureBase[]> {
  if (!isWanted) return [];
  const base: FigureBase[] = [];
  for (const plan of listSitePlans(store)) {
    if (!plan.isShown || plan.cornersM === null) continue;
    const part = partAround(plan, plan.cornersM, view);
    if (part !== null) base.push(baseOf(plan, plan.cornersM, await mute(store, jobs, plan, part, context)));
  }
  return base;
}

function mute(
  store: ReadableStore,
  jobs: JobRunner,
  plan: SitePlanView,
  part: PixelRect,
  context: RequestContext,
): Promise<MutedPicture> {
  const { bytes, mediaType, name, sha256 } = sitePlanFile(store, plan.id);
  const key = `${sha256} ${JSON.stringify(part)}`;
  const known = muted.get(key);
  if (known !== undefined) return known;
  const { widthPx, heightPx } = plan;
  const made = jobs.run(
    'mute-picture',
    {
      bytes: asStored(new Uint8Array(bytes)),
      mediaType,
      file: name,
      widthPx,
      heightPx,
      part,
      mostPx: MOST_PX,
    },
    context,
  );
  muted.set(key, made);
  made.catch(() => muted.delete(key));
  for (const oldest of [...muted.keys()].slice(0, -MOST_KEPT)) muted.delete(oldest);
  return made;
}

type Corners = NonNullable<SitePlanView['cornersM']>;

/** Metres a pixel goes east and north, along a row and down a column. */
function stepsOf({ widthPx, heightPx }: SitePlanView, [upperLeft, upperRight, , lowerLeft]: Corners) {
  const step = (to: PositionM, axis: 0 | 1, px: number) => (to[axis] - upperLeft[axis]) / px;
  return {
    a: step(upperRight, 0, widthPx),
    d: step(upperRight, 1, widthPx),
    b: step(lowerLeft, 0, heightPx),
    e: step(lowerLeft, 1, heightPx),
  };
}

/** The pixels that a sheet of the lot can show; the whole image where there is no lot, null where it lies off it. */
function partAround(plan: SitePlanView, corners: Corners, view: ProjectView): PixelRect | null {
  const { widthPx, heightPx } = plan;
  const lot = boundsOf([...(view.lot ?? []), ...view.probes.map((p) => p.positionM)]);
  if (view.lot === null || lot === null) return { column: 0, row: 0, widthPx, heightPx };
  const around = AROUND_LOT * Math.max(lot.maxX - lot.minX, lot.maxY - lot.minY);
  const { a, b, d, e } = stepsOf(plan, corners);
  const det = a * e - b * d;
  const pixels = [lot.minX - around, lot.maxX + around].flatMap((x) =>
    [lot.minY - around, lot.maxY + around].map((y) => {
      const [east, north] = [x - corners[0][0], y - corners[0][1]];
      return [(e * east - b * north) / det, (a * north - d * east) / det] as const;
    }),
  );
  const span = (axis: 0 | 1, most: number) => {
    const values = pixels.map((pixel) => pixel[axis]);
    const from = Math.max(0, Math.floor(Math.min(...values)));
    return { from, size: Math.min(most, Math.ceil(Math.max(...values))) - from };
  };
  const [columns, rows] = [span(0, widthPx), span(1, heightPx)];
  if (columns.size < 1 || rows.size < 1) return null;
  return { column: columns.from, row: rows.from, widthPx: columns.size, heightPx: rows.size };
}

function baseOf(plan: SitePlanView, corners: Corners, picture: MutedPicture): FigureBase {
  const { a, b, d, e } = stepsOf(plan, corners);
  const { png, widthPx, heightPx, part } = picture;
  const [across, down] = [part.widthPx / widthPx, part.heightPx / heightPx];
  const [x, y] = corners[0];
  return {
    png,
    widthPx,
    heightPx,
    matrix: [
      a * across,
      b * down,
      x + a * part.column + b * part.row,
      d * across,
      e * down,
      y + d * part.column + e * part.row,
    ],
    statement: picture.isBlank
      ? `Site plan "${plan.label}" is not under the map: there is no ink on this part of it, or its kind of image cannot be drawn (a JPEG in printing colours is one). Save it as PNG.`
      : describeBase(plan),
  };
}

const PLACED_WORDS = {
  'world-file': 'by its world file',
  geotiff: 'as the image itself says',
} as const;

/** Which plan, how it was placed, and how far off it may lie. Lengths in metres. */
export function describeBase(plan: SitePlanView): string {
  const name = `Under the map, greyed: site plan "${plan.label}"`;
  const end = 'Nothing is measured from it.';
  if (plan.placedBy === null || plan.placedBy !== 'points')
    return `${name}, placed ${plan.placedBy === null ? 'nowhere' : PLACED_WORDS[plan.placedBy]}; how far off it lies is not stated. ${end}`;
  const worst = [...plan.residuals].sort((p, q) => q.lengthM - p.lengthM)[0];
  const spread =
    plan.standardDeviationM === null || worst === undefined
      ? 'how far off it lies is not known'
      : `it lies off by up to ${worst.lengthM.toFixed(2)} m, at ${worst.label} (standard deviation ${plan.standardDeviationM.toFixed(2)} m)`;
  return [`${name}, placed by ${plan.points.length} control points; ${spread}.`, ...plan.warnings, end].join(
    ' ',
  );
}
