/** Counting intervals as they stand in the rows of their table, and back. Pure. */
import type { EnteredReading, EnteredValue, SampleEntry } from '../../core/contract/hand-entry.ts';
import { fromKBqPerM3, toKBqPerM3 } from '../../core/units.ts';
import { type ShownRadonUnit, trimNumber } from '../format.ts';
import { parseCoordinate } from './corners.ts';

/** One interval: what was counted in it, or what the instrument made of it, or both. */
export interface IntervalTexts {
  readonly window: string;
  readonly startS: string;
  readonly lengthS: string;
  /** Empty: live all the time. */
  readonly liveS: string;
  readonly counts: string;
  readonly value: string;
  readonly u: string;
}

export type IntervalField = Exclude<keyof IntervalTexts, 'window'>;

const EMPTY: IntervalTexts = { window: '', startS: '', lengthS: '', liveS: '', counts: '', value: '', u: '' };

/** What a field shows of a number: plain minus, so that it can be read back. */
const shown = (value: number | null) => (value === null ? '' : trimNumber(value, 9).replace('\u2212', '-'));

/** The row after those there are: most instruments count in equal steps without a pause. */
export function nextInterval(rows: readonly IntervalTexts[]): IntervalTexts {
  const last = rows.at(-1);
  if (last === undefined) return EMPTY;
  const [startS, lengthS] = [parseCoordinate(last.startS), parseCoordinate(last.lengthS)];
  const { window, liveS } = last;
  return {
    ...EMPTY,
    window,
    liveS,
    startS: startS === null || lengthS === null ? '' : shown(startS + lengthS),
    lengthS: last.lengthS,
  };
}

/** A value stands in the row of the counts of the same interval where there is one; u at k = 2. */
export function intervalRows(entry: SampleEntry | null, unit: ShownRadonUnit): IntervalTexts[] {
  const rows: IntervalTexts[] = (entry?.readings ?? []).map((r) => ({
    ...EMPTY,
    window: r.window ?? '',
    ...spanTexts(r),
    counts: shown(r.counts),
  }));
  for (const value of entry?.values ?? []) {
    const span = spanTexts(value);
    const cells = {
      value: shown(fromKBqPerM3(value.radonKBqPerM3, unit)),
      u: shown(value.uKBqPerM3 === null ? null : 2 * fromKBqPerM3(value.uKBqPerM3, unit)),
    };
    const at = rows.findIndex(
      (r) =>
        r.value === '' && r.startS === span.startS && r.lengthS === span.lengthS && r.liveS === span.liveS,
    );
    const row = rows[at];
    if (row === undefined) rows.push({ ...EMPTY, ...span, ...cells });
    else rows[at] = { ...row, ...cells };
  }
  return rows.toSorted((a, b) => Number(a.startS) - Number(b.startS));
}

function spanTexts({ startS, lengthS, liveS }: EnteredReading | EnteredValue) {
  return { startS: shown(startS), lengthS: shown(lengthS), liveS: shown(liveS) };
}

/** Nothing was read in it yet: it is a time to come, and is not entered. */
export function isWithoutReading(row: IntervalTexts): boolean {
  return [row.counts, row.value, row.u].every((text) => text.trim() === '');
}

export interface ReadIntervals {
  readonly readings: readonly EnteredReading[];
  readonly values: readonly EnteredValue[];
  /** Row of each value. */
  readonly valueRows: readonly number[];
}

/**
 * @param k - at which the values' uncertainties are typed
 * @param bad - takes the name and row of each field that cannot be read, such as 'counts 2'
 */
export function readIntervals(
  rows: readonly IntervalTexts[],
  unit: ShownRadonUnit,
  k: number,
  bad: Set<string>,
): ReadIntervals {
  const readings: EnteredReading[] = [];
  const values: EnteredValue[] = [];
  const valueRows: number[] = [];
  rows.forEach((row, i) => {
    if (isWithoutReading(row)) return;
    const read = (field: IntervalField, isGood: (value: number) => boolean) => {
      const value = parseCoordinate(row[field]);
      if (value !== null && isGood(value)) return value;
      bad.add(`${field} ${i}`);
      return 0;
    };
    const isSaid = (field: IntervalField) => row[field].trim() !== '';
    const span = {
      startS: read('startS', (v) => v >= 0),
      lengthS: read('lengthS', (v) => v > 0),
      liveS: isSaid('liveS') ? read('liveS', (v) => v > 0) : null,
    };
    if (isSaid('counts')) {
      const counts = read('counts', (v) => v >= 0 && Number.isInteger(v));
      readings.push({ window: row.window === '' ? null : row.window, ...span, counts });
    }
    if (!isSaid('value')) {
      if (isSaid('u')) bad.add(`value ${i}`);
      return;
    }
    valueRows.push(i);
    values.push({
      ...span,
      radonKBqPerM3: toKBqPerM3(
        read('value', () => true),
        unit,
      ),
      uKBqPerM3: isSaid('u')
        ? toKBqPerM3(
            read('u', (v) => v >= 0),
            unit,
          ) / k
        : null,
    });
  });
  return { readings, values, valueRows };
}

/** Seconds of the minutes typed; null where nothing is typed or it cannot be read, which `bad` then says. */
export function readIngrowthS(text: string, bad: Set<string>): number | null {
  if (text.trim() === '') return null;
  const minutes = parseCoordinate(text);
  if (minutes !== null && minutes >= 0) return 60 * minutes;
  bad.add('ingrowthMin');
  return null;
}
