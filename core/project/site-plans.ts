/** Images of site plans: kept by content, placed by points or by their own files, shown under the map. */
import { existsSync, statSync } from 'node:fs';
import { basename, extname } from 'node:path';
import type { PositionM, ProjectCrs, ProjectFrame } from '../contract/model.ts';
import type { Input } from '../contract/requests.ts';
import type { SitePlanPoint, SitePlanView } from '../contract/site-plans.ts';
import { AppError } from '../errors.ts';
import { fitImage, type ImageFit, type ImageMatrix, placePixel } from '../exchange/fit-image.ts';
import { bad } from '../exchange/geometry.ts';
import {
  type ImagePlace,
  readGeoTiffPlace,
  readImageInfo,
  readWorldFile,
  worldFileEndings,
} from '../exchange/image-place.ts';
import { type PositionNative, toFrame } from '../geo/frame.ts';
import { convertTied } from '../geo/local-grid.ts';
import { boundingBox } from '../geo/planar.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { SitePlanRow } from '../store/rows.ts';
import { decodeText } from '../survey/decode-text.ts';
import { readWhole } from './files.ts';
import { frameOf, gridTie, lotNative, projectCrs } from './frame-of.ts';

/** A scan of a plan at 300 dots an inch on the largest sheets has less; more would hold up the window. */
const MOST_BYTES = 60e6;
const MOST_PIXELS = 60e6;
const FIRST_OPACITY = 0.6;
/** Lot sizes: farther off, the place is another one. */
const FAR_LOT_SIZES = 10;
/** A plan between two systems is not quite straight: this much, in pixels, is not seen. */
const BENT_PX = 1;
const MEDIA_TYPES = { png: 'image/png', jpeg: 'image/jpeg', tiff: 'image/tiff' } as const;

/** How an image is placed by points. */
type Placing = Omit<Input<'site-plan.place'>, 'id'>;

/**
 * Keeps an image and places it where it says itself where it lies.
 * @param placing - holds against what the image or the file beside it says
 * @throws AppError BAD_INPUT for another kind of file, for one too large, and for a place that is none
 */
export async function addSitePlan(
  store: ProjectStore,
  path: string,
  placing?: Placing,
): Promise<{ readonly id: string; readonly notes: readonly string[] }> {
  const file = basename(path);
  refuseLarge(path, file);
  const bytes = readWhole(path);
  const { format, widthPx, heightPx } = readImageInfo(bytes, file);
  if (widthPx * heightPx > MOST_PIXELS) {
    throw bad(
      `${file} has ${widthPx} by ${heightPx} pixels, ${Math.round((widthPx * heightPx) / 1e6)} million; at most ${MOST_PIXELS / 1e6} million are taken. Save it at a lower resolution.`,
      { file },
    );
  }
  const own = format === 'tiff' && placing === undefined ? await readGeoTiffPlace(bytes, file) : null;
  const beside = own === null && placing === undefined ? worldFileBeside(path) : null;
  const place = own ?? beside;
  const crs = projectCrs(store);
  const placed = place === null ? null : inProject(place, { widthPx, heightPx }, crs, store, file);
  const notes = place === null ? [] : [...place.notes, ...(placed?.notes ?? [])];
  const label = basename(file, extname(file));
  const size = { width_px: widthPx, height_px: heightPx };
  if (placing !== undefined) fitPoints({ ...size, fit: placing.fit }, placing.points, frameOf(store));
  const id = store.change('site-plan.add', `Add the site plan ${label}`, (tx) =>
    tx.insert('site_plan', {
      label,
      image_sha256: store.putAttachment(bytes, file, MEDIA_TYPES[format]),
      ...size,
      placed_by: placed === null ? null : own !== null ? 'geotiff' : 'world-file',
      matrix_json: placed === null ? null : JSON.stringify(placed.matrix),
      control_json: '[]',
      fit: 'similarity',
      opacity: FIRST_OPACITY,
      shown: 1,
      ...(placing === undefined ? {} : byPoints(placing)),
    }),
  );
  const plan = listSitePlans(store).find((one) => one.id === id);
  if (place === null && placing === undefined)
    notes.push(`${file} does not say where it lies: place it by two or more points seen in both.`);
  return { id, notes: [...notes, ...(plan?.warnings ?? [])] };
}

/** @throws AppError BAD_INPUT for too few points, a point off the image, and as `fitImage` */
export function placeSitePlan(store: ProjectStore, input: Input<'site-plan.place'>): void {
  const row = planRow(store, input.id);
  viewOf(store, { ...row, ...byPoints(input) });
  store.change('site-plan.place', `Place the site plan ${row.label} by ${input.points.length} points`, (tx) =>
    tx.update('site_plan', row.id, byPoints(input)),
  );
}

/** What `placeSitePlan` would give. @throws as it */
export function trySitePlan(store: ReadableStore, input: Input<'site-plan.try'>): SitePlanView {
  return viewOf(store, { ...planRow(store, input.id), ...byPoints(input) });
}

export function setSitePlan(
  store: ProjectStore,
  { id, label, opacity, isShown }: Input<'site-plan.set'>,
): void {
  const row = planRow(store, id);
  store.change('site-plan.set', `Change how the site plan ${row.label} is shown`, (tx) =>
    tx.update('site_plan', id, {
      ...(label === undefined ? {} : { label }),
      ...(opacity === undefined ? {} : { opacity }),
      ...(isShown === undefined ? {} : { shown: isShown ? 1 : 0 }),
    }),
  );
}

/** The bytes stay kept, so that undo brings the plan back. */
export function removeSitePlan(store: ProjectStore, id: string): void {
  const row = planRow(store, id);
  store.change('site-plan.remove', `Remove the site plan ${row.label}`, (tx) => tx.remove('site_plan', id));
}

/** In the order they were added: a later one lies on top. */
export function listSitePlans(store: ReadableStore): SitePlanView[] {
  return store.rows('site_plan').map((row) => viewOf(store, row));
}

/** @throws AppError NOT_FOUND; STORE_DAMAGED where the kept bytes were altered */
export function sitePlanFile(store: ReadableStore, id: string) {
  return store.attachment(planRow(store, id).image_sha256);
}

function planRow(store: ReadableStore, id: string): SitePlanRow {
  const row = store.row('site_plan', id);
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no site plan "${id}" in this project.`);
  return row;
}

function byPoints({ fit, points }: Placing) {
  return { placed_by: 'points', fit, control_json: JSON.stringify(points) } as const;
}

function viewOf(store: ReadableStore, row: SitePlanRow): SitePlanView {
  const frame = frameOf(store);
  const points = JSON.parse(row.control_json) as SitePlanPoint[];
  const fit = row.placed_by === 'points' ? fitPoints(row, points, frame) : null;
  const matrix = fit?.matrix ?? (row.matrix_json === null ? null : matrixInFrame(row.matrix_json, frame));
  const [w, h] = [row.width_px, row.height_px];
  const corner = (column: number, line: number): PositionM =>
    placePixel(matrix as ImageMatrix, [column, line]);
  const cornersM =
    matrix === null ? null : ([corner(0, 0), corner(w, 0), corner(w, h), corner(0, h)] as const);
  const name = store.attachments().find(({ sha256 }) => sha256 === row.image_sha256)?.name;
  return {
    id: row.id,
    label: row.label,
    file: name ?? row.image_sha256,
    widthPx: w,
    heightPx: h,
    placedBy: row.placed_by,
    fit: row.fit,
    points,
    residuals: fit?.residualsM ?? [],
    standardDeviationM: fit?.standardDeviationM ?? null,
    metresPerPixel:
      matrix === null ? null : Math.sqrt(Math.abs(matrix[0] * matrix[4] - matrix[1] * matrix[3])),
    cornersM,
    opacity: row.opacity,
    isShown: row.shown === 1,
    warnings: [...(fit?.warnings ?? []), ...(cornersM === null ? [] : farOff(store, frame, cornersM))],
  };
}

function fitPoints(
  row: Pick<SitePlanRow, 'width_px' | 'height_px' | 'fit'>,
  points: readonly SitePlanPoint[],
  frame: ProjectFrame,
): ImageFit {
  for (const { label, pixel } of points) {
    const [column, line] = pixel;
    if (column >= 0 && line >= 0 && column <= row.width_px && line <= row.height_px) continue;
    throw bad(
      `Control point "${label}" at column ${column}, row ${line} lies off the image of ${row.width_px} by ${row.height_px} pixels.`,
      { field: label },
    );
  }
  return fitImage(
    points.map(({ label, pixel, native }) => ({ label, pixel, atM: toFrame(frame, native) })),
    row.fit,
  );
}

function matrixInFrame(json: string, frame: ProjectFrame): ImageMatrix {
  const [a, b, c, d, e, f] = JSON.parse(json) as ImageMatrix;
  const k = frame.metresPerUnit;
  const [x, y] = toFrame(frame, [c, f]);
  return [a * k, b * k, x, d * k, e * k, y];
}

/** The image's own place in the project's coordinates; between two systems through its corners. */
function inProject(
  { matrix, crs }: ImagePlace,
  { widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number },
  own: ProjectCrs,
  store: ReadableStore,
  file: string,
): { readonly matrix: ImageMatrix; readonly notes: readonly string[] } {
  if (crs === null || JSON.stringify(crs) === JSON.stringify(own)) return { matrix, notes: [] };
  const pixels = [
    [0, 0],
    [widthPx, 0],
    [widthPx, heightPx],
    [0, heightPx],
  ] as const;
  let places: PositionNative[];
  try {
    places = convertTied(
      crs,
      own,
      gridTie(store),
      pixels.map((pixel) => placePixel(matrix, pixel)),
    );
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    throw new AppError(error.code, `${file}: ${error.message}`, { ...error.details, file }, error);
  }
  const fit = fitImage(
    pixels.map((pixel, i) => ({ label: `corner ${i + 1}`, pixel, atM: places[i] as PositionNative })),
    'affine',
  );
  const bent = Math.max(...fit.residualsM.map(({ lengthM }) => lengthM)) / fit.metresPerPixel;
  const notes =
    bent > BENT_PX
      ? [`${file} comes from another system; laid straight, it is off by up to ${bent.toFixed(1)} pixels.`]
      : [];
  return { matrix: fit.matrix, notes };
}

function farOff(store: ReadableStore, frame: ProjectFrame, cornersM: readonly PositionM[]): string[] {
  const lot = lotNative(store)?.map((point) => toFrame(frame, point));
  if (lot === undefined) return [];
  const [a, b] = [boundingBox(lot), boundingBox(cornersM)];
  const size = Math.hypot(a.maxX - a.minX, a.maxY - a.minY);
  const gap = Math.hypot(
    Math.max(0, a.minX - b.maxX, b.minX - a.maxX),
    Math.max(0, a.minY - b.maxY, b.minY - a.maxY),
  );
  if (gap === 0) return [];
  const far = gap > FAR_LOT_SIZES * size ? ' Is it in another system, or of another lot?' : '';
  return [`The image lies ${gap.toFixed(gap < 100 ? 1 : 0)} m off the lot.${far}`];
}

function worldFileBeside(path: string): ImagePlace | null {
  const stem = path.slice(0, path.length - extname(path).length);
  for (const ending of worldFileEndings(basename(path))) {
    const found = [ending, ending.toUpperCase()]
      .map((one) => `${stem}.${one}`)
      .find((one) => existsSync(one));
    if (found !== undefined) {
      const name = basename(found);
      return readWorldFile(decodeText(readWhole(found), name).text, name);
    }
  }
  return null;
}

/** Asked of the folder, before anything is read. */
function refuseLarge(path: string, file: string): void {
  const size = existsSync(path) ? statSync(path).size : 0;
  if (size <= MOST_BYTES) return;
  throw bad(
    `${file} has ${Math.round(size / 1e6)} MB; at most ${MOST_BYTES / 1e6} MB are taken, as the image is kept in the project. Save it smaller, or as JPEG.`,
    { file },
  );
}
