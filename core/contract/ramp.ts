/**
 * The one colour ramp for radon values: cool and pale where little gas is, over clay, to mulberry where much is.
 * It is a straight line in OKLab lightness, so equal steps look equal, in colour, in grey and on paper; it ends
 * light enough for ink lines to stay readable on the highest band.
 * OKLab: B. Ottosson, "A perceptual color space for image processing", 2020 (matrices as published there).
 */

/** Lightness (0..1), chroma and hue (degrees) at even steps of the ramp. Hue runs on below 0, so as not to jump. */
const ANCHORS: readonly (readonly [lightness: number, chroma: number, hueDeg: number])[] = [
  [0.965, 0.016, 178],
  [0.894, 0.042, 118],
  [0.823, 0.083, 78],
  [0.752, 0.117, 50],
  [0.681, 0.14, 28],
  [0.61, 0.148, 4],
  [0.539, 0.142, -20],
];

/** Colour of ground for which there is no estimate. */
export const NO_VALUE_COLOUR = '#e4e6e4';

function anchor(index: number): readonly [number, number, number] {
  return ANCHORS[Math.min(ANCHORS.length - 1, Math.max(0, index))] as readonly [number, number, number];
}

/** Catmull-Rom through the anchors; lightness is linear in them and stays so. */
function interpolate(position: number, channel: 0 | 1 | 2): number {
  const i = Math.min(ANCHORS.length - 2, Math.floor(position));
  const f = position - i;
  const p1 = anchor(i)[channel];
  const p2 = anchor(i + 1)[channel];
  const p0 = i === 0 ? 2 * p1 - p2 : anchor(i - 1)[channel];
  const p3 = i + 2 >= ANCHORS.length ? 2 * p2 - p1 : anchor(i + 2)[channel];
  return p1 + 0.5 * f * (p2 - p0 + f * (2 * p0 - 5 * p1 + 4 * p2 - p3 + f * (3 * (p1 - p2) + p3 - p0)));
}

/** Linear-light sRGB of an OKLCH colour; channels outside 0..1 are outside the sRGB gamut. */
export function oklchToLinearRgb(
  lightness: number,
  chroma: number,
  hueDeg: number,
): readonly [number, number, number] {
  const a = chroma * Math.cos((hueDeg * Math.PI) / 180);
  const b = chroma * Math.sin((hueDeg * Math.PI) / 180);
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
  return [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
  ];
}

function encodeChannel(linear: number): string {
  const clamped = Math.min(1, Math.max(0, linear));
  const encoded = clamped <= 0.0031308 ? 12.92 * clamped : 1.055 * clamped ** (1 / 2.4) - 0.055;
  return Math.round(encoded * 255)
    .toString(16)
    .padStart(2, '0');
}

/** OKLCH of the ramp at `t` in 0..1 (outside: its ends). */
export function rampOklch(t: number): readonly [lightness: number, chroma: number, hueDeg: number] {
  const position = Math.min(1, Math.max(0, t)) * (ANCHORS.length - 1);
  return [interpolate(position, 0), interpolate(position, 1), interpolate(position, 2)];
}

/** `#rrggbb` of the ramp at `t` in 0..1 (outside: its ends). */
export function rampColour(t: number): string {
  const [r, g, b] = oklchToLinearRgb(...rampOklch(t));
  return `#${encodeChannel(r)}${encodeChannel(g)}${encodeChannel(b)}`;
}

/** Colour of band `index` of `count`, lowest first: the whole ramp in even steps, however many bands there are. */
export function bandColour(index: number, count: number): string {
  return rampColour(count <= 1 ? 0.35 : index / (count - 1));
}

/**
 * Colour of one value on a map whose bands are parted by `levels` (ascending; band 0 lies under the first).
 * @returns the band's colour, so that points, bands and legend agree; the no-value grey for a value that is not finite
 */
export function valueToColour(value: number, levels: readonly number[]): string {
  if (!Number.isFinite(value)) return NO_VALUE_COLOUR;
  const index = levels.filter((level) => value >= level).length;
  return bandColour(index, levels.length + 1);
}
