/** Parts of a PNG file (PNG, third edition, section 5). */
import { zlibSync } from 'fflate';

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

export const PNG_SIGNATURE = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);

/** Length, name, data and checksum. */
export function pngChunk(name: string, data: Uint8Array): Uint8Array {
  const chunk = new Uint8Array(data.length + 12);
  const view = new DataView(chunk.buffer);
  view.setUint32(0, data.length);
  chunk.set(new TextEncoder().encode(name), 4);
  chunk.set(data, 8);
  view.setUint32(data.length + 8, crc32(chunk.subarray(4, data.length + 8)));
  return chunk;
}

export function joinBytes(parts: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/**
 * One ink in 256 opacities, a byte a pixel: clear where `opacity` is 0.
 * @param opacity - rows from the top, `widthPx` times `heightPx`
 */
export function encodeInkPng(
  opacity: Uint8Array,
  widthPx: number,
  heightPx: number,
  ink: readonly [red: number, green: number, blue: number],
): Uint8Array {
  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, widthPx);
  view.setUint32(4, heightPx);
  // Eight bits a pixel, each the number of a colour of the palette.
  header.set([8, 3], 8);
  const palette = Uint8Array.from({ length: 256 * 3 }, (_, i) => ink[i % 3] as number);
  const lines = new Uint8Array(heightPx * (widthPx + 1));
  for (let row = 0; row < heightPx; row++)
    lines.set(opacity.subarray(row * widthPx, (row + 1) * widthPx), row * (widthPx + 1) + 1);
  return joinBytes([
    PNG_SIGNATURE,
    pngChunk('IHDR', header),
    pngChunk('PLTE', palette),
    pngChunk(
      'tRNS',
      Uint8Array.from({ length: 256 }, (_, i) => i),
    ),
    pngChunk('IDAT', zlibSync(lines)),
    pngChunk('IEND', new Uint8Array(0)),
  ]);
}
