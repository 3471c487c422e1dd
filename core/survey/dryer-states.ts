import type { DayLogEntry } from '../contract/quality.ts';
import type { FieldSample } from './field-sample.ts';
import type { WorkingDay } from './working-days.ts';

/**
 * 'fresh': seen fresh before the sample and not found spent since. 'spent': noted with the sample. 'doubtful': drawn
 * between a look that found it fresh and one that found it spent, or before the first look, which found it spent.
 * 'unknown': nobody looked.
 */
export type DryerState = 'fresh' | 'spent' | 'doubtful' | 'unknown';

interface Look {
  readonly ms: number;
  readonly isSpent: boolean;
}

/** State of the dryer at every sample, by the sample's id: looks of the day's log and of the samples themselves. */
export function dryerStates(
  samples: readonly FieldSample[],
  days: readonly WorkingDay[],
): ReadonlyMap<string, DryerState> {
  const states = new Map<string, DryerState>(
    samples.map((s) => [
      s.id,
      s.saidDryerSpent === undefined ? 'unknown' : s.saidDryerSpent ? 'spent' : 'fresh',
    ]),
  );
  for (const { samples: own, log } of days) {
    const looks = [...looksOf(log), ...own.flatMap(lookAt)].sort((a, b) => a.ms - b.ms);
    for (const sample of own) {
      if (sample.saidDryerSpent !== undefined || sample.takenUtc === null) continue;
      const ms = Date.parse(sample.takenUtc);
      const before = looks.findLast((look) => look.ms <= ms);
      const next = looks.find((look) => look.ms > ms);
      // Found spent and not changed since: what follows is as spent.
      if (before?.isSpent === true) states.set(sample.id, 'spent');
      else if (next?.isSpent === true) states.set(sample.id, 'doubtful');
      else if (before !== undefined) states.set(sample.id, 'fresh');
    }
  }
  return states;
}

function looksOf(log: DayLogEntry | null): Look[] {
  return (log?.events ?? []).flatMap(({ kind, atUtc }) =>
    kind === 'dryer-fresh' || kind === 'dryer-spent'
      ? [{ ms: Date.parse(atUtc), isSpent: kind === 'dryer-spent' }]
      : [],
  );
}

function lookAt(sample: FieldSample): Look[] {
  return sample.saidDryerSpent === undefined || sample.takenUtc === null
    ? []
    : [{ ms: Date.parse(sample.takenUtc), isSpent: sample.saidDryerSpent }];
}
