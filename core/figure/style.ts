/** Ink, line weights and type sizes of the sheet, in one place. */
import type { Stroke } from './scene.ts';

export const INK = '#131d26';
export const SOFT_INK = '#55626d';
export const HAIR = '#a9b3ba';
export const PAPER = '#ffffff';
export const DEMO_INK = '#8c1d46';

export const TITLE_PT = 15;
export const PROJECT_PT = 9.5;
export const HEAD_PT = 7;
export const BODY_PT = 7.5;
export const SMALL_PT = 6.5;
export const CLASS_PT = 14;

/** Baseline to baseline, as a multiple of the size. */
export const LEADING = 1.22;

export const HAIRLINE: Stroke = { colour: HAIR, widthMm: 0.12 };
export const NEAT_LINE: Stroke = { colour: INK, widthMm: 0.25 };
export const LOT_LINE: Stroke = {
  colour: INK,
  widthMm: 0.55,
  dashMm: [5, 0.9, 0.9, 0.9, 0.9, 0.9],
  join: 'round',
};
export const FOOTPRINT_LINE: Stroke = { colour: INK, widthMm: 0.35, dashMm: [1.8, 0.9] };
export const KEEP_OUT_LINE: Stroke = { colour: SOFT_INK, widthMm: 0.15 };
export const CONTOUR_LINE: Stroke = { colour: INK, widthMm: 0.14, join: 'round' };
export const LIMIT_LINE: Stroke = { colour: INK, widthMm: 0.42, join: 'round' };
/** Marks of ground on which the surface says little. */
export const WEAK_LINE: Stroke = { colour: SOFT_INK, widthMm: 0.1, dashMm: [0.9, 0.9] };
export const LEADER_LINE: Stroke = { colour: INK, widthMm: 0.1 };

/** Half the side of a probe symbol's box. */
export const SYMBOL_HALF_MM = 1.25;
