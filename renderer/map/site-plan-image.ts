/** The picture of a site plan as the map and the placing of it draw it: decoded once, off the window's thread. */
import type { SitePlanImage, SitePlanView } from '../../core/contract/site-plans.ts';
import type { PictureOrder, PictureReply } from './picture-worker.ts';
import workerUrl from './picture-worker.ts?worker&url';

/** A map never shows more; a larger picture would only hold up the window. */
const MOST_PX = 3072;

/** @returns a canvas of the picture's proportions, its longer side at most 3072 pixels */
export async function drawImage(
  image: SitePlanImage,
  size: Pick<SitePlanView, 'widthPx' | 'heightPx'>,
): Promise<HTMLCanvasElement> {
  const canvas = document.createElement('canvas');
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (image.kind === 'pixels') {
    canvas.width = image.widthPx;
    canvas.height = image.heightPx;
    const rgba = new Uint8ClampedArray(image.rgba);
    context?.putImageData(new ImageData(rgba, image.widthPx, image.heightPx), 0, 0);
    return canvas;
  }
  const scale = Math.min(1, MOST_PX / Math.max(size.widthPx, size.heightPx));
  canvas.width = Math.max(1, Math.round(size.widthPx * scale));
  canvas.height = Math.max(1, Math.round(size.heightPx * scale));
  const blob = new Blob([new Uint8Array(image.bytes)], { type: image.mediaType });
  const bitmap = await decode({ blob, widthPx: canvas.width, heightPx: canvas.height });
  context?.drawImage(bitmap, 0, 0);
  bitmap.close();
  return canvas;
}

function decode(order: PictureOrder): Promise<ImageBitmap> {
  const worker = new Worker(new URL(workerUrl, location.href), { type: 'module' });
  return new Promise<ImageBitmap>((resolve, reject) => {
    worker.onmessage = ({ data }: MessageEvent<PictureReply>) => {
      if ('bitmap' in data) resolve(data.bitmap);
      else reject(new Error(`The picture cannot be drawn: ${data.problem}`));
    };
    worker.onerror = () => reject(new Error('The picture cannot be drawn: its thread did not start.'));
    worker.postMessage(order);
  }).finally(() => worker.terminate());
}
