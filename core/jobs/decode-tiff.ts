/** A TIFF image as pixels the window can draw, no larger than a map needs. */
import { fromArrayBuffer } from 'geotiff';
import { AppError } from '../errors.ts';
import type { SingleJob } from './job.ts';
import { throwIfStopped } from './job.ts';

export interface DecodeTiffInput {
  readonly bytes: Uint8Array;
  readonly file: string;
  /** Of the longer side of what comes back. */
  readonly mostPx: number;
}

export interface DecodedImage {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly rgba: Uint8Array;
}

export const decodeTiff: SingleJob<DecodeTiffInput, DecodedImage> = {
  form: 'single',
  async run({ bytes, file, mostPx }, context) {
    context.progress(0, 'reading the image');
    try {
      const image = await (await fromArrayBuffer(new Uint8Array(bytes).buffer)).getImage();
      throwIfStopped(context);
      const scale = Math.min(1, mostPx / Math.max(image.getWidth(), image.getHeight()));
      const width = Math.max(1, Math.round(image.getWidth() * scale));
      const height = Math.max(1, Math.round(image.getHeight() * scale));
      const read = await image.readRGB({ width, height, interleave: true, enableAlpha: false });
      const rgb = read as ArrayLike<number>;
      const bits = image.getBitsPerSample();
      const shift = typeof bits === 'number' && bits > 8 ? bits - 8 : 0;
      const rgba = new Uint8Array(width * height * 4);
      for (let i = 0; i < width * height; i++) {
        for (let k = 0; k < 3; k++) rgba[4 * i + k] = (rgb[3 * i + k] ?? 0) >> shift;
        rgba[4 * i + 3] = 255;
      }
      return { widthPx: width, heightPx: height, rgba };
    } catch (cause) {
      if (cause instanceof AppError) throw cause;
      const reason = cause instanceof Error ? cause.message : String(cause);
      throw new AppError(
        'BAD_INPUT',
        `${file} cannot be drawn: ${reason}. Save it as PNG or JPEG with a world file beside it.`,
        { file },
        cause,
      );
    }
  },
};
