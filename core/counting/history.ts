// biome-ignore-all lint/style/noNonNullAssertion: indices run over arrays of one chain's length
import { AppError } from '../errors.ts';
import { atomSecondsBetween, atomsAt, solvePhase } from './bateman.ts';
import type { Nuclide } from './nuclides.ts';
import { lambdaOf } from './nuclides.ts';

/** How gas came into the chamber. A filter keeps progeny out: only gas enters. */
export type FillWay =
  /** All at once at the start of the fill. */
  | { readonly kind: 'at-once' }
  /** At a steady rate into an evacuated or collapsible chamber: the concentration grows in a straight line. */
  | { readonly kind: 'steady' }
  /** Pumped through, well mixed: chamberVolumes is what was pumped, in volumes of the chamber. */
  | { readonly kind: 'flow-through'; readonly chamberVolumes: number };

/** One filling. Times in seconds on one clock of the instrument's day. */
export interface Fill {
  readonly startS: number;
  readonly endS: number;
  readonly way: FillWay;
  /** Time the gas spent between the ground and the chamber, for example in a syringe. */
  readonly transitS: number;
}

/** How a sample left the chamber again. */
export interface Emptying {
  readonly startS: number;
  readonly endS: number;
  /** Share of the gas concentration still there when the next sample is in: chamber, tube and dryer together. */
  readonly gasLeft: number;
  /** Share of the progeny atoms that stay; 1 where they sit on the walls. */
  readonly progenyLeft: number;
  /** The next time the chamber was emptied; its shares are of what the first left. */
  readonly then?: Emptying;
}

export interface TimeSpan {
  readonly startS: number;
  readonly endS: number;
}

interface Phase {
  readonly startS: number;
  readonly endS: number;
  /** Loss of gas beside its decay, 1/s. */
  readonly flushPerS: number;
  /** Activity that comes in, Bq/s. */
  readonly inflowBqPerS: number;
  /** Applied to the members when the phase begins. */
  readonly gasFactor: number;
  readonly progenyFactor: number;
}

/**
 * Decays of each member in each interval, for gas whose activity in the chamber would be 1 Bq when the fill ends
 * had nothing decayed since it left the ground. For a flow-through fill this is 1 Bq of what the chamber then holds:
 * how much of that is soil gas is the business of the dead-volume correction, not of this one.
 * @returns decays[interval][member]
 * @throws AppError BAD_INPUT for times out of order or shares outside 0..1
 */
export function decaysPerBq(
  chain: readonly Nuclide[],
  fill: Fill,
  intervals: readonly TimeSpan[],
  emptying: Emptying | null = null,
): number[][] {
  const phases = listPhases(fill, emptying);
  const lambda = chain.map(lambdaOf);
  const feed = [1, ...chain.map((m, i) => lambda[i]! * m.toNext)];
  const out = intervals.map(() => chain.map(() => 0));
  let atoms = chain.map(() => 0);
  for (const phase of phases) {
    atoms = atoms.map((n, i) => n * (i === 0 ? phase.gasFactor : phase.progenyFactor));
    if (phase.inflowBqPerS === Number.POSITIVE_INFINITY) {
      atoms[0] = atoms[0]! + Math.exp(-lambda[0]! * fill.transitS) / lambda[0]!;
      continue;
    }
    // a source that does not run down, in front of the chain
    const inflow = (phase.inflowBqPerS * Math.exp(-lambda[0]! * fill.transitS)) / lambda[0]!;
    const loss = [0, ...lambda.map((l, i) => (i === 0 ? l + phase.flushPerS : l))];
    const solution = solvePhase(loss, feed, [inflow, ...atoms]);
    intervals.forEach((span, index) => {
      const from = Math.max(span.startS, phase.startS);
      const to = Math.min(span.endS, phase.endS);
      if (!(to > from)) return;
      const area = atomSecondsBetween(solution, from - phase.startS, to - phase.startS);
      const row = out[index]!;
      for (let i = 0; i < chain.length; i++) row[i] = row[i]! + area[i + 1]! * lambda[i]!;
    });
    if (Number.isFinite(phase.endS)) atoms = atomsAt(solution, phase.endS - phase.startS).slice(1);
  }
  return out;
}

function listPhases(fill: Fill, emptying: Emptying | null): Phase[] {
  checkOrder(fill, emptying);
  const still = { flushPerS: 0, inflowBqPerS: 0, gasFactor: 1, progenyFactor: 1 };
  const span = fill.endS - fill.startS;
  const phases: Phase[] = [];
  const sealedFrom = fill.way.kind === 'at-once' ? fill.startS : fill.endS;
  if (fill.way.kind === 'at-once' || span === 0)
    phases.push({
      ...still,
      startS: fill.startS,
      endS: fill.startS,
      inflowBqPerS: Number.POSITIVE_INFINITY,
    });
  else if (fill.way.kind === 'steady')
    phases.push({ ...still, startS: fill.startS, endS: fill.endS, inflowBqPerS: 1 / span });
  else {
    const flushPerS = fill.way.chamberVolumes / span;
    phases.push({
      ...still,
      startS: fill.startS,
      endS: fill.endS,
      flushPerS,
      inflowBqPerS: flushPerS / -Math.expm1(-fill.way.chamberVolumes),
    });
  }
  if (emptying === null) {
    phases.push({ ...still, startS: sealedFrom, endS: Number.POSITIVE_INFINITY });
    return phases;
  }
  let from = sealedFrom;
  for (let stage: Emptying | undefined = emptying; stage !== undefined; stage = stage.then) {
    phases.push({ ...still, startS: from, endS: stage.startS });
    const flush = stage.endS - stage.startS;
    // The gas falls exponentially while it is flushed; none left, or no time to flush: at once.
    const atOnce = flush === 0 || stage.gasLeft === 0;
    phases.push({
      ...still,
      startS: stage.startS,
      endS: stage.endS,
      gasFactor: atOnce ? stage.gasLeft : 1,
      flushPerS: atOnce ? 0 : -Math.log(stage.gasLeft) / flush,
      progenyFactor: stage.progenyLeft,
    });
    from = stage.endS;
  }
  phases.push({ ...still, startS: from, endS: Number.POSITIVE_INFINITY });
  return phases;
}

function checkOrder(fill: Fill, emptying: Emptying | null): void {
  if (!(fill.endS >= fill.startS) || !(fill.transitS >= 0))
    throw new AppError('BAD_INPUT', `The fill ends at ${fill.endS} s, before it starts (${fill.startS} s)`, {
      field: 'fill',
    });
  if (fill.way.kind === 'flow-through' && !(fill.way.chamberVolumes > 0))
    throw new AppError('BAD_INPUT', `Pumped chamber volumes must be over 0, not ${fill.way.chamberVolumes}`, {
      field: 'chamberVolumes',
    });
  let filledUntil = fill.endS;
  for (let stage = emptying ?? undefined; stage !== undefined; stage = stage.then) {
    if (!(stage.startS >= filledUntil && stage.endS >= stage.startS))
      throw new AppError(
        'BAD_INPUT',
        `The chamber is emptied from ${stage.startS} to ${stage.endS} s, but what came before ends at ${filledUntil} s`,
        { field: 'emptying' },
      );
    for (const [field, share] of [
      ['gasLeft', stage.gasLeft],
      ['progenyLeft', stage.progenyLeft],
    ] as const)
      if (!(share >= 0 && share <= 1))
        throw new AppError('BAD_INPUT', `${field} is a share from 0 to 1, not ${share}`, { field });
    filledUntil = stage.endS;
  }
}
