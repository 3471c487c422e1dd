import { expect, test } from 'vitest';
import { asStored } from '../../../core/exchange/jpeg-orientation.ts';

/** Head of a JPEG with an Exif note of two entries, the second the orientation (Exif 2.3, 4.6.4: tag 0x0112, SHORT). */
function photo(isLittle: boolean, orientation: number): Uint8Array {
  const bytes = Buffer.alloc(64);
  bytes.set([0xff, 0xd8, 0xff, 0xe1, 0, 50, 0x45, 0x78, 0x69, 0x66, 0, 0]);
  const view = new DataView(bytes.buffer, bytes.byteOffset + 12);
  view.setUint16(0, isLittle ? 0x4949 : 0x4d4d);
  view.setUint16(2, 42, isLittle);
  view.setUint32(4, 8, isLittle);
  view.setUint16(8, 2, isLittle);
  view.setUint16(10, 0x010f, isLittle);
  view.setUint16(22, 0x0112, isLittle);
  view.setUint16(24, 3, isLittle);
  view.setUint32(26, 1, isLittle);
  view.setUint16(30, orientation, isLittle);
  bytes.set([0xff, 0xda], 54);
  return new Uint8Array(bytes);
}

test.each([true, false])('turned pictures count their pixels as stored (little-endian: %s)', (isLittle) => {
  const turned = photo(isLittle, 6);
  expect([...asStored(turned)]).toEqual([...photo(isLittle, 1)]);
  // The kept bytes themselves stay what they were.
  expect([...turned]).toEqual([...photo(isLittle, 6)]);
});

test('what holds no such note comes back as it is', () => {
  for (const bytes of [[0xff, 0xd8, 0xff, 0xda, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0], [0x89, 0x50], []]) {
    const given = Uint8Array.from(bytes);
    expect(asStored(given)).toBe(given);
  }
  // Cut off in the middle of the note.
  expect(() => asStored(photo(true, 6).slice(0, 30))).not.toThrow();
});
