/**
 * A TrueType file with only the letters of a text, for files that carry their own letters.
 * Tables after the OpenType specification 1.9: cmap format 12, kern version 0 format 0, post version 3.
 */
import type { Font, Glyph, Subset } from 'fontkit';
import { fontBytes, openFont } from './fonts.ts';
import type { FontFace } from './scene.ts';

type Table = readonly [tag: string, bytes: Uint8Array];

/** Numbers written one after another, most significant byte first. */
class Writer {
  readonly #bytes: number[] = [];

  u16(...values: readonly number[]): this {
    for (const v of values) this.#bytes.push((v >> 8) & 0xff, v & 0xff);
    return this;
  }

  u32(...values: readonly number[]): this {
    for (const v of values) this.u16((v >>> 16) & 0xffff, v & 0xffff);
    return this;
  }

  done(): Uint8Array {
    return Uint8Array.from(this.#bytes);
  }
}

function readTables(font: Uint8Array): Map<string, Uint8Array> {
  const view = new DataView(font.buffer, font.byteOffset, font.byteLength);
  const tables = new Map<string, Uint8Array>();
  for (let i = 0; i < view.getUint16(4); i++) {
    const at = 12 + 16 * i;
    const tag = String.fromCharCode(...font.subarray(at, at + 4));
    const offset = view.getUint32(at + 8);
    tables.set(tag, font.subarray(offset, offset + view.getUint32(at + 12)));
  }
  return tables;
}

/** Largest power of two not above `n`, and the three search fields that the directory and kern pairs carry. */
function searchFields(n: number, size: number): [range: number, selector: number, shift: number] {
  const selector = Math.floor(Math.log2(Math.max(1, n)));
  const range = 2 ** selector * size;
  return [range, selector, n * size - range];
}

function checksum(bytes: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < bytes.length; i += 4) {
    const word =
      (((bytes[i] ?? 0) << 24) |
        ((bytes[i + 1] ?? 0) << 16) |
        ((bytes[i + 2] ?? 0) << 8) |
        (bytes[i + 3] ?? 0)) >>>
      0;
    sum = (sum + word) >>> 0;
  }
  return sum;
}

function writeFont(tables: readonly Table[]): Uint8Array {
  const sorted = [...tables].sort(([a], [b]) => (a < b ? -1 : 1));
  const padded = (length: number): number => (length + 3) & ~3;
  const head = new Writer().u32(0x00010000).u16(sorted.length, ...searchFields(sorted.length, 16));
  let offset = 12 + 16 * sorted.length;
  for (const [tag, bytes] of sorted) {
    head.u32(
      [...tag].reduce((sum, c) => sum * 256 + c.charCodeAt(0), 0),
      checksum(bytes),
      offset,
      bytes.length,
    );
    offset += padded(bytes.length);
  }
  const file = new Uint8Array(offset);
  file.set(head.done(), 0);
  let at = 12 + 16 * sorted.length;
  for (const [tag, bytes] of sorted) {
    file.set(bytes, at);
    // The checksum of the whole file, for which this field counts as zero.
    if (tag === 'head') new DataView(file.buffer).setUint32(at + 8, 0);
    at += padded(bytes.length);
  }
  const headAt = sorted.findIndex(([tag]) => tag === 'head');
  const headOffset = new DataView(file.buffer).getUint32(12 + 16 * headAt + 8);
  new DataView(file.buffer).setUint32(headOffset + 8, (0xb1b0afba - checksum(file)) >>> 0);
  return file;
}

function cmapTable(pairs: readonly (readonly [codePoint: number, glyph: number])[]): Uint8Array {
  const writer = new Writer()
    .u16(0, 1, 3, 10)
    .u32(12)
    .u16(12, 0)
    .u32(16 + 12 * pairs.length, 0, pairs.length);
  for (const [code, glyph] of pairs) writer.u32(code, code, glyph);
  return writer.done();
}

type KernPair = readonly [left: number, right: number, value: number];

function kernTable(pairs: readonly KernPair[]): Uint8Array {
  const sorted = [...pairs].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const writer = new Writer().u16(0, 1, 0, 14 + 6 * sorted.length, 1);
  writer.u16(sorted.length, ...searchFields(sorted.length, 6));
  for (const [left, right, value] of sorted) writer.u16(left, right, value & 0xffff);
  return writer.done();
}

function kerningOf(font: Font, left: Glyph, right: Glyph, text: string): number {
  const run = font.layout(text);
  // A ligature took the place of both letters: nothing to kern.
  if (run.glyphs.length !== 2) return 0;
  return Math.round(run.advanceWidth - left.advanceWidth - right.advanceWidth);
}

/** @returns the glyph's number in the subset; the library's types say otherwise */
function include(subset: Subset, glyph: Glyph): number {
  return subset.includeGlyph(glyph) as unknown as number;
}

/**
 * TrueType bytes that hold the letters of `texts` with the kerning of the pairs that occur in them.
 * The same texts give the same bytes; without any text the file holds the missing-glyph box alone.
 */
export function subsetFont(face: FontFace, texts: Iterable<string>): Uint8Array {
  const font = openFont(face);
  const codes = new Set<number>();
  const neighbours = new Set<string>();
  for (const text of texts) {
    const letters = [...text];
    letters.forEach((letter, i) => {
      codes.add(letter.codePointAt(0) ?? 0);
      const next = letters[i + 1];
      if (next !== undefined) neighbours.add(letter + next);
    });
  }
  const subset = font.createSubset();
  const newIds = new Map<number, number>();
  for (const code of [...codes].sort((a, b) => a - b)) {
    if (font.hasGlyphForCodePoint(code)) {
      newIds.set(code, include(subset, font.glyphForCodePoint(code)));
    }
  }
  const kerns: KernPair[] = [];
  for (const pair of [...neighbours].sort()) {
    const [a = 0, b = 0] = [...pair].map((letter) => letter.codePointAt(0) ?? 0);
    const [left, right] = [newIds.get(a), newIds.get(b)];
    if (left === undefined || right === undefined) continue;
    const value = kerningOf(font, font.glyphForCodePoint(a), font.glyphForCodePoint(b), pair);
    if (value !== 0) kerns.push([left, right, value]);
  }
  const whole = readTables(fontBytes(face));
  const kept = (tag: string): Table[] => {
    const bytes = whole.get(tag);
    return bytes === undefined ? [] : [[tag, bytes]];
  };
  return writeFont([
    ...readTables(subset.encode()),
    ...kept('OS/2'),
    ...kept('name'),
    ['cmap', cmapTable([...newIds])],
    ['post', new Writer().u32(0x00030000, 0, 0, 0, 0, 0, 0, 0).done()],
    ...(kerns.length === 0 ? [] : ([['kern', kernTable(kerns)]] satisfies Table[])),
  ]);
}
