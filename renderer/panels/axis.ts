/** Round tick values of 1, 2 or 5 times a power of ten from 0 to `max`, at most `count` beside 0. */
export function axisTicks(max: number, count: number): number[] {
  if (!(max > 0)) return [0];
  const raw = max / count;
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = ([1, 2, 5, 10].find((m) => m * decade >= raw * (1 - 1e-9)) ?? 10) * decade;
  const ticks: number[] = [];
  for (let k = 0; k * step <= max * (1 + 1e-9); k++) ticks.push(Number((k * step).toPrecision(12)));
  return ticks;
}
