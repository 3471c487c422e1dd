const ROUND_STEPS = [1, 2, 2.5, 5, 10];
/** A round level this close (in steps) to a limit would print on top of it. */
const TOO_CLOSE_STEPS = 0.3;
/** Values that differ by a smaller share than this are one level ground, whatever rounding makes of them. */
const LEVEL_SHARE = 1e-6;

/**
 * Contour levels in round numbers, rising, with every limit that lies between the extremes.
 * The first level is the floor: a round number not above the smallest value.
 * @param limits - class limits of the scheme, in the unit of the values
 * @param maxCount - at most so many levels, limits included (more only where the limits alone are more)
 */
export function chooseLevels(
  min: number,
  max: number,
  limits: readonly number[],
  maxCount: number,
): number[] {
  if (!Number.isFinite(min) || !Number.isFinite(max)) return [];
  const between = [...new Set(limits)].filter((limit) => limit > min && limit < max).sort((a, b) => a - b);
  if (!(max - min > LEVEL_SHARE * Math.abs(max))) {
    // One round number below and one above, so that level ground takes the middle of the colours and not an end.
    const step = stepFor(Math.abs(min) || 1, 10);
    const floor = floorTo(min, step);
    return [floor, tidy(floor + step)];
  }
  let step = stepFor(max - min, maxCount);
  for (;;) {
    const levels = withLimits(min, max, step, between);
    if (levels.length <= Math.max(maxCount, between.length + 1) || step > (max - min) * 10) return levels;
    step = stepFor(step * 1.01, 1);
  }
}

function withLimits(min: number, max: number, step: number, limits: readonly number[]): number[] {
  const floor = floorTo(min, step);
  const levels = [floor];
  for (let k = 1; ; k++) {
    const level = tidy(floor + k * step);
    if (level >= max) break;
    if (limits.every((limit) => Math.abs(limit - level) > TOO_CLOSE_STEPS * step)) levels.push(level);
  }
  return [...new Set([...levels, ...limits])].sort((a, b) => a - b);
}

/** The smallest of 1, 2, 2.5, 5 times a power of ten that goes at most `count` times into the span. */
function stepFor(span: number, count: number): number {
  const raw = span / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = ROUND_STEPS.find((candidate) => candidate * power >= raw * (1 - 1e-9)) ?? 10;
  return tidy(step * power);
}

function floorTo(value: number, step: number): number {
  return tidy(Math.floor(value / step + 1e-9) * step);
}

function tidy(value: number): number {
  return Number(value.toPrecision(12));
}
