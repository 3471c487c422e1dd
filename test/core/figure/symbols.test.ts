import { describe, expect, test } from 'vitest';
import { probeSymbol, SYMBOL_KINDS, type SymbolKind } from '../../../core/contract/symbols.ts';
import { drawSymbol } from '../../../core/figure/draw-symbol.ts';
import { renderPng } from '../../../core/figure/render-png.ts';
import { PAPER } from '../../../core/figure/style.ts';
import { decodePng } from './png-reading.ts';

/** WCAG 2.1, relative luminance and contrast ratio, from the sRGB curve of IEC 61966-2-1. */
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string): number {
  const [high, low] = [luminance(a), luminance(b)].sort((p, q) => q - p) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

const SIZE = 96;

/** Darkness of each pixel of a symbol's box on white, 0 to 1, as a grey copy shows it. */
async function greyOf(kind: SymbolKind): Promise<number[]> {
  const png = await renderPng(
    { widthMm: 3, heightMm: 3, title: kind, nodes: drawSymbol(kind, [1.5, 1.5]) },
    { dpi: (SIZE / 3) * 25.4 },
  );
  const { width, height, at } = decodePng(png);
  return Array.from({ length: width * height }, (_, i) => {
    const [r, g, b] = at(i % width, Math.floor(i / width)) as [number, number, number];
    return 1 - (0.2126 * r + 0.7152 * g + 0.0722 * b) / 255;
  });
}

describe('symbols of probes', () => {
  // Each is drawn on a rim of paper, whatever lies under it.
  test.each(SYMBOL_KINDS)('%s reaches 4.5 to 1 on its paper rim (WCAG 2.1, 1.4.3: as for text)', (kind) => {
    expect(contrast(probeSymbol(kind).colour, PAPER)).toBeGreaterThan(4.5);
    const [rim] = drawSymbol(kind, [0, 0]);
    expect(rim?.kind === 'path' && rim.stroke?.colour).toBe(PAPER);
  });

  test('in a grey copy every two of them differ in a tenth of the inked area or more', async () => {
    const greys = new Map<SymbolKind, number[]>();
    for (const kind of SYMBOL_KINDS) greys.set(kind, await greyOf(kind));
    for (const [a, first] of greys) {
      for (const [b, second] of greys) {
        if (a >= b) continue;
        const inked = first.filter((v, i) => v > 0.3 || (second[i] ?? 0) > 0.3).length;
        const apart = first.filter((v, i) => Math.abs(v - (second[i] ?? 0)) > 0.3).length;
        expect(apart / inked, `${a} and ${b}`).toBeGreaterThan(0.1);
      }
    }
  });
});
