/** Where a site plan's image lies, as its own file or the one beside it says: world files and GeoTIFF. */
import { fromArrayBuffer, type GeoTIFFImage } from 'geotiff';
import type { ProjectCrs } from '../contract/model.ts';
import { systemByCode } from '../geo/crs-table.ts';
import type { ImageMatrix } from './fit-image.ts';
import { bad } from './geometry.ts';

export interface ImageInfo {
  readonly format: 'png' | 'jpeg' | 'tiff';
  readonly widthPx: number;
  readonly heightPx: number;
}

export interface ImagePlace {
  /** To coordinates of `crs` in its unit. */
  readonly matrix: ImageMatrix;
  /** Null where the file names none: then the coordinates are taken as the project's own. */
  readonly crs: ProjectCrs | null;
  readonly notes: readonly string[];
}

/** Endings of the world file beside an image: the first and last letter of its own with a w, its own with a w, wld. */
export function worldFileEndings(imageFile: string): string[] {
  const ending = /\.([^.]+)$/.exec(imageFile)?.[1]?.toLowerCase() ?? '';
  const short = ending.length < 2 ? [] : [`${ending[0]}${ending.at(-1)}w`];
  return [...new Set([...short, `${ending}w`, 'wld'])];
}

/**
 * The six numbers of a world file: one a line, in the order a, d, b, e and the middle of the upper left pixel.
 * @throws AppError BAD_INPUT naming file and row
 */
export function readWorldFile(text: string, file: string): ImagePlace {
  const lines = text.split(/\r\n?|\n/).map((line) => line.trim());
  while (lines.at(-1) === '') lines.pop();
  if (lines.length !== 6) {
    throw bad(`${file} has ${lines.length} lines; a world file has six numbers, one a line.`, { file });
  }
  const [a = 0, d = 0, b = 0, e = 0, x = 0, y = 0] = lines.map((line, i) => {
    const value = Number(line.replace(',', '.'));
    if (line !== '' && Number.isFinite(value)) return value;
    throw bad(`Row ${i + 1} of ${file} is "${line}", not a number.`, { file, row: i + 1 });
  });
  if (a * e - b * d === 0) throw bad(`${file} gives the pixels no size.`, { file });
  const notes = [`${file} names no coordinate system: its numbers are taken as the project's own.`];
  if (a * e - b * d > 0)
    notes.push(`${file} turns the image over like a mirror: is the sign of its fourth number right?`);
  return { matrix: [a, b, x - (a + b) / 2, d, e, y - (d + e) / 2], crs: null, notes };
}

/**
 * Place of a GeoTIFF, or null for a TIFF without one.
 * @throws AppError BAD_INPUT where the file is no TIFF that can be read
 */
export async function readGeoTiffPlace(bytes: Uint8Array, file: string): Promise<ImagePlace | null> {
  let matrix: ImageMatrix | null;
  let keys: Readonly<Record<string, unknown>>;
  try {
    // a copy: a Buffer is often a window on a larger one
    const image = await (await fromArrayBuffer(new Uint8Array(bytes).buffer)).getImage();
    matrix = matrixOf(image);
    keys = image.getGeoKeys() ?? {};
  } catch (cause) {
    const reason = cause instanceof Error ? cause.message : String(cause);
    throw bad(`${file} is no TIFF image that can be read: ${reason}.`, { file }, cause);
  }
  if (matrix === null) return null;
  if (!matrix.every(Number.isFinite) || matrix[0] * matrix[4] === matrix[1] * matrix[3]) {
    throw bad(`${file} states a place that is none: ${matrix.join(', ')}.`, { file });
  }
  const isPoint = keys['GTRasterTypeGeoKey'] === 2;
  const { crs, notes } = systemOf(keys, file);
  // where the numbers stand for the middle of a pixel, the corner is half a pixel off
  const [a, b, c, d, e, f] = matrix;
  return { matrix: isPoint ? [a, b, c - (a + b) / 2, d, e, f - (d + e) / 2] : matrix, crs, notes };
}

function matrixOf(image: GeoTIFFImage): ImageMatrix | null {
  const directory = image.getFileDirectory();
  const whole = directory.getValue('ModelTransformation') as ArrayLike<number> | undefined;
  if (whole !== undefined && whole.length >= 8) {
    const at = (i: number) => whole[i] ?? 0;
    return [at(0), at(1), at(3), at(4), at(5), at(7)];
  }
  const scale = directory.getValue('ModelPixelScale') as ArrayLike<number> | undefined;
  const tie = directory.getValue('ModelTiepoint') as ArrayLike<number> | undefined;
  if (scale === undefined || tie === undefined || tie.length < 6) return null;
  const [width = 0, height = 0] = [scale[0], scale[1]];
  const [column = 0, row = 0, , x = 0, y = 0] = Array.from(tie);
  return [width, 0, x - column * width, 0, -height, y + row * height];
}

function systemOf(
  keys: Readonly<Record<string, unknown>>,
  file: string,
): { readonly crs: ProjectCrs | null; readonly notes: string[] } {
  const stated = keys['ProjectedCSTypeGeoKey'] ?? keys['GeographicTypeGeoKey'];
  const code = typeof stated === 'number' && stated !== 32767 ? stated : null;
  if (code !== null && systemByCode(code) !== null) return { crs: { kind: 'epsg', code }, notes: [] };
  if (code !== null)
    throw bad(`${file} is in EPSG:${code}, which is not in the offline table.`, { file, code });
  return {
    crs: null,
    notes: [`${file} names no coordinate system by its code: its numbers are taken as the project's own.`],
  };
}

/**
 * Kind and size of an image, from its bytes.
 * @throws AppError BAD_INPUT for anything but PNG, JPEG and TIFF
 */
export function readImageInfo(bytes: Uint8Array, file: string): ImageInfo {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const found = pngInfo(view) ?? jpegInfo(view) ?? tiffInfo(view);
  if (found !== null && found.widthPx > 0 && found.heightPx > 0) return found;
  throw bad(`${file} is no PNG, JPEG or TIFF image.`, { file });
}

function pngInfo(view: DataView): ImageInfo | null {
  if (view.byteLength < 24 || view.getUint32(0) !== 0x89504e47) return null;
  return { format: 'png', widthPx: view.getUint32(16), heightPx: view.getUint32(20) };
}

function jpegInfo(view: DataView): ImageInfo | null {
  if (view.byteLength < 4 || view.getUint16(0) !== 0xffd8) return null;
  for (let at = 2; at + 9 < view.byteLength; ) {
    if (view.getUint8(at) !== 0xff) return null;
    const marker = view.getUint8(at + 1);
    const isFrame = marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
    if (isFrame) return { format: 'jpeg', widthPx: view.getUint16(at + 7), heightPx: view.getUint16(at + 5) };
    at += marker === 0xff ? 1 : 2 + view.getUint16(at + 2);
  }
  return null;
}

function tiffInfo(view: DataView): ImageInfo | null {
  if (view.byteLength < 8) return null;
  const little = view.getUint32(0) === 0x49492a00;
  if (!little && view.getUint32(0) !== 0x4d4d002a) return null;
  const directory = view.getUint32(4, little);
  if (directory + 2 > view.byteLength) return null;
  const read = (tag: number): number => {
    for (let i = 0; i < view.getUint16(directory, little); i++) {
      const at = directory + 2 + 12 * i;
      if (at + 12 > view.byteLength) return 0;
      if (view.getUint16(at, little) !== tag) continue;
      return view.getUint16(at + 2, little) === 3
        ? view.getUint16(at + 8, little)
        : view.getUint32(at + 8, little);
    }
    return 0;
  };
  return { format: 'tiff', widthPx: read(256), heightPx: read(257) };
}
