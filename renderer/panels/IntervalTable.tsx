import { type KeyboardEvent, useMemo, useRef } from 'react';
import { flushSync } from 'react-dom';
import type { ValueMean } from '../../core/contract/hand-entry.ts';
import type { Instrument } from '../../core/contract/model.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { formatWithUncertainty, plural, prettyUnits, radonUnitLabel, trimNumber } from '../format.ts';
import type { EntryTexts, EntryUnits } from './entry-texts.ts';
import {
  type IntervalField,
  type IntervalTexts,
  nextInterval,
  readIngrowthS,
  readIntervals,
} from './interval-texts.ts';
import { useLiveAnswer } from './use-live-answer.ts';

interface IntervalTableProps {
  readonly sampleId: string | null;
  readonly texts: EntryTexts;
  readonly units: EntryUnits;
  /** Undefined where none is named: counts cannot be reduced then, values can. */
  readonly instrument: Instrument | undefined;
  readonly bad: ReadonlySet<string>;
  /** Whether empty fields are marked too. */
  readonly tried: boolean;
  readonly onChange: (patch: Partial<EntryTexts>) => void;
}

/** Counting intervals typed one by one, counts or the instrument's own values, and the mean the values will give. */
export function IntervalTable(props: IntervalTableProps) {
  const { sampleId, texts, units, instrument, bad, tried, onChange } = props;
  const { intervals, ingrowthMin, k } = texts;
  const body = useRef<HTMLTableSectionElement>(null);
  const { mean, valueRows } = useMean(sampleId, texts, units, instrument, bad);
  const hasWindows = (instrument?.windowIds.length ?? 0) > 1;
  const hasCounts = instrument !== undefined || intervals.some((row) => row.counts !== '');
  const unit = radonUnitLabel(units.radon);
  const columns: readonly (readonly [IntervalField, string, string])[] = [
    ['startS', 'Start, s', 'Start'],
    ['lengthS', 'Length, s', 'Length'],
    ['liveS', 'Live, s', 'Live time'],
    ...(hasCounts ? ([['counts', 'Counts', 'Counts']] as const) : []),
    ['value', `Value, ${unit}`, 'Value'],
    ['u', `U (k = ${k})`, 'Uncertainty'],
  ];

  const set = (index: number, patch: Partial<IntervalTexts>) =>
    onChange({ intervals: intervals.map((r, i) => (i === index ? { ...r, ...patch } : r)) });
  const last = intervals.at(-1);
  const inputsOf = (index: number) => [...(body.current?.rows.item(index)?.querySelectorAll('input') ?? [])];
  const add = () => {
    flushSync(() => onChange({ intervals: [...intervals, nextInterval(intervals)] }));
    // The new row's start and length follow from the row before: what is read off the instrument comes next.
    const inputs = inputsOf(intervals.length);
    const isNext = (input: HTMLInputElement) =>
      input.value === '' && input.placeholder === '' && !(last?.counts === '' && input.name === 'counts');
    inputs.find(isNext)?.focus();
  };
  /** As in any table of numbers: down, and a new row after the last. */
  const goDown = (event: KeyboardEvent, index: number, name: IntervalField) => {
    if (event.key !== 'Enter' || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    if (index + 1 === intervals.length) add();
    else
      inputsOf(index + 1)
        .find((input) => input.name === name)
        ?.select();
  };
  const standing = (index: number) => {
    const at = valueRows.indexOf(index);
    if (at < 0 || mean?.mean == null || mean.used.length !== valueRows.length) return '–';
    return mean.used[at] ? 'yes' : 'no: ingrowth';
  };

  return (
    <>
      {intervals.length > 0 ? (
        <ScrollRegion label="Counting intervals, scrollable">
          <table
            className="data interval-rows"
            aria-label="Counting intervals, seconds from the end of the fill"
          >
            <thead>
              <tr>
                {hasWindows ? <th scope="col">Window</th> : null}
                {columns.map(([name, label]) => (
                  <th key={name} scope="col">
                    {label}
                  </th>
                ))}
                <th scope="col">In the mean</th>
                <th scope="col">
                  <span className="visually-hidden">Take out</span>
                </th>
              </tr>
            </thead>
            <tbody ref={body}>
              {intervals.map((row, i) => (
                // biome-ignore lint/suspicious/noArrayIndexKey: rows have no name of their own and keep their order
                <tr key={i}>
                  {hasWindows ? (
                    <td>
                      <select
                        aria-label={`Window of interval ${i + 1}`}
                        value={row.window}
                        onChange={(event) => set(i, { window: event.target.value })}
                      >
                        <option value="">–</option>
                        {instrument?.windowIds.map((id) => (
                          <option key={id} value={id}>
                            {id}
                          </option>
                        ))}
                      </select>
                    </td>
                  ) : null}
                  {columns.map(([name, , spoken]) => (
                    <td key={name}>
                      <input
                        type="text"
                        inputMode="decimal"
                        name={name}
                        size={6}
                        placeholder={name === 'liveS' ? 'all' : undefined}
                        aria-label={`${spoken} of interval ${i + 1}`}
                        value={row[name]}
                        aria-invalid={(tried || row[name] !== '') && bad.has(`${name} ${i}`)}
                        onChange={(event) => set(i, { [name]: event.target.value })}
                        onKeyDown={(event) => goDown(event, i, name)}
                      />
                    </td>
                  ))}
                  <td className="nowrap">{standing(i)}</td>
                  <td>
                    <button
                      type="button"
                      className="quiet small"
                      aria-label={`Take out interval ${i + 1}`}
                      onClick={() => onChange({ intervals: intervals.filter((_, j) => j !== i) })}
                    >
                      Take out
                    </button>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </ScrollRegion>
      ) : null}
      <div className="row">
        <button type="button" onClick={add}>
          Add a counting interval
        </button>
        {intervals.length > 0 ? (
          <label className="field number-field">
            Ingrowth over after, min
            <input
              type="text"
              inputMode="decimal"
              value={ingrowthMin}
              placeholder={mean?.ingrowthS == null ? '' : trimNumber(mean.ingrowthS / 60)}
              aria-invalid={bad.has('ingrowthMin')}
              onChange={(event) => onChange({ ingrowthMin: event.target.value })}
            />
          </label>
        ) : (
          <p className="hint">
            Counts of an instrument in the register, or the instrument’s own value of each interval.
          </p>
        )}
      </div>
      {mean === null || valueRows.length === 0 ? null : <MeanView mean={mean} unit={units.radon} />}
    </>
  );
}

function MeanView({ mean, unit }: { mean: ValueMean; unit: EntryUnits['radon'] }) {
  if (mean.mean === null)
    return (
      <p className="hint hint-strong" aria-live="polite">
        No mean yet: {prettyUnits(mean.problem ?? '')}
      </p>
    );
  const { radonKBqPerM3, uKBqPerM3 } = mean.mean;
  return (
    <div className="stack" aria-live="polite">
      <p>
        Mean by live time:{' '}
        <strong>
          {formatWithUncertainty(radonKBqPerM3, uKBqPerM3, unit)} {radonUnitLabel(unit)}
        </strong>{' '}
        (k = 2){mean.usedFromFile > 0 ? `, with ${plural(mean.usedFromFile, 'value')} from a file` : ''}
      </p>
      <ul className="reasons">
        {mean.notes.map((note) => (
          <li key={note}>{prettyUnits(note)}</li>
        ))}
      </ul>
    </div>
  );
}

/** Of the rows that can be read so far; each keystroke asks anew. */
function useMean(
  sampleId: string | null,
  texts: EntryTexts,
  units: EntryUnits,
  instrument: Instrument | undefined,
  bad: ReadonlySet<string>,
): { readonly mean: ValueMean | null; readonly valueRows: readonly number[] } {
  const { values, valueRows } = readIntervals(texts.intervals, units.radon, Number(texts.k), new Set());
  const isRead = (row: number) =>
    ['startS', 'lengthS', 'liveS', 'value', 'u'].every((f) => !bad.has(`${f} ${row}`));
  const kept = values.filter((_, i) => isRead(valueRows[i] ?? -1));
  const ingrowthS = readIngrowthS(texts.ingrowthMin, new Set());
  const question = JSON.stringify({
    sampleId,
    instrumentId: instrument?.id ?? null,
    ingrowthS,
    values: kept,
  });
  const input = useMemo(() => (kept.length === 0 ? null : JSON.parse(question)), [kept.length, question]);
  const { output } = useLiveAnswer('values.average', 'values', input);
  return { mean: output, valueRows: valueRows.filter(isRead) };
}
