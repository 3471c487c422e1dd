import { type KeyboardEvent, memo, useEffect, useMemo, useRef, useState } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatLength, formatMeasured, radonUnitLabel, type ShownRadonUnit } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { withChecked, withSelection } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';
import {
  orderRows,
  type RowOrder,
  rowLabel,
  type SampleRow,
  type SortKey,
  TREATMENT_NAMES,
} from './sample-rows.ts';

interface RowProps {
  readonly row: SampleRow;
  readonly selected: boolean;
  readonly checked: boolean;
  readonly feet: boolean;
  readonly unit: ShownRadonUnit;
  readonly onSelect: (sampleId: string) => void;
  readonly onCheck: (sampleId: string, checked: boolean) => void;
}

const Row = memo(function Row({ row, selected, checked, feet, unit, onSelect, onCheck }: RowProps) {
  const element = useRef<HTMLTableRowElement>(null);
  useEffect(() => {
    if (selected) element.current?.scrollIntoView({ block: 'nearest' });
  }, [selected]);
  const { sample, assessment } = row;
  const label = rowLabel(row);
  return (
    <tr
      ref={element}
      className={`${selected ? 'row-selected' : ''} row-${row.symbol}`}
      onClick={() => onSelect(sample.id)}
    >
      <td className="check">
        <input
          type="checkbox"
          aria-label={`Check ${label}`}
          checked={checked}
          onClick={(event) => event.stopPropagation()}
          onChange={(event) => onCheck(sample.id, event.target.checked)}
        />
      </td>
      <th scope="row">
        <button
          type="button"
          className="row-button"
          aria-pressed={selected}
          onClick={() => onSelect(sample.id)}
        >
          <SymbolIcon kind={row.symbol} />
          {label}
        </button>
      </th>
      <td className="number">{sample.depthM === null ? '–' : formatLength(sample.depthM, feet)}</td>
      <td className="number value">{formatMeasured(assessment.measured, unit)}</td>
      <td>{row.finding === 'none' ? <span className="faint">none</span> : row.finding}</td>
      <td>
        {TREATMENT_NAMES[assessment.treatment]}
        {assessment.ruling ? <span className="tag tag-ruled">ruled</span> : null}
      </td>
    </tr>
  );
});

const COLUMNS: readonly { readonly key: SortKey; readonly name: string; readonly isNumber?: boolean }[] = [
  { key: 'label', name: 'Probe' },
  { key: 'depth', name: 'Depth', isNumber: true },
  { key: 'radon', name: 'Radon ± U (k = 2)', isNumber: true },
  { key: 'finding', name: 'Finding' },
  { key: 'treatment', name: 'Treatment' },
];

/** Rising, falling, then as the sheet has them. */
function nextOrder(order: RowOrder | null, key: SortKey): RowOrder | null {
  if (order?.key !== key) return { key, descending: false };
  return order.descending ? null : { key, descending: true };
}

export function SampleTable({ rows, view }: { rows: readonly SampleRow[]; view: ProjectView }) {
  const app = useApp();
  const selectedId = useAppState((state) => state.selectedSampleId);
  const checkedIds = useAppState((state) => state.checkedSampleIds);
  const onSelect = useRef((id: string) => app.store.update((state) => withSelection(state, id))).current;
  const onCheck = useRef((id: string, checked: boolean) =>
    app.store.update((state) => withChecked(state, [id], checked)),
  ).current;
  const [order, setOrder] = useState<RowOrder | null>(null);
  const ordered = useMemo(() => orderRows(rows, order), [rows, order]);
  const allChecked = rows.length > 0 && rows.every((row) => checkedIds.has(row.sample.id));
  const feet = usesFeet(view.frame);
  const unit = view.settings.radonUnit;
  const body = useRef<HTMLTableSectionElement>(null);
  const focusRow = (index: number) =>
    body.current?.rows.item(index)?.querySelector<HTMLButtonElement>('.row-button')?.focus();
  /** Arrow keys go from sample to sample; each shows its evidence as it is reached. */
  const walk = (event: KeyboardEvent) => {
    const by = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0;
    if (by === 0 || !(event.target as Element).classList.contains('row-button')) return;
    event.preventDefault();
    const at = ordered.findIndex((row) => row.sample.id === selectedId);
    const next = ordered[at + by];
    if (next === undefined || at < 0) return;
    onSelect(next.sample.id);
    focusRow(at + by);
  };
  // A form that is done takes the focus with it: it goes back to the sample it was about.
  // biome-ignore lint/correctness/useExhaustiveDependencies: only a change of the project closes a form
  useEffect(() => {
    const at = ordered.findIndex((row) => row.sample.id === selectedId);
    if (at >= 0 && document.activeElement === document.body) focusRow(at);
  }, [view.revision]);

  return (
    <ScrollRegion label="Samples" className="fill">
      <table className="data samples" aria-label="Samples">
        <thead>
          <tr>
            <th scope="col" className="check">
              <input
                type="checkbox"
                aria-label="Check all shown samples"
                checked={allChecked}
                onChange={(event) =>
                  app.store.update((state) =>
                    withChecked(
                      state,
                      rows.map((row) => row.sample.id),
                      event.target.checked,
                    ),
                  )
                }
              />
            </th>
            {COLUMNS.map(({ key, name, isNumber }) => (
              <th
                key={key}
                scope="col"
                className={isNumber ? 'number' : ''}
                aria-sort={order?.key === key ? (order.descending ? 'descending' : 'ascending') : undefined}
              >
                <button type="button" className="sort" onClick={() => setOrder(nextOrder(order, key))}>
                  {key === 'radon' ? `${name}, ${radonUnitLabel(unit)}` : name}
                </button>
              </th>
            ))}
          </tr>
        </thead>
        <tbody ref={body} onKeyDown={walk}>
          {ordered.map((row) => (
            <Row
              key={row.sample.id}
              row={row}
              selected={row.sample.id === selectedId}
              checked={checkedIds.has(row.sample.id)}
              feet={feet}
              unit={unit}
              onSelect={onSelect}
              onCheck={onCheck}
            />
          ))}
        </tbody>
      </table>
    </ScrollRegion>
  );
}
