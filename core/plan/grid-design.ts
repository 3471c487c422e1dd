/** Probe layouts turned and shifted for the smallest worst gap, then for the fewest probes. */
import type { PositionM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import type { GridDesign, GridRequest, PlannedProbe } from './grid-types.ts';
import { FULL_TURN, type Pose, prepareSearch, type Search } from './layout-search.ts';
import { prepareInterest, worstGap } from './worst-gap.ts';

interface Candidate {
  readonly pose: Pose;
  readonly spacingM: number;
  readonly nodes: readonly PositionM[];
  readonly gapM: number;
  readonly atM: PositionM;
}

/** Gaps closer than this share are called equal; the fewer probes then win. */
const GAP_TIE = 0.01;
const REFINED = 5;

/**
 * Tries turns and shifts in a fixed order (no random numbers) and refines the best few by halving steps. Smallest worst
 * gap first, then, among gaps within 1 %, the fewest probes.
 * @throws AppError BAD_INPUT for no ground, no footprint where one is needed, or a spacing or count that cannot be laid
 *   out; CANCELLED
 */
export function designGrid(request: GridRequest, context: JobContext): GridDesign {
  const search = prepareSearch(request);
  const { shifts, turns } = search;
  const found: Candidate[] = [];
  let tried = 0;
  let best = Number.POSITIVE_INFINITY;
  let leastShort = Number.POSITIVE_INFINITY;
  const consider = (pose: Pose): Candidate | null => {
    tried++;
    const laid = search.layOut(pose);
    if (laid === null) return null;
    const short = Math.max(0, (request.minimumCount ?? 0) - laid.nodes.length);
    if (short > leastShort) return null;
    const limit = short < leastShort ? Number.POSITIVE_INFINITY : best * (1 + GAP_TIE);
    const { gapM, atM } = worstGap(laid.nodes, search.interest, limit);
    if (gapM > limit) return null;
    best = short < leastShort ? gapM : Math.min(best, gapM);
    leastShort = short;
    const candidate = { pose, ...laid, gapM, atM };
    found.push(candidate);
    return candidate;
  };
  turns.forEach((turnDeg, i) => {
    throwIfStopped(context);
    context.progress((0.8 * i) / turns.length, 'trying layouts');
    for (const u of shifts.u) for (const v of shifts.v) consider({ turnDeg, u, v });
  });
  if (found.length === 0) return dropExtras(request, search, tried);
  for (const start of rankCandidates(found, request).slice(0, REFINED)) {
    throwIfStopped(context);
    refine(start, request, consider, shifts.u.length);
  }
  context.progress(0.95, 'measuring the worst gap');
  const [chosen] = rankCandidates(found, request);
  return finish(request, search, chosen as Candidate, tried);
}

/** Best first: enough probes, smallest gap, fewest probes, then the order tried. */
function rankCandidates(found: readonly Candidate[], request: GridRequest): Candidate[] {
  const shortOf = (c: Candidate) => Math.max(0, (request.minimumCount ?? 0) - c.nodes.length);
  const least = Math.min(...found.map(shortOf));
  const enough = found.filter((c) => shortOf(c) === least);
  const smallest = Math.min(...enough.map((c) => c.gapM));
  const tied = (c: Candidate) => c.gapM <= smallest * (1 + GAP_TIE);
  return enough.toSorted(
    (a, b) =>
      Number(tied(b)) - Number(tied(a)) || (tied(a) ? a.nodes.length - b.nodes.length : 0) || a.gapM - b.gapM,
  );
}

function refine(
  start: Candidate,
  request: GridRequest,
  consider: (pose: Pose) => Candidate | null,
  shiftCount: number,
): void {
  let current = start;
  const moves = [
    [0, 1, 0],
    [0, -1, 0],
    [0, 0, 1],
    [0, 0, -1],
    [1, 0, 0],
    [-1, 0, 0],
  ] as const;
  for (let scale = 0.5; scale > 0.05; scale /= 2) {
    for (const [turn, du, dv] of moves) {
      if (turn !== 0 && (request.turnDeg !== undefined || request.pattern === 'along-footprint')) continue;
      const { pose } = current;
      const next = consider({
        turnDeg: pose.turnDeg + turn * scale * 5,
        u: pose.u + (du * scale) / shiftCount,
        v: pose.v + (dv * scale) / shiftCount,
      });
      if (next !== null && next.gapM < current.gapM) current = next;
    }
  }
}

/** No turn and shift gave the number asked for: the nearest larger layout loses the probes whose loss hurts least. */
function dropExtras(request: GridRequest, search: Search, tried: number): GridDesign {
  const count = 'count' in request.size ? request.size.count : 0;
  const pose: Pose = { turnDeg: search.turns[0] ?? 0, u: 0.5, v: 0.5 };
  let spacingM = search.typicalSpacingM;
  let nodes = search.layOutAt(pose, spacingM);
  for (let i = 0; nodes.length < count && i < 120; i++) {
    spacingM *= 0.97;
    nodes = search.layOutAt(pose, spacingM);
  }
  if (nodes.length === 0 || nodes.length < count)
    throw new AppError(
      'BAD_INPUT',
      `The allowed ground takes only ${nodes.length} probes of this layout${count > 0 ? `, not ${count}` : ''}.`,
      { field: 'size' },
    );
  while (nodes.length > count) {
    let least = { at: 0, gapM: Number.POSITIVE_INFINITY };
    nodes.forEach((_, at) => {
      const { gapM } = worstGap(nodes.toSpliced(at, 1), search.interest, least.gapM);
      if (gapM < least.gapM) least = { at, gapM };
    });
    nodes = nodes.toSpliced(least.at, 1);
  }
  search.notes.push(
    `No regular layout has exactly ${count} probes here: a closer one lost the probes missed least.`,
  );
  const gap = worstGap(nodes, search.interest);
  return finish(request, search, { pose, spacingM, nodes, ...gap }, tried);
}

function finish(request: GridRequest, search: Search, chosen: Candidate, tried: number): GridDesign {
  const { nodes, spacingM, pose, gapM, atM } = chosen;
  if (nodes.length === 0)
    throw new AppError(
      'BAD_INPUT',
      `A spacing of ${spacingM} m leaves no probe on the allowed ground (${search.interest.areaM2.toFixed(0)} m²). Is it in metres?`,
      { field: 'spacingM' },
    );
  const { footprint, pattern, minimumCount } = request;
  if (minimumCount !== undefined && nodes.length < minimumCount)
    search.notes.push(
      `${nodes.length} probes at this spacing; ${minimumCount} are asked for: use a closer spacing.`,
    );
  const full = FULL_TURN[pattern];
  return {
    pattern,
    probes: labelProbes(nodes, request.labels),
    spacingM,
    turnDeg: full === 0 ? 0 : ((pose.turnDeg % full) + full) % full,
    worstGapM: gapM,
    worstGapAtM: atM,
    worstGapInFootprintM:
      footprint === null ? null : worstGap(nodes, prepareInterest([[footprint]], 200)).gapM,
    layoutsTried: tried,
    notes: search.notes,
  };
}

/** Numbered in the order given, passing over labels that are taken: P01, P02, ... with as many digits as needed. */
export function labelProbes(
  positions: readonly PositionM[],
  labels: GridRequest['labels'] = { prefix: 'P', taken: [] },
): PlannedProbe[] {
  const taken = new Set(labels.taken);
  const digits = Math.max(2, String(positions.length + taken.size).length);
  let number = 0;
  return positions.map((positionM) => {
    let label: string;
    do label = `${labels.prefix}${String(++number).padStart(digits, '0')}`;
    while (taken.has(label));
    return { label, positionM };
  });
}
