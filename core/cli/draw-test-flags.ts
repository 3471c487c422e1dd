import type { DrawCavity, DrawLine, DrawNumbers, DrawTest } from '../contract/draw-test.ts';
import { drawTestSchema } from '../contract/draw-test-schemas.ts';
import { DRAW_NUMBERS, standardDrawNumbers } from '../survey/draw-numbers.ts';
import { usage } from './flags.ts';

const PLACE_NAMES = [
  'cavity-length-mm',
  'cavity-diameter-mm',
  'shape-factor-m',
  'shape-factor-source',
  'line-loss-pa',
  'line-loss-at-ml-per-min',
  'tube-length-m',
  'tube-bore-mm',
  'metered-at',
] as const;

/** `leastFlowMlPerMin` is `least-flow-ml-per-min`, `airPressureHPa` `air-pressure-hpa`. */
const NUMBER_NAMES = new Map(
  DRAW_NUMBERS.map(({ key }) => [
    key.replace(/H?[A-Z]/g, (c) => `-${c.toLowerCase()}`).replace('hp-a', 'hpa'),
    key,
  ]),
);

export const DRAW_NAMES: readonly string[] = [...PLACE_NAMES, ...NUMBER_NAMES.keys()];

/**
 * The set-up that `--draw-test NAME=VALUE` asks for, on top of the one there is; undefined: none any more.
 * @throws AppError BAD_USAGE for a name or number that is not one, and for a cavity or line that is not told
 */
export function drawTestOf(entries: readonly string[], kept: DrawTest | undefined): DrawTest | undefined {
  if (entries.length === 1 && entries[0] === 'none') return undefined;
  const given = new Map(
    entries.map((entry) => {
      const at = entry.indexOf('=');
      const name = entry.slice(0, at).trim();
      if (at < 1 || !DRAW_NAMES.includes(name))
        throw usage(
          `--draw-test takes none, or NAME=VALUE with NAME one of ${DRAW_NAMES.join(', ')}; not "${entry}".`,
        );
      return [name, entry.slice(at + 1).trim()] as const;
    }),
  );
  const number = (name: string): number | undefined => {
    const text = given.get(name);
    if (text === undefined) return undefined;
    const value = Number(text);
    if (text === '' || !Number.isFinite(value))
      throw usage(`--draw-test ${name} takes a number, not "${text}".`);
    return value;
  };
  const numbers: Record<string, number> = {};
  for (const [name, key] of NUMBER_NAMES) {
    const value = number(name);
    if (value !== undefined) numbers[key] = value;
  }
  const parsed = drawTestSchema.safeParse({
    ...standardDrawNumbers(),
    meteredAt: 'line',
    ...kept,
    ...(numbers as Partial<DrawNumbers>),
    cavity: cavityOf(number, given.get('shape-factor-source'), kept?.cavity),
    line: lineOf(number, kept?.line),
    ...(given.has('metered-at') ? { meteredAt: given.get('metered-at') } : {}),
  });
  if (parsed.success) return parsed.data;
  const [issue] = parsed.error.issues;
  throw usage(`--draw-test: ${issue?.path.join(' ')}: ${issue?.message}`);
}

type Numbers = (name: string) => number | undefined;

function cavityOf(number: Numbers, source: string | undefined, kept: DrawCavity | undefined): DrawCavity {
  const [length, width, factor] = [
    number('cavity-length-mm'),
    number('cavity-diameter-mm'),
    number('shape-factor-m'),
  ];
  if (factor !== undefined) return { kind: 'stated', shapeFactorM: factor, source: source ?? '' };
  if (length !== undefined && width !== undefined)
    return { kind: 'cylinder', lengthM: length / 1000, diameterM: width / 1000 };
  if (kept === undefined || length !== undefined || width !== undefined || source !== undefined)
    throw usage(
      '--draw-test needs the cavity: cavity-length-mm and cavity-diameter-mm, or shape-factor-m and shape-factor-source.',
    );
  return kept;
}

function lineOf(number: Numbers, kept: DrawLine | undefined): DrawLine {
  const [loss, at] = [number('line-loss-pa'), number('line-loss-at-ml-per-min')];
  const [length, bore] = [number('tube-length-m'), number('tube-bore-mm')];
  if (loss !== undefined && at !== undefined) return { kind: 'measured', lossPa: loss, atFlowMlPerMin: at };
  if (length !== undefined && bore !== undefined)
    return { kind: 'tube', lengthM: length, boreM: bore / 1000 };
  if (kept === undefined || [loss, at, length, bore].some((n) => n !== undefined))
    throw usage(
      '--draw-test needs the line: line-loss-pa and line-loss-at-ml-per-min, or tube-length-m and tube-bore-mm.',
    );
  return kept;
}
