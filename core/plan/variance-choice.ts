// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Which of many candidates lowers the mean or the worst kriging variance most, averaged over models. */
import type { VarianceUpdate } from './variance-update.ts';

export type Criterion = 'mean' | 'worst';

export interface ExpectedVariance {
  readonly mean: number;
  readonly worst: number;
}

export interface WeightedUpdate {
  readonly update: VarianceUpdate;
  readonly weight: number;
}

/** Samples at just these candidates are taken as known. */
export function setSamples(members: readonly WeightedUpdate[], candidates: readonly number[]): void {
  for (const { update } of members) {
    update.reset();
    for (const c of candidates) update.add(c);
  }
}

export function expectedVariance(members: readonly WeightedUpdate[]): ExpectedVariance {
  const now = targetVariances(members);
  return {
    mean: now.reduce((sum, v) => sum + v, 0) / now.length,
    worst: now.reduce((a, b) => Math.max(a, b), 0),
  };
}

/** The candidate among those given that leaves the lowest criterion, and that value; -1 where none is given. */
export function bestCandidate(
  members: readonly WeightedUpdate[],
  among: readonly number[],
  criterion: Criterion,
): { at: number; value: number } {
  const now = targetVariances(members);
  // widest first, so that a candidate which leaves one of them wide is dropped early
  const order = Int32Array.from(now, (_, e) => e).sort((a, b) => now[b]! - now[a]! || a - b);
  const { mean } = expectedVariance(members);
  let best = { at: -1, value: Number.POSITIVE_INFINITY };
  for (const c of among) {
    const value =
      criterion === 'mean' ? mean - meanFall(members, c) : worstWith(members, c, now, order, best.value);
    if (value < best.value) best = { at: c, value };
  }
  return best;
}

function targetVariances(members: readonly WeightedUpdate[]): Float64Array {
  const now = new Float64Array(members[0]!.update.targets);
  for (const { update, weight } of members)
    for (let e = 0; e < now.length; e++) now[e] = now[e]! + weight * update.targetVariance[e]!;
  return now;
}

function meanFall(members: readonly WeightedUpdate[], c: number): number {
  let fall = 0;
  for (const { update, weight } of members) {
    const { cross, targets } = update;
    let squares = 0;
    for (let e = 0, at = c * targets; e < targets; e++, at++) squares += cross[at]! * cross[at]!;
    fall += (weight * squares) / update.spread(c);
  }
  return fall / members[0]!.update.targets;
}

function worstWith(
  members: readonly WeightedUpdate[],
  c: number,
  now: Float64Array,
  order: Int32Array,
  giveUpAt: number,
): number {
  const { targets } = members[0]!.update;
  const factors = members.map(({ update, weight }) => weight / update.spread(c));
  let worst = 0;
  for (let k = 0; k < targets; k++) {
    const e = order[k]!;
    // no target left can be wider than this one is before the sample
    if (now[e]! <= worst) return worst;
    let left = now[e]!;
    for (let m = 0; m < members.length; m++)
      left -= factors[m]! * members[m]!.update.cross[c * targets + e]! ** 2;
    if (left > worst) worst = left;
    if (worst >= giveUpAt) return worst;
  }
  return worst;
}
