import { memo, useEffect, useRef } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatLength, formatMeasured, radonUnitLabel, type ShownRadonUnit } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { withChecked, withSelection } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';
import { rowLabel, type SampleRow, TREATMENT_NAMES } from './sample-rows.ts';

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

export function SampleTable({ rows, view }: { rows: readonly SampleRow[]; view: ProjectView }) {
  const app = useApp();
  const selectedId = useAppState((state) => state.selectedSampleId);
  const checkedIds = useAppState((state) => state.checkedSampleIds);
  const onSelect = useRef((id: string) => app.store.update((state) => withSelection(state, id))).current;
  const onCheck = useRef((id: string, checked: boolean) =>
    app.store.update((state) => withChecked(state, [id], checked)),
  ).current;
  const allChecked = rows.length > 0 && rows.every((row) => checkedIds.has(row.sample.id));
  const feet = usesFeet(view.frame);
  const unit = view.settings.radonUnit;

  return (
    <section className="table-scroll fill" aria-label="Samples">
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
            <th scope="col">Probe</th>
            <th scope="col" className="number">
              Depth
            </th>
            <th scope="col" className="number">
              Radon ± U, {radonUnitLabel(unit)}
            </th>
            <th scope="col">Finding</th>
            <th scope="col">Treatment</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
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
    </section>
  );
}
