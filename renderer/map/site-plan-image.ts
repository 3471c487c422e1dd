/** The picture of a site plan as the map and the placing of it draw it: decoded once, off the window's thread. */
import type { SitePlanImage } from '../../core/contract/site-plans.ts';

/** A map never shows more; a larger picture would only hold up the window. */
const MOST_PX = 4096;

/** @returns a canvas of the picture's proportions, its longer side at most 4096 pixels */
export async function drawImage(image: SitePlanImage): Promise<HTMLCanvasElement> {
  const canvas = document.createElement('canvas');
  const context = canvas.getContext('2d');
  if (image.kind === 'pixels') {
    canvas.width = image.widthPx;
    canvas.height = image.heightPx;
    const rgba = new Uint8ClampedArray(image.rgba);
    context?.putImageData(new ImageData(rgba, image.widthPx, image.heightPx), 0, 0);
    return canvas;
  }
  const blob = new Blob([new Uint8Array(image.bytes)], { type: image.mediaType });
  const whole = await createImageBitmap(blob);
  const scale = Math.min(1, MOST_PX / Math.max(whole.width, whole.height));
  canvas.width = Math.max(1, Math.round(whole.width * scale));
  canvas.height = Math.max(1, Math.round(whole.height * scale));
  context?.drawImage(whole, 0, 0, canvas.width, canvas.height);
  whole.close();
  return canvas;
}
