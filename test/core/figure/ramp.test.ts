import { describe, expect, test } from 'vitest';
import {
  bandColour,
  oklchToLinearRgb,
  rampColour,
  rampOklch,
  valueToColour,
} from '../../../core/contract/ramp.ts';
import { INK, PAPER } from '../../../core/figure/style.ts';

type Rgb = readonly [number, number, number];

/** IEC 61966-2-1 (sRGB). */
function linear(hex: string): Rgb {
  const channel = (i: number): number => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  };
  return [channel(1), channel(3), channel(5)];
}

/** Relative luminance, IEC 61966-2-1 / WCAG 2.1. */
function luminance([r, g, b]: Rgb): number {
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** WCAG 2.1, contrast ratio. */
function contrast(a: string, b: string): number {
  const [x, y] = [luminance(linear(a)), luminance(linear(b))].sort((p, q) => q - p) as [number, number];
  return (x + 0.05) / (y + 0.05);
}

/** CIE 1976 L*a*b* under D65, from CIE 15: a measure other than the one the ramp was made with. */
function lab([r, g, b]: Rgb): Rgb {
  const f = (t: number): number => (t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29);
  const x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  const y = f(luminance([r, g, b]));
  const z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

function difference(a: Rgb, b: Rgb): number {
  const [p, q] = [lab(a), lab(b)];
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
}

/**
 * Full dichromacy in linear RGB. Machado, Oliveira & Fernandes 2009, "A physiologically-based model for simulation of
 * color vision deficiency", IEEE TVCG 15(6), matrices for severity 1.0 (from memory; each row must sum to 1).
 */
const DICHROMACY = {
  protan: [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  deutan: [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
} as const;

function seenBy(kind: keyof typeof DICHROMACY, colour: Rgb): Rgb {
  const rows = DICHROMACY[kind].map((row) => row[0] * colour[0] + row[1] * colour[1] + row[2] * colour[2]);
  return rows.map((c) => Math.min(1, Math.max(0, c))) as unknown as Rgb;
}

const bands = (count: number): string[] => Array.from({ length: count }, (_, i) => bandColour(i, count));

describe('ramp', () => {
  test('lightness falls in even steps', () => {
    const steps = Array.from({ length: 40 }, (_, i) => rampOklch(i / 40)[0] - rampOklch((i + 1) / 40)[0]);
    for (const step of steps) expect(step).toBeCloseTo((0.965 - 0.539) / 40, 6);
  });

  test('stays inside sRGB, so that no clipping bends it', () => {
    for (let i = 0; i <= 200; i++) {
      for (const channel of oklchToLinearRgb(...rampOklch(i / 200))) {
        expect(channel).toBeGreaterThanOrEqual(-1e-4);
        expect(channel).toBeLessThanOrEqual(1 + 1e-4);
      }
    }
  });

  test('known colours convert as sRGB says: OKLCH of pure red, Ottosson 2020 (0.62796, 0.25768, 29.234)', () => {
    const [r, g, b] = oklchToLinearRgb(0.62796, 0.25768, 29.234);
    expect(r).toBeCloseTo(1, 3);
    expect(g).toBeCloseTo(0, 3);
    expect(b).toBeCloseTo(0, 3);
  });

  test('grey copy: CIE lightness falls all the way, by even steps within a third', () => {
    const grey = Array.from({ length: 21 }, (_, i) => lab(linear(rampColour(i / 20)))[0]);
    const steps = grey.slice(1).map((l, i) => (grey[i] as number) - l);
    const mean = steps.reduce((a, b) => a + b) / steps.length;
    for (const step of steps) {
      expect(step).toBeGreaterThan(0.67 * mean);
      expect(step).toBeLessThan(1.33 * mean);
    }
  });

  test('neighbouring bands differ to everybody, up to ten bands', () => {
    for (const rows of Object.values(DICHROMACY)) {
      for (const row of rows) expect(row[0] + row[1] + row[2]).toBeCloseTo(1, 4);
    }
    for (let count = 2; count <= 10; count++) {
      const colours = bands(count).map(linear);
      for (let i = 1; i < count; i++) {
        const [a, b] = [colours[i - 1] as Rgb, colours[i] as Rgb];
        // 2.3 is the just noticeable difference in CIELAB (Mahy et al. 1994); a map needs several.
        expect(difference(a, b)).toBeGreaterThan(5);
        expect(difference(seenBy('protan', a), seenBy('protan', b))).toBeGreaterThan(4.6);
        expect(difference(seenBy('deutan', a), seenBy('deutan', b))).toBeGreaterThan(4.6);
      }
    }
  });

  test('to a dichromat too, lightness falls all the way: no two values share a colour', () => {
    for (const kind of ['protan', 'deutan'] as const) {
      const grey = Array.from({ length: 21 }, (_, i) => lab(seenBy(kind, linear(rampColour(i / 20))))[0]);
      for (let i = 1; i < grey.length; i++) expect(grey[i]).toBeLessThan((grey[i - 1] as number) - 0.5);
    }
  });

  test('ink lines reach the contrast for graphics (WCAG 2.1, 1.4.11: 3 to 1) on every colour; labels stand on a paper rim', () => {
    for (let i = 0; i <= 50; i++) expect(contrast(INK, rampColour(i / 50))).toBeGreaterThan(3);
    expect(contrast(INK, PAPER)).toBeGreaterThan(7);
  });

  test('a value takes the colour of its band', () => {
    const levels = [20, 70];
    expect(valueToColour(19.99, levels)).toBe(bandColour(0, 3));
    expect(valueToColour(20, levels)).toBe(bandColour(1, 3));
    expect(valueToColour(500, levels)).toBe(bandColour(2, 3));
    expect(valueToColour(Number.NaN, levels)).not.toBe(bandColour(0, 3));
  });
});
