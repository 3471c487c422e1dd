/** A scene as PNG, by way of its SVG. */
import { initWasm, Resvg } from '@resvg/resvg-wasm';
import { FACES, FONT_FAMILY, fontBytes, rasteriserBytes } from './fonts.ts';
import { joinBytes, pngChunk } from './png-chunks.ts';
import { renderSvg } from './render-svg.ts';
import type { Scene } from './scene.ts';

let rasteriser: Promise<void> | null = null;

/** Signature and header chunk of a PNG file (PNG, third edition, section 5). */
const HEADER_END = 8 + 25;

/** Writes the resolution (chunk pHYs), so that a text program places the picture at its true size. */
function stampResolution(png: Uint8Array, dpi: number): Uint8Array {
  const data = new Uint8Array(9);
  const view = new DataView(data.buffer);
  const dotsPerMetre = Math.round(dpi / 0.0254);
  view.setUint32(0, dotsPerMetre);
  view.setUint32(4, dotsPerMetre);
  view.setUint8(8, 1);
  return joinBytes([png.subarray(0, HEADER_END), pngChunk('pHYs', data), png.subarray(HEADER_END)]);
}

/** PNG bytes of one page on white (or `paper`) at `dpi` dots per inch. */
export async function renderPng(
  scene: Scene,
  options: { readonly dpi: number; readonly paper?: string },
): Promise<Uint8Array> {
  rasteriser ??= initWasm(rasteriserBytes());
  await rasteriser;
  const renderer = new Resvg(renderSvg(scene, { paper: options.paper ?? '#ffffff' }), {
    fitTo: { mode: 'width', value: Math.round((scene.widthMm / 25.4) * options.dpi) },
    font: { fontBuffers: FACES.map(fontBytes), defaultFontFamily: FONT_FAMILY },
  });
  const image = renderer.render();
  const png = image.asPng();
  image.free();
  renderer.free();
  return stampResolution(png, options.dpi);
}

/** The pixels of an SVG text that carries no letters, over `paper`: red, green, blue, opacity, rows from the top. */
export async function rasterise(
  svg: string,
  widthPx: number,
  paper: string,
): Promise<{ readonly rgba: Uint8Array; readonly widthPx: number; readonly heightPx: number }> {
  rasteriser ??= initWasm(rasteriserBytes());
  await rasteriser;
  const renderer = new Resvg(svg, { background: paper, fitTo: { mode: 'width', value: widthPx } });
  const image = renderer.render();
  const { width, height } = image;
  const rgba = new Uint8Array(image.pixels);
  image.free();
  renderer.free();
  return { rgba, widthPx: width, heightPx: height };
}
