// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Greedy choice and exchange of places for added probes, whatever their worth is measured by. */
import type { PositionM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import {
  bestCandidate,
  type Criterion,
  expectedVariance,
  setSamples,
  type WeightedUpdate,
} from './variance-choice.ts';

const MOST_PASSES = 8;
const LEAST_GAIN = 1e-7;

export interface ChoiceOfPlaces {
  readonly members: readonly WeightedUpdate[];
  readonly places: readonly PositionM[];
  readonly criterion: Criterion;
  /** Least distance between added probes. */
  readonly apartM: number;
}

/**
 * One after the other, each where it lowers the criterion most.
 * @throws AppError BAD_INPUT where there is no room for all of them; CANCELLED
 */
export function chooseGreedily(
  choice: ChoiceOfPlaces,
  count: number,
  context: JobContext,
  [from, to]: readonly [number, number],
): number[] {
  const { members, places, criterion, apartM } = choice;
  const chosen: number[] = [];
  for (let k = 0; k < count; k++) {
    throwIfStopped(context);
    context.progress(from + ((to - from) * k) / count, 'choosing');
    const { at } = bestCandidate(members, apartFrom(places, chosen, apartM), criterion);
    if (at < 0)
      throw new AppError('BAD_INPUT', `There is room for only ${k} more probes; ${count} are asked for.`);
    for (const { update } of members) update.add(at);
    chosen.push(at);
  }
  return chosen;
}

/** Takes each chosen probe out in turn and puts it where it helps most, until a whole round changes nothing. */
export function exchangePlaces(
  choice: ChoiceOfPlaces,
  start: readonly number[],
  context: JobContext,
  [from, to]: readonly [number, number],
): number[] {
  const { members, places, criterion, apartM } = choice;
  let chosen = [...start];
  setSamples(members, chosen);
  let current = expectedVariance(members)[criterion];
  for (let pass = 0; pass < MOST_PASSES; pass++) {
    let changed = false;
    for (let k = 0; k < chosen.length; k++) {
      throwIfStopped(context);
      context.progress(from + ((to - from) * (pass + k / chosen.length)) / MOST_PASSES, 'exchanging');
      const others = chosen.toSpliced(k, 1);
      setSamples(members, others);
      const best = bestCandidate(members, apartFrom(places, others, apartM), criterion);
      if (best.at < 0 || best.value >= current * (1 - LEAST_GAIN)) continue;
      current = best.value;
      chosen = chosen.with(k, best.at);
      changed = true;
    }
    if (!changed) break;
  }
  return chosen;
}

/** Indices of the places that keep apart from those chosen. */
function apartFrom(places: readonly PositionM[], chosen: readonly number[], apartM: number): number[] {
  const keeps = ([x, y]: PositionM, c: number) =>
    chosen.every((k) => k !== c && Math.hypot(places[k]![0] - x, places[k]![1] - y) >= apartM);
  return places.flatMap((place, c) => (keeps(place, c) ? [c] : []));
}
