/**
 * One day of counting with one cell, integrated step by step: a forward model of its own that shares nothing with
 * core/counting. Half-lives: Decay Data Evaluation Project (LNHB). The cell is invented.
 */
import { randomStream } from '../../../core/classify/random.ts';
import { poisson } from '../counting/simulate.ts';

const HALF_LIVES_S = [3.8232 * 86_400, 3.071 * 60, 26.916 * 60, 19.8 * 60] as const;
const [RADON, PO218, PB214, BI214] = HALF_LIVES_S.map((t) => Math.LN2 / t) as [
  number,
  number,
  number,
  number,
];

export const CELL = {
  chamberMl: 250,
  countsPerAlpha: 0.7,
  backgroundPerS: 0.03,
  gasLeft: 0.02,
  fillS: 30,
  flushS: 180,
  /** Counting starts this long after the fill; intervals of 5 min follow each other. */
  firstS: 60,
  intervals: 3,
  lengthS: 300,
  /** From one fill to the next. */
  everyS: 25 * 60,
  clockOffsetS: 90,
} as const;

export const FIRST_FILL_END_MS = Date.parse('2026-05-12T07:30:00Z');

export interface DaySample {
  readonly label: string;
  readonly kind: 'grab' | 'blank';
  readonly radonKBqPerM3: number;
}

export interface CountedInterval {
  readonly sample: DaySample;
  readonly fillEndMs: number;
  readonly startS: number;
  readonly counts: number;
}

type State = [radon: number, po218: number, pb214: number, bi214: number];

/** Atoms per second: gas comes in at `inflow` and leaves with `flushPerS`; progeny stay on the walls. */
function rates(n: State, inflow: number, flushPerS: number): State {
  return [
    inflow - (RADON + flushPerS) * n[0],
    RADON * n[0] - PO218 * n[1],
    PO218 * n[1] - PB214 * n[2],
    PB214 * n[2] - BI214 * n[3],
  ];
}

/** Runge-Kutta of fourth order over `seconds` in steps of 1 s. @returns alphas emitted meanwhile (Po-214 at once) */
function advance(n: State, seconds: number, inflow: number, flushPerS: number): number {
  const steps = Math.max(1, Math.round(seconds));
  const h = seconds / steps;
  const alphas = () => RADON * n[0] + PO218 * n[1] + BI214 * n[3];
  let emitted = 0;
  for (let step = 0; step < steps; step++) {
    const before = alphas();
    const at = (k: State, f: number): State => n.map((x, i) => x + f * h * (k[i] ?? 0)) as State;
    const k1 = rates(n, inflow, flushPerS);
    const k2 = rates(at(k1, 0.5), inflow, flushPerS);
    const k3 = rates(at(k2, 0.5), inflow, flushPerS);
    const k4 = rates(at(k3, 1), inflow, flushPerS);
    for (let i = 0; i < 4; i++)
      n[i] = (n[i] ?? 0) + (h / 6) * ((k1[i] ?? 0) + 2 * (k2[i] ?? 0) + 2 * (k3[i] ?? 0) + (k4[i] ?? 0));
    emitted += (h * (before + alphas())) / 2;
  }
  return emitted;
}

/** Counts of every interval of a day on which `samples` follow each other in one cell. */
export function countDay(samples: readonly DaySample[], seed: number): CountedInterval[] {
  const random = randomStream(seed, 0);
  const n: State = [0, 0, 0, 0];
  return samples.flatMap((sample, i) => {
    const fillEndMs = FIRST_FILL_END_MS + 1000 * CELL.everyS * i;
    const becquerel = sample.radonKBqPerM3 * 1000 * CELL.chamberMl * 1e-6;
    advance(n, CELL.fillS, becquerel / CELL.fillS / RADON, 0);
    advance(n, CELL.firstS, 0, 0);
    const counted = Array.from({ length: CELL.intervals }, (_, k) => {
      const alphas = advance(n, CELL.lengthS, 0, 0);
      const mean = CELL.countsPerAlpha * alphas + CELL.backgroundPerS * CELL.lengthS;
      return { sample, fillEndMs, startS: CELL.firstS + k * CELL.lengthS, counts: poisson(mean, random) };
    });
    const counting = CELL.firstS + CELL.intervals * CELL.lengthS;
    advance(n, CELL.everyS - counting - CELL.fillS - CELL.flushS, 0, 0);
    advance(n, CELL.flushS, 0, -Math.log(CELL.gasLeft) / CELL.flushS);
    return counted;
  });
}

/** By the clock of the instrument, which is ahead of UTC. */
export function clockText(ms: number): string {
  return new Date(ms + 1000 * CELL.clockOffsetS).toISOString();
}

export function readingsCsv(counted: readonly CountedInterval[]): string {
  const rows = counted.map(({ sample, fillEndMs, startS, counts }) =>
    [
      sample.label,
      sample.kind,
      'Cell A',
      clockText(fillEndMs),
      CELL.fillS,
      'steady',
      CELL.flushS,
      startS,
      CELL.lengthS,
      counts,
    ].join(','),
  );
  return `Probe,Kind,Instrument,Fill end,Fill (s),Fill way,Flush (s),Start (s),Length (s),Counts\n${rows.join('\n')}\n`;
}

export const INSTRUMENTS_CSV = [
  'Instrument,Detector,Counts per alpha,Chamber (mL),Line (mL),Common u (%),Calibrated,Certificate,Gas left (%),Gas left u (%),Clock offset (s),Background counts,Background time (min)',
  `Cell A,alpha,${CELL.countsPerAlpha},${CELL.chamberMl},60,4,2026-01-15,C-17 (invented),2,0.4,${CELL.clockOffsetS},${Math.round(CELL.backgroundPerS * 7200)},120`,
  '',
].join('\n');
