/** A scene as PNG, by way of its SVG. */
import { initWasm, Resvg } from '@resvg/resvg-wasm';
import { FACES, FONT_FAMILY, fontBytes, rasteriserBytes } from './fonts.ts';
import { renderSvg } from './render-svg.ts';
import type { Scene } from './scene.ts';

let rasteriser: Promise<void> | null = null;

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? (c >>> 1) ^ 0xedb88320 : c >>> 1;
  return c;
});

function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) crc = (crc >>> 8) ^ (CRC_TABLE[(crc ^ byte) & 0xff] as number);
  return (crc ^ 0xffffffff) >>> 0;
}

/** Signature and header chunk of a PNG file (PNG, third edition, section 5). */
const HEADER_END = 8 + 25;

/** Writes the resolution (chunk pHYs), so that a text program places the picture at its true size. */
function stampResolution(png: Uint8Array, dpi: number): Uint8Array {
  const chunk = new Uint8Array(21);
  const view = new DataView(chunk.buffer);
  const dotsPerMetre = Math.round(dpi / 0.0254);
  view.setUint32(0, 9);
  chunk.set([0x70, 0x48, 0x59, 0x73], 4);
  view.setUint32(8, dotsPerMetre);
  view.setUint32(12, dotsPerMetre);
  view.setUint8(16, 1);
  view.setUint32(17, crc32(chunk.subarray(4, 17)));
  const stamped = new Uint8Array(png.length + chunk.length);
  stamped.set(png.subarray(0, HEADER_END), 0);
  stamped.set(chunk, HEADER_END);
  stamped.set(png.subarray(HEADER_END), HEADER_END + chunk.length);
  return stamped;
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
