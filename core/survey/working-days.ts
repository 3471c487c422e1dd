/** Samples by the day of work they were drawn on, whatever clock the crew keeps, and the log of each day. */
import type { DayLogEntry } from '../contract/quality.ts';
import type { FieldSample } from './field-sample.ts';

export interface WorkingDay {
  /** YYYY-MM-DD: the day that most of its samples bear. */
  readonly day: string;
  /** In order of time. */
  readonly samples: readonly FieldSample[];
  readonly log: DayLogEntry | null;
}

/** A pause this long is a night (own assumption): a day of work east or west of Greenwich may pass midnight UTC. */
export const NIGHT_H = 9;

/**
 * Days in order of time, blanks included; samples without a time belong to none. Where no sample has a time and there
 * is one log only, it is taken for all of them.
 */
export function workingDays(samples: readonly FieldSample[], logs: readonly DayLogEntry[]): WorkingDay[] {
  const timed = samples
    .flatMap((sample) => (sample.takenUtc === null ? [] : [{ sample, ms: Date.parse(sample.takenUtc) }]))
    .sort((a, b) => a.ms - b.ms);
  const groups: (typeof timed)[] = [];
  let lastMs = Number.NEGATIVE_INFINITY;
  for (const entry of timed) {
    if (entry.ms - lastMs >= NIGHT_H * 3_600_000) groups.push([]);
    groups.at(-1)?.push(entry);
    lastMs = entry.ms;
  }
  const [only] = logs;
  if (groups.length === 0 && logs.length === 1 && only !== undefined && samples.length > 0)
    return [{ day: only.day, samples, log: only }];
  return groups.map((group) => {
    const own = group.map((entry) => entry.sample);
    const day = commonest(own.map((s) => s.takenUtc?.slice(0, 10) ?? ''));
    return { day, samples: own, log: logs.find((log) => log.day === day) ?? null };
  });
}

/** The first of those that stand most often. */
function commonest(days: readonly string[]): string {
  const counts = new Map<string, number>();
  for (const day of days) counts.set(day, (counts.get(day) ?? 0) + 1);
  const most = Math.max(...counts.values());
  return [...counts].find(([, n]) => n === most)?.[0] ?? '';
}

/** Samples with the volumes of their day's log where they have none of their own. Blanks draw no soil gas. */
export function withDayVolumes(
  samples: readonly FieldSample[],
  logs: readonly DayLogEntry[],
): readonly FieldSample[] {
  if (logs.every((log) => log.pumpedMl === null && log.systemMl === null)) return samples;
  const logOf = new Map(
    workingDays(samples, logs).flatMap(({ samples: own, log }) => own.map((s) => [s.id, log])),
  );
  return samples.map((sample) => {
    const log = sample.kind === 'blank' ? null : (logOf.get(sample.id) ?? null);
    if (log === null) return sample;
    const pumpedMl = sample.pumpedMl ?? log.pumpedMl;
    const systemMl = sample.systemMl ?? log.systemMl;
    return {
      ...sample,
      ...(pumpedMl === null ? {} : { pumpedMl }),
      ...(systemMl === null ? {} : { systemMl }),
    };
  });
}
