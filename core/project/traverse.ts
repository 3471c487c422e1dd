/** Lines of a deed to an outline of the project, with what it closes by. */
import type { ProjectFrame } from '../contract/model.ts';
import type { TraverseOptions, TraverseOutline, TraverseResult, TraverseRow } from '../contract/outlines.ts';
import { AppError } from '../errors.ts';
import type { CourseRow } from '../exchange/read-courses.ts';
import { formatBearing } from '../geo/bearing.ts';
import { ringToNative, toFrame } from '../geo/frame.ts';
import { type Course, computeTraverse, type Traverse } from '../geo/traverse.ts';

/** Worse than this is more than measuring explains in a lot line (common practice). */
const DOUBTFUL_RATIO = 1000;
/** Worse than this no rule may spread: it would hide a slip (own). */
const WORST_RATIO = 100;
const RULE_NAMES = { compass: 'the compass rule', transit: 'the transit rule' } as const;

/** @param rows - as read, directions from the deed's north */
export function traverseOutline(
  frame: ProjectFrame,
  rows: readonly CourseRow[],
  options: TraverseOptions,
): TraverseResult {
  const start = toFrame(frame, options.start);
  const scale = options.onGround ? frame.gridScaleFactor : 1;
  const courses = rows.map(({ course }) => (course === null ? null : onGrid(course, options.turnDeg, scale)));
  const firstBad = courses.indexOf(null);
  const read = courses.slice(0, firstBad < 0 ? courses.length : firstBad) as Course[];
  const { returns, rule } = options;
  const least = returns && read.every(({ curve }) => curve === null) ? 3 : 2;
  const isWhole = firstBad < 0 && read.length >= least;
  const way = computeTraverse(start, read, isWhole ? { rule, returns } : { rule: 'none', returns: false });
  return {
    rows: rows.map(
      (row, i): TraverseRow => describeRow(row, courses[i] ?? null, isWhole ? way.courses[i] : undefined),
    ),
    pathM: way.ring,
    outline: isWhole ? describeOutline(frame, way, options) : null,
  };
}

/**
 * The outline of rows that must all be good, for a file.
 * @throws AppError BAD_INPUT naming file and row; where there are too few; where it closes too badly to be adjusted
 */
export function requireOutline(
  frame: ProjectFrame,
  rows: readonly CourseRow[],
  options: TraverseOptions,
  file: string,
): TraverseOutline {
  const problems = rows.filter(({ problem }) => problem !== null);
  const [first] = problems;
  if (first !== undefined) {
    const lines = problems.map(({ row, problem, text }) => `Row ${row} of ${file}, "${text}": ${problem}.`);
    throw new AppError('BAD_INPUT', lines.join('\n'), { file, row: first.row });
  }
  const { outline } = traverseOutline(frame, rows, options);
  if (outline === null) {
    throw new AppError(
      'BAD_INPUT',
      `${file} holds ${rows.length} courses: an outline needs at least ${options.returns ? 3 : 2}.`,
      { file },
    );
  }
  if (outline.refusal !== null) {
    const message = [`${file}: ${outline.refusal}`, ...outline.notes].join('\n');
    throw new AppError('BAD_INPUT', message, { file, field: 'misclosure' });
  }
  return outline;
}

function onGrid(course: Course, turnDeg: number, scale: number): Course {
  const { azimuthDeg, lengthM, curve } = course;
  return {
    azimuthDeg: (((azimuthDeg + turnDeg) % 360) + 360) % 360,
    lengthM: lengthM * scale,
    curve: curve === null ? null : { ...curve, radiusM: curve.radiusM * scale },
  };
}

function describeRow(
  { row, text, problem }: CourseRow,
  course: Course | null,
  adjusted: Traverse['courses'][number] | undefined,
): TraverseRow {
  return {
    row,
    text,
    problem,
    bearing: course === null ? null : formatBearing(course.azimuthDeg),
    lengthM: course?.lengthM ?? null,
    radiusM: course?.curve?.radiusM ?? null,
    eastCorrectionM: adjusted?.departureCorrectionM ?? null,
    northCorrectionM: adjusted?.latitudeCorrectionM ?? null,
  };
}

function describeOutline(frame: ProjectFrame, way: Traverse, options: TraverseOptions): TraverseOutline {
  const { misclosure } = way;
  const { rule } = options;
  const notes: string[] = [];
  let refusal: string | null = null;
  if (misclosure !== null && misclosure.ratio !== null && misclosure.ratio < DOUBTFUL_RATIO) {
    const text = `It misses its start by ${metres(misclosure.distanceM)} in ${metres(way.perimeterM)} (${ratioText(misclosure.ratio)})`;
    if (rule !== 'none' && misclosure.ratio < WORST_RATIO) {
      refusal = `${text}: that is a slip, and no rule may spread it. Mend the row, or leave the misclosure as it is.`;
    } else {
      notes.push(
        `${text}: more than measuring explains in a lot line (1:${DOUBTFUL_RATIO.toLocaleString('en')} is common practice). Look for a slip first.`,
      );
    }
    notes.push(...way.likelySlips);
  }
  if (options.onGround && frame.gridScaleFactor !== 1) {
    notes.push(
      `Lengths of the ground are brought to the grid by ${frame.gridScaleFactor.toFixed(6)}; areas are those of the grid.`,
    );
  }
  if (way.ring.length > way.corners.length)
    notes.push('Curves are kept as short straight pieces that miss them by 5 mm at most.');
  return {
    ring: ringToNative(frame, way.ring),
    areaM2: way.areaM2,
    perimeterM: way.perimeterM,
    misclosure:
      misclosure === null
        ? null
        : {
            eastM: misclosure.eastM,
            northM: misclosure.northM,
            distanceM: misclosure.distanceM,
            bearing: misclosure.azimuthDeg === null ? null : formatBearing(misclosure.azimuthDeg),
            ratio: misclosure.ratio,
          },
    source: sourceText(way, options),
    notes,
    refusal,
  };
}

function sourceText({ misclosure, courses }: Traverse, { rule, turnDeg }: TraverseOptions): string {
  const turned =
    turnDeg === 0 ? '' : `, turned ${Math.abs(turnDeg).toFixed(4)}° ${turnDeg > 0 ? 'right' : 'left'}`;
  const head = `${courses.length} directions and lengths${turned}`;
  if (misclosure === null) return `${head}, last side not given: no misclosure to check by`;
  if (misclosure.ratio === null) return `${head}, closed`;
  const closing = `misclosure ${misclosure.distanceM.toFixed(3)} m (${ratioText(misclosure.ratio)})`;
  return rule === 'none'
    ? `${head}, ${closing} left in the last side`
    : `${head}, ${closing} spread by ${RULE_NAMES[rule]}`;
}

function ratioText(ratio: number): string {
  return `1:${Math.round(ratio).toLocaleString('en')}`;
}

function metres(value: number): string {
  return `${value.toFixed(value < 10 ? 3 : 2)} m`;
}

/** For the words of a result: misclosure, its parts and direction, ratio and area. */
export function closingLines({ misclosure, areaM2, perimeterM }: TraverseOutline): string[] {
  const size = `Area ${areaM2.toFixed(2)} m2, perimeter ${perimeterM.toFixed(3)} m.`;
  if (misclosure === null) return [size, 'The last side is not given: nothing checks the others.'];
  if (misclosure.ratio === null) return [size, 'It closes.'];
  const { distanceM, bearing, eastM, northM, ratio } = misclosure;
  return [
    size,
    `The last course ends ${distanceM.toFixed(4)} m from the start, ${bearing} of it (east ${eastM.toFixed(4)} m, north ${northM.toFixed(4)} m): ${ratioText(ratio)}.`,
  ];
}
