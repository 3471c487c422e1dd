import type { InstrumentBackground } from '../contract/model.ts';
import type { WorkingDay } from './working-days.ts';

export interface UsedInstrument {
  readonly label: string;
  /** Day of the calibration certificate, ISO 8601. */
  readonly certificateUtc: string | null;
  readonly backgrounds: readonly InstrumentBackground[];
}

/** Background before the first and after the last sample of a day, for one instrument. */
export interface DayBackground {
  readonly day: string;
  /** null where no sample names an instrument and only the log speaks. */
  readonly label: string | null;
  readonly opening: boolean;
  readonly closing: boolean;
  /** Closing less opening, counts/s with its standard uncertainty (Poisson), in the window where it rose most. */
  readonly rise: { readonly window: string; readonly perS: number; readonly uPerS: number } | null;
}

/** A background belongs to the day if it was taken within these of its first and last sample (own assumption). */
const BEFORE_H = 24;
const AFTER_H = 12;

export function dayBackgrounds(
  days: readonly WorkingDay[],
  instruments: readonly UsedInstrument[],
): DayBackground[] {
  return days.flatMap(({ day, samples, log }): DayBackground[] => {
    const said = { opening: log?.openingBackground === true, closing: log?.closingBackground === true };
    const labels = [...new Set(samples.flatMap((s) => s.reduction?.instrument ?? []))];
    if (labels.length === 0) return [{ day, label: null, ...said, rise: null }];
    return labels.map((label) => {
      const own = samples.filter((s) => s.reduction?.instrument === label && s.takenUtc !== null);
      const times = own.map((s) => Date.parse(s.takenUtc ?? ''));
      const hoursFrom = (b: InstrumentBackground, ms: number) =>
        b.takenUtc === null ? Number.NaN : (Date.parse(b.takenUtc) - ms) / 3_600_000;
      const [first, last] = [Math.min(...times), Math.max(...times)];
      const all = instruments.find((i) => i.label === label)?.backgrounds ?? [];
      const opening = all.filter((b) => hoursFrom(b, first) <= 0 && hoursFrom(b, first) >= -BEFORE_H);
      const closing = all.filter((b) => hoursFrom(b, last) >= 0 && hoursFrom(b, last) <= AFTER_H);
      return {
        day,
        label,
        opening: opening.length > 0 || said.opening,
        closing: closing.length > 0 || said.closing,
        rise: greatestRise(opening, closing),
      };
    });
  });
}

function greatestRise(
  opening: readonly InstrumentBackground[],
  closing: readonly InstrumentBackground[],
): DayBackground['rise'] {
  const rises = closing.flatMap((after) => {
    const before = opening.findLast((b) => b.window === after.window);
    if (before === undefined) return [];
    const perS = after.counts / after.liveS - before.counts / before.liveS;
    const uPerS = Math.sqrt(after.counts / after.liveS ** 2 + before.counts / before.liveS ** 2);
    return [{ window: after.window, perS, uPerS }];
  });
  return rises.reduce<DayBackground['rise']>(
    (most, rise) => (most === null || rise.perS * most.uPerS > most.perS * rise.uPerS ? rise : most),
    null,
  );
}
