import { inflateSync } from 'node:zlib';

/** Pixels of a PNG without interlace, 8 bits, RGBA (PNG, third edition, sections 7 and 9). */
export function decodePng(png: Uint8Array): {
  width: number;
  height: number;
  at: (x: number, y: number) => number[];
} {
  const view = new DataView(png.buffer, png.byteOffset);
  const [width, height] = [view.getUint32(16), view.getUint32(20)];
  if (png[24] !== 8 || png[25] !== 6 || png[28] !== 0) throw new Error('not an RGBA picture of 8 bits');
  const data: Uint8Array[] = [];
  for (let at = 8; at < png.length; ) {
    const length = view.getUint32(at);
    if (Buffer.from(png.subarray(at + 4, at + 8)).toString() === 'IDAT')
      data.push(png.subarray(at + 8, at + 8 + length));
    at += 12 + length;
  }
  const raw = inflateSync(Buffer.concat(data));
  const stride = 4 * width;
  const out = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (stride + 1)] as number;
    for (let i = 0; i < stride; i++) {
      const x = raw[y * (stride + 1) + 1 + i] as number;
      const a = i >= 4 ? (out[y * stride + i - 4] as number) : 0;
      const b = y > 0 ? (out[(y - 1) * stride + i] as number) : 0;
      const c = i >= 4 && y > 0 ? (out[(y - 1) * stride + i - 4] as number) : 0;
      const p = a + b - c;
      const [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
      const paeth = pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
      const predicted = [0, a, b, (a + b) >> 1, paeth][filter] as number;
      out[y * stride + i] = (x + predicted) & 255;
    }
  }
  return { width, height, at: (x, y) => [...out.subarray(y * stride + 4 * x, y * stride + 4 * x + 4)] };
}
