import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Resvg } from '@resvg/resvg-wasm';
import { describe, expect, test } from 'vitest';
import { composeFigure } from '../../../core/figure/compose-figure.ts';
import { fontBytes, openFont } from '../../../core/figure/fonts.ts';
import { figureMetadata, renderFigure } from '../../../core/figure/render-figure.ts';
import { renderPdf } from '../../../core/figure/render-pdf.ts';
import { renderPng } from '../../../core/figure/render-png.ts';
import { renderSvg } from '../../../core/figure/render-svg.ts';
import type { Scene } from '../../../core/figure/scene.ts';
import { flattenScene, placeSegments, rectSegments } from '../../../core/figure/scene.ts';
import { subsetFont } from '../../../core/figure/subset-font.ts';
import { MM_PER_PT, measureText } from '../../../core/figure/text.ts';
import { inventedFigure } from './fixture.ts';
import { readPdf } from './pdf-reading.ts';
import { decodePng } from './png-reading.ts';

const META = {
  title: 'Try',
  author: null,
  subject: 'Try',
  creator: 'Gasplat',
  createdUtc: '2025-05-09T10:00:00Z',
};

const SQUARE: Scene = {
  widthMm: 100,
  heightMm: 60,
  title: 'Square & <text>',
  nodes: [
    {
      kind: 'path',
      segments: rectSegments({ xMm: 10, yMm: 20, widthMm: 50, heightMm: 30 }),
      fill: '#ff0000',
    },
    {
      kind: 'text',
      text: 'Σ ≥ Žluť & <x>',
      xMm: 10,
      yMm: 12,
      sizePt: 9,
      face: 'regular',
      colour: '#000000',
      anchor: 'start',
    },
    {
      kind: 'text',
      text: 'upright',
      xMm: 80,
      yMm: 40,
      sizePt: 9,
      face: 'semibold',
      colour: '#000000',
      anchor: 'middle',
      rotationDeg: -90,
      halo: { colour: '#ffffff', widthMm: 0.4 },
    },
  ],
};

/** Whether a poppler program is there; its tests are skipped, and shown as skipped, where it is not. */
function hasProgram(name: string): boolean {
  return spawnSync(name, ['-v']).error === undefined;
}

function readByPoppler(pdf: Uint8Array, program: string, args: readonly string[]): string {
  const folder = mkdtempSync(join(tmpdir(), 'figure-'));
  try {
    const file = join(folder, 'figure.pdf');
    writeFileSync(file, pdf);
    const run = spawnSync(program, [...args, file, ...(program === 'pdftotext' ? ['-'] : [])]);
    expect(run.stderr.toString()).toBe('');
    return run.stdout.toString();
  } finally {
    rmSync(folder, { recursive: true });
  }
}

describe('three outputs of one scene', () => {
  test('PDF: the rectangle lies where the scene says, within 0.001 mm', async () => {
    const [page] = readPdf(await renderPdf([SQUARE], META, { compress: false }));
    expect(page?.widthMm).toBeCloseTo(100, 3);
    expect(page?.heightMm).toBeCloseTo(60, 3);
    const box = page?.paths.find((path) => path.painted === 'f*');
    expect(box?.points).toHaveLength(4);
    const expected = [
      [10, 20],
      [60, 20],
      [60, 50],
      [10, 50],
    ];
    box?.points.forEach(([x, y], i) => {
      expect(x).toBeCloseTo(expected[i]?.[0] as number, 3);
      expect(y).toBeCloseTo(expected[i]?.[1] as number, 3);
    });
  });

  test('PDF: text starts at its anchor, turned text too', async () => {
    const [page] = readPdf(await renderPdf([SQUARE], META, { compress: false }));
    expect(page?.texts).toHaveLength(2);
    expect(page?.texts[0]?.[0]).toBeCloseTo(10, 3);
    expect(page?.texts[0]?.[1]).toBeCloseTo(12, 3);
    // Centred and turned by -90 degrees: it starts half its length below the anchor.
    expect(page?.texts[1]?.[0]).toBeCloseTo(80, 3);
    expect(page?.texts[1]?.[1]).toBeCloseTo(40 + measureText('upright', 'semibold', 9) / 2, 3);
  });

  test('SVG: the same numbers, text escaped', () => {
    const svg = renderSvg(SQUARE);
    expect(svg).toContain('width="100mm" height="60mm" viewBox="0 0 100 60"');
    expect(svg).toContain('d="M10 20L60 20L60 50L10 50Z"');
    expect(svg).toContain('Σ ≥ Žluť &amp; &lt;x&gt;');
    expect(svg).not.toContain('<x>');
  });

  test('PNG: the red square covers its pixels and no others', async () => {
    const dpi = 254;
    const image = decodePng(await renderPng(SQUARE, { dpi }));
    expect([image.width, image.height]).toEqual([1000, 600]);
    for (const [x, y] of [
      [101, 201],
      [598, 201],
      [101, 498],
      [598, 498],
    ] as const) {
      expect(image.at(x, y)).toEqual([255, 0, 0, 255]);
    }
    for (const [x, y] of [
      [98, 300],
      [601, 300],
      [300, 198],
      [300, 501],
    ] as const) {
      expect(image.at(x, y)).toEqual([255, 255, 255, 255]);
    }
  });

  test('PNG: letters are as wide as they were measured', async () => {
    const text = 'Kerned AVATAR';
    const scene: Scene = {
      ...SQUARE,
      nodes: [
        {
          kind: 'text',
          text,
          xMm: 5,
          yMm: 30,
          sizePt: 24,
          face: 'regular',
          colour: '#000000',
          anchor: 'start',
        },
      ],
    };
    const image = decodePng(await renderPng(scene, { dpi: 254 }));
    const inked = Array.from({ length: image.width }, (_, x) => x).filter((x) =>
      Array.from({ length: image.height }, (_, y) => image.at(x, y)[0] as number).some((c) => c < 128),
    );
    const widthMm = ((inked.at(-1) as number) + 1 - (inked[0] as number)) / 10;
    const font = openFont('regular');
    const run = font.layout(text, []);
    const [first, last] = [run.glyphs[0], run.glyphs.at(-1)];
    const bearings = (first?.bbox.minX ?? 0) + (last?.advanceWidth ?? 0) - (last?.bbox.maxX ?? 0);
    const expected = measureText(text, 'regular', 24) - (bearings / font.unitsPerEm) * 24 * MM_PER_PT;
    expect(Math.abs(widthMm - expected)).toBeLessThan(0.15);
  });

  test('PNG states its resolution', async () => {
    const png = await renderPng(SQUARE, { dpi: 100 });
    const at = Buffer.from(png).indexOf('pHYs');
    expect(new DataView(png.buffer, png.byteOffset).getUint32(at + 4)).toBe(3937);
  });

  test('as many texts in the PDF as in the SVG, on every page of a whole figure', async () => {
    const input = inventedFigure();
    const scenes = composeFigure(input);
    const pages = readPdf(await renderPdf(scenes, figureMetadata(input), { compress: false }));
    expect(pages).toHaveLength(scenes.length);
    scenes.forEach((scene, i) => {
      const inSvg = renderSvg(scene).match(/<text /g)?.length;
      expect(pages[i]?.texts.length).toBe(inSvg);
      expect(inSvg).toBe(flattenScene(scene.nodes).filter((node) => node.kind === 'text').length);
    });
  });

  test('every path of the scene stands in the PDF within 0.01 mm', async () => {
    const input = inventedFigure();
    const [scene] = composeFigure(input) as [Scene];
    const [page] = readPdf(await renderPdf([scene], figureMetadata(input), { compress: false }));
    const drawn = (page?.paths ?? []).filter((path) => path.painted !== 'n');
    const wanted = flattenScene(scene.nodes).filter((node) => node.kind === 'path');
    let k = 0;
    for (const node of wanted) {
      const ends = node.segments.filter((s) => s[0] !== 'Z').map((s) => s.slice(-2) as [number, number]);
      if (ends.length === 0) continue;
      // Rims of letters come between; they are outlines of glyphs and not in the scene.
      const matches = (path: (typeof drawn)[number] | undefined): boolean =>
        path !== undefined &&
        path.points.length === ends.length &&
        ends.every(
          ([x, y], i) => Math.hypot((path.points[i]?.[0] ?? 0) - x, (path.points[i]?.[1] ?? 0) - y) < 0.01,
        );
      while (k < drawn.length && !matches(drawn[k])) k++;
      expect(k, `path of ${ends.length} points at ${ends[0]}`).toBeLessThan(drawn.length);
      k++;
    }
  });

  test('the same figure gives the same bytes', async () => {
    const make = async (format: 'pdf' | 'svg' | 'png'): Promise<Buffer> => {
      const input = inventedFigure();
      return Buffer.from(
        await renderFigure(composeFigure(input), format, figureMetadata(input), { dpi: 60 }),
      );
    };
    for (const format of ['pdf', 'svg', 'png'] as const) {
      expect((await make(format)).equals(await make(format))).toBe(true);
    }
  });

  test('PDF carries title, author, date, embedded fonts and no print scaling', async () => {
    const input = inventedFigure();
    const bytes = await renderPdf(composeFigure(input), figureMetadata(input), { compress: false });
    const text = Buffer.from(bytes).toString('latin1');
    expect(text.includes('(Radon in the soil gas: Orchard lot, plot 14 \\(invented\\))')).toBe(true);
    expect(text.includes('(Test preparer)')).toBe(true);
    expect(text.includes('(D:20250509100000Z)')).toBe(true);
    expect(text.includes('/PrintScaling /None')).toBe(true);
    expect(text.match(/\/FontFile2 /g)).toHaveLength(3);
  });

  test('a date that is none is refused; so is a page that is not there', async () => {
    expect(() => renderPdf([SQUARE], { ...META, createdUtc: 'soon' })).toThrow(/"soon" is not a date/);
    await expect(renderFigure([SQUARE], 'png', META, { pageIndex: 4 })).rejects.toThrow(
      /Page 5 does not exist/,
    );
  });

  test('a saved SVG carries its letters', async () => {
    const svg = new TextDecoder().decode(await renderFigure(composeFigure(inventedFigure()), 'svg', META));
    expect(svg.match(/@font-face/g)).toHaveLength(3);
    expect(svg.length).toBeLessThan(250_000);
    const bare = await renderFigure(composeFigure(inventedFigure()), 'svg', META, { embedFonts: false });
    expect(new TextDecoder().decode(bare)).not.toContain('@font-face');
  });

  test('the letters in the file draw as the whole font does', async () => {
    await renderPng(SQUARE, { dpi: 50 });
    const text = 'Kerned AVATAR, 1:250 To';
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="600" height="60" font-family="Source Sans 3"><text x="5" y="40" font-size="40">${text}</text></svg>`;
    const draw = (font: Uint8Array) => {
      const image = new Resvg(svg, { font: { fontBuffers: [font], defaultFontFamily: 'Source Sans 3' } });
      return Buffer.from(image.render().asPng()).toString('base64');
    };
    const whole = draw(fontBytes('regular'));
    expect(draw(subsetFont('regular', [text]))).toBe(whole);
    expect(draw(subsetFont('regular', ['other'])), 'letters that are not there show').not.toBe(whole);
  });

  test('segments scale and move together', () => {
    expect(placeSegments([['C', 0, 0, 1, 0, 1, 1], ['Z']], 10, 20, 2)).toEqual([
      ['C', 10, 20, 12, 20, 12, 22],
      ['Z'],
    ]);
  });
});

describe.skipIf(!hasProgram('pdftotext'))('poppler, an independent reader', () => {
  test('finds every word of the page once', async () => {
    const input = inventedFigure();
    const pdf = await renderFigure(composeFigure(input), 'pdf', figureMetadata(input));
    const text = readByPoppler(pdf, 'pdftotext', ['-raw']);
    for (const words of [
      'Medium radon index',
      'Decree 422/2016 Sb.',
      'Scale 1:250 on A4',
      'Page 1 of 2',
      '≥ 25.8',
    ]) {
      expect(text).toContain(words);
    }
    // The rim around labels must not be a second copy of their text: once on the map, once in the table.
    expect(text.match(/\bP07\b/g)).toHaveLength(2);
  });

  test('sees the fonts embedded as subsets with their characters', async () => {
    const pdf = await renderFigure([SQUARE], 'pdf', META);
    expect(readByPoppler(pdf, 'pdffonts', [])).toMatch(
      /SourceSans3-Regular\s+CID TrueType\s+Identity-H\s+yes yes yes/,
    );
    expect(readByPoppler(pdf, 'pdftotext', ['-raw'])).toContain('Σ ≥ Žluť & <x>');
  });
});
