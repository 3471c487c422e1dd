/**
 * A JPEG whose note on how the camera was held (Exif 2.3, tag 0x0112) says "upright". A window turns the picture by that
 * note; world files and control points count its pixels as they are stored. The picture itself is untouched.
 * @returns the same bytes where there is no such note, else a copy
 */
export function asStored(jpeg: Uint8Array): Uint8Array {
  const at = findOrientation(jpeg);
  if (at === null) return jpeg;
  const copy = new Uint8Array(jpeg);
  new DataView(copy.buffer).setUint16(at.offset, 1, at.isLittle);
  return copy;
}

function findOrientation(jpeg: Uint8Array): { readonly offset: number; readonly isLittle: boolean } | null {
  const view = new DataView(jpeg.buffer, jpeg.byteOffset, jpeg.byteLength);
  if (view.byteLength < 4 || view.getUint16(0) !== 0xffd8) return null;
  for (let at = 2; at + 10 < view.byteLength && view.getUint8(at) === 0xff; ) {
    const marker = view.getUint8(at + 1);
    // The picture's own data begin: notes come before.
    if (marker === 0xda) return null;
    const isExif = marker === 0xe1 && view.getUint32(at + 4) === 0x45786966;
    const found = isExif ? inExif(view, at + 10) : null;
    if (found !== null) return found;
    at += marker === 0xff ? 1 : 2 + view.getUint16(at + 2);
  }
  return null;
}

/** @param base - where the TIFF header of the note begins */
function inExif(
  view: DataView,
  base: number,
): { readonly offset: number; readonly isLittle: boolean } | null {
  if (base + 8 > view.byteLength) return null;
  const isLittle = view.getUint16(base) === 0x4949;
  const directory = base + view.getUint32(base + 4, isLittle);
  if (directory + 2 > view.byteLength) return null;
  for (let i = 0; i < view.getUint16(directory, isLittle); i++) {
    const entry = directory + 2 + 12 * i;
    if (entry + 12 > view.byteLength) return null;
    if (view.getUint16(entry, isLittle) === 0x0112) return { offset: entry + 8, isLittle };
  }
  return null;
}
