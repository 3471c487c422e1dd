/** A site plan greyed for the map figure: its ink alone, pale enough that contours and symbols stay legible over it. */
import { AppError } from '../errors.ts';
import { decodeTiff } from './decode-tiff.ts';
import type { JobContext, SingleJob } from './job.ts';
import { throwIfStopped } from './job.ts';

/** A rectangle of the image, in its pixels from the upper left corner. */
export interface PixelRect {
  readonly column: number;
  readonly row: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

export interface MutePictureInput {
  readonly bytes: Uint8Array;
  readonly mediaType: string;
  readonly file: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** What of it is wanted. */
  readonly part: PixelRect;
  /** Of the longer side of what comes back. */
  readonly mostPx: number;
}

export interface MutedPicture {
  /** One grey ink in many opacities; clear where the plan has its paper. */
  readonly png: Uint8Array;
  readonly widthPx: number;
  readonly heightPx: number;
  /** What of the image it shows. */
  readonly part: PixelRect;
  /** Nothing came out: an empty part, or a kind of image that cannot be decoded here. */
  readonly isBlank: boolean;
}

/** Black of the plan comes out as a grey of this share. */
const MOST_INK = 0.42;
const INK = [45, 52, 60] as const;
/** Fewer opacities make a smaller file; the eye does not see the steps. */
const OPACITY_STEP = 6;

interface Picture {
  readonly rgba: Uint8Array;
  readonly widthPx: number;
  readonly heightPx: number;
}

export const mutePicture: SingleJob<MutePictureInput, MutedPicture> = {
  form: 'single',
  async run(input, context) {
    context.progress(0, 'greying the site plan');
    const isTiff = input.mediaType === 'image/tiff';
    const part = isTiff
      ? { column: 0, row: 0, widthPx: input.widthPx, heightPx: input.heightPx }
      : input.part;
    const picture = isTiff ? await decodeTiff.run(input, context) : await drawPart(input, context);
    throwIfStopped(context);
    const { encodeInkPng } = await import('../figure/png-chunks.ts');
    const opacity = inkOf(picture);
    const { widthPx, heightPx } = picture;
    const png = encodeInkPng(opacity, widthPx, heightPx, INK);
    return { png, widthPx, heightPx, part, isBlank: opacity.every((ink) => ink === 0) };
  },
};

/** Drawn at twice the size and halved, so that thin lines do not break where the image is much larger. */
async function drawPart(input: MutePictureInput, context: JobContext): Promise<Picture> {
  const { rasterise } = await import('../figure/render-png.ts');
  throwIfStopped(context);
  const { part, widthPx, heightPx, mediaType } = input;
  const scale = Math.min(1, input.mostPx / Math.max(part.widthPx, part.heightPx));
  const [wide, high] = [part.widthPx, part.heightPx].map((px) => Math.max(1, Math.round(px * scale))) as [
    number,
    number,
  ];
  const times = scale < 1 ? 2 : 1;
  const href = `data:${mediaType};base64,${Buffer.from(input.bytes.buffer, input.bytes.byteOffset, input.bytes.byteLength).toString('base64')}`;
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${wide * times}" height="${high * times}" viewBox="${part.column} ${part.row} ${part.widthPx} ${part.heightPx}" preserveAspectRatio="none"><image width="${widthPx}" height="${heightPx}" preserveAspectRatio="none" href="${href}"/></svg>`;
  const drawn = await rasterise(svg, wide * times, '#ffffff');
  if (drawn.widthPx < times || drawn.heightPx < times)
    throw new AppError('BAD_INPUT', `${input.file} cannot be drawn.`, { file: input.file });
  return times === 1 ? drawn : halve(drawn);
}

function halve({ rgba, widthPx, heightPx }: Picture): Picture {
  const [wide, high] = [widthPx >> 1, heightPx >> 1];
  const out = new Uint8Array(wide * high * 4);
  for (let row = 0; row < high; row++) {
    for (let column = 0; column < wide; column++) {
      const at = 4 * (2 * row * widthPx + 2 * column);
      const below = at + 4 * widthPx;
      for (let k = 0; k < 4; k++) {
        const sum =
          (rgba[at + k] ?? 0) + (rgba[at + 4 + k] ?? 0) + (rgba[below + k] ?? 0) + (rgba[below + 4 + k] ?? 0);
        out[4 * (row * wide + column) + k] = sum >> 2;
      }
    }
  }
  return { rgba: out, widthPx: wide, heightPx: high };
}

/** Opacity of the ink at each pixel: what is darker than the middle of the image, which is paper on a drawing. */
function inkOf({ rgba, widthPx, heightPx }: Picture): Uint8Array {
  const count = widthPx * heightPx;
  const light = new Uint8Array(count);
  const bins = new Uint32Array(256);
  for (let i = 0; i < count; i++) {
    // Rec. 601 weights.
    const value =
      (299 * (rgba[4 * i] ?? 0) + 587 * (rgba[4 * i + 1] ?? 0) + 114 * (rgba[4 * i + 2] ?? 0)) / 1000;
    light[i] = value;
    bins[value | 0] = (bins[value | 0] ?? 0) + 1;
  }
  let paper = 0;
  for (let below = bins[0] ?? 0; below * 2 < count && paper < 255; ) below += bins[++paper] ?? 0;
  const table = Uint8Array.from({ length: 256 }, (_, value) => {
    const ink = Math.max(0, 1 - value / Math.max(1, paper));
    return Math.round((255 * MOST_INK * ink) / OPACITY_STEP) * OPACITY_STEP;
  });
  return light.map((value) => table[value] as number);
}
