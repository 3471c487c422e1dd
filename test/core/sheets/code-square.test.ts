/** The square on a card, read again by an independent reader from the rendered page of the PDF. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import readSquare from 'jsqr';
import { expect, test } from 'vitest';
import { composeSheets, renderSheets } from '../../../core/sheets/compose-sheets.ts';
import { sheetInput } from './sheet-input.ts';

interface Picture {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8ClampedArray;
}

/** A page as poppler draws it: PPM, turned to RGBA. */
function pageOf(pdf: Uint8Array, page: number, dpi: number): Picture {
  const folder = mkdtempSync(join(tmpdir(), 'gasplat-square-'));
  const file = join(folder, 'a.pdf');
  writeFileSync(file, pdf);
  const [first, last] = ['-f', '-l'].map((flag) => [flag, String(page)]) as [string[], string[]];
  spawnSync('pdftoppm', ['-r', String(dpi), ...first, ...last, '-singlefile', file, join(folder, 'p')]);
  const bytes = readFileSync(join(folder, 'p.ppm'));
  rmSync(folder, { recursive: true, force: true });
  const [head = ''] = /^P6\s+\d+\s+\d+\s+255\s/.exec(bytes.subarray(0, 40).toString('latin1')) ?? [];
  const [, width = 0, height = 0] = head.trim().split(/\s+/).map(Number);
  const data = new Uint8ClampedArray(4 * width * height).fill(255);
  for (let i = 0; i < width * height; i++)
    for (let k = 0; k < 3; k++) data[4 * i + k] = bytes[head.length + 3 * i + k] ?? 0;
  return { width, height, data };
}

/** One of the four cards of a page. */
function cardOf({ width, height, data }: Picture, card: number): Picture {
  const [w, h] = [Math.floor(width / 2), Math.floor(height / 2)];
  const [left, top] = [(card % 2) * w, Math.floor(card / 2) * h];
  const out = new Uint8ClampedArray(4 * w * h);
  for (let y = 0; y < h; y++)
    out.set(data.subarray(4 * ((top + y) * width + left), 4 * ((top + y) * width + left + w)), 4 * y * w);
  return { width: w, height: h, data: out };
}

const read = ({ data, width, height }: Picture) => readSquare(data, width, height);

test.skipIf(spawnSync('pdftoppm', ['-v']).error !== undefined)(
  'every card has the square of its code, off everything else; a smear over it does no harm',
  async () => {
    const all = sheetInput();
    const input = { ...all, probes: all.probes.slice(0, 4), rounds: [{ name: null, count: 4 }] };
    const scenes = composeSheets(input, 'cards', 'A4');
    const pdf = await renderSheets(scenes, input);
    const picture = pageOf(pdf, 3, 150);
    for (let card = 0; card < 4; card++) {
      const one = cardOf(picture, card);
      const found = read(one);
      const code = input.probes[card]?.code;
      expect(found?.data).toBe(code);
      if (found === null) continue;
      const { topLeftCorner: a, bottomRightCorner: b } = found.location;
      const module = (b.x - a.x) / 21;
      // 0.6 mm at 150 dots an inch
      expect(module).toBeCloseTo((0.6 / 25.4) * 150, 0);
      const isLight = (x: number, y: number) =>
        one.data[4 * (Math.round(y) * one.width + Math.round(x))] === 255;
      for (let k = 0; k <= 100; k++) {
        const along = -3.5 + (28 * k) / 100;
        for (const across of [-3.5, -2, 22.9, 24.5]) {
          expect(isLight(a.x + along * module, a.y + across * module)).toBe(true);
          expect(isLight(a.x + across * module, a.y + along * module)).toBe(true);
        }
      }
      // 4 by 4 modules of 21 by 21 in the middle, black
      for (let y = 9; y < 13; y += 0.1)
        for (let x = 9; x < 13; x += 0.1) {
          const at = 4 * (Math.round(a.y + y * module) * one.width + Math.round(a.x + x * module));
          one.data.fill(0, at, at + 3);
        }
      expect(read(one)?.data).toBe(code);
    }
  },
  60_000,
);
