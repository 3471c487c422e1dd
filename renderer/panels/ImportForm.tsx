import { useState } from 'react';
import type {
  CrsChoice,
  ImportField,
  ImportMapping,
  ImportOptions,
  ImportPreview,
} from '../../core/contract/requests.ts';
import { IssueTable } from '../components/IssueTable.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { plural, prettyUnits } from '../format.ts';
import type { PendingImport } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { CrsSearch } from './CrsSearch.tsx';
import { FIELD_NAMES, IMPORT_FIELDS, type ImportFieldInfo, isNeeded } from './import-fields.ts';

const DELIMITERS: readonly (readonly [value: NonNullable<ImportOptions['delimiter']>, name: string])[] = [
  [',', 'comma'],
  [';', 'semicolon'],
  ['\t', 'tab'],
  ['|', 'bar'],
];

/** The mapping with one field's column set, or taken away with ''. */
export function withColumn(mapping: ImportMapping, field: ImportField, column: string): ImportMapping {
  const { [field]: former, ...rest } = mapping;
  if (column === '') return rest;
  return { ...rest, [field]: former?.unit === undefined ? { column } : { column, unit: former.unit } };
}

export function withUnit(mapping: ImportMapping, field: ImportField, unit: string): ImportMapping {
  const former = mapping[field];
  if (!former) return mapping;
  return { ...mapping, [field]: unit === '' ? { column: former.column } : { column: former.column, unit } };
}

export function ImportForm({ pending, preview }: { pending: PendingImport; preview: ImportPreview }) {
  const app = useApp();
  const hasProbes = useView().probes.length > 0;
  const [otherCrs, setOtherCrs] = useState(false);
  const [chosenCrs, setChosenCrs] = useState<CrsChoice | null>(null);
  const mapping = pending.options.mapping ?? preview.mapping;
  const ask = (options: ImportOptions) => void app.previewImport(pending.path, options);
  const set = (part: Partial<ImportOptions>) => ask({ ...pending.options, mapping, ...part });
  const needs = (info: ImportFieldInfo) => isNeeded(info, mapping, hasProbes);
  const missing = IMPORT_FIELDS.filter((info) => needs(info) && !mapping[info.field]).map(
    (info) => info.name,
  );
  const fieldOf = new Map(
    (Object.entries(mapping) as [ImportField, { column: string }][]).map(([field, choice]) => [
      choice.column,
      field,
    ]),
  );

  return (
    <div className="panel-fixed">
      <PanelScroll>
        <section className="block" aria-labelledby="import-file">
          <h3 id="import-file">{preview.file.split(/[\\/]/).at(-1)}</h3>
          <p>
            {plural(preview.rowCount, 'row')}, {plural(preview.columns.length, 'column')}. The first rows, as
            read:
          </p>
          <ScrollRegion label="First rows of the file, scrollable">
            <table className="data preview" aria-label="First rows of the file">
              <thead>
                <tr>
                  {preview.columns.map((column, index) => (
                    // biome-ignore lint/suspicious/noArrayIndexKey: two columns of a messy file may share a name
                    <th scope="col" key={index} className={fieldOf.has(column) ? 'mapped' : ''}>
                      {column === '' ? '(no name)' : column}
                      <span className="mapped-to">
                        {FIELD_NAMES[fieldOf.get(column) as ImportField] ?? 'not used'}
                      </span>
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {preview.head.map((row, r) => (
                  // biome-ignore lint/suspicious/noArrayIndexKey: rows of a preview are their places
                  <tr key={r}>
                    {row.map((cell, c) => (
                      // biome-ignore lint/suspicious/noArrayIndexKey: cells of a preview are their places
                      <td key={c}>{cell}</td>
                    ))}
                  </tr>
                ))}
              </tbody>
            </table>
          </ScrollRegion>
        </section>
        <section className="block" aria-labelledby="import-reading">
          <h3 id="import-reading">How the file is written</h3>
          <div className="row">
            <label className="field">
              Delimiter
              <select
                value={pending.options.delimiter ?? preview.delimiter}
                onChange={(event) =>
                  ask({
                    ...pending.options,
                    delimiter: event.target.value as NonNullable<ImportOptions['delimiter']>,
                  })
                }
              >
                {DELIMITERS.map(([value, name]) => (
                  <option key={value} value={value}>
                    {name}
                  </option>
                ))}
              </select>
            </label>
            <label className="field">
              Decimal sign
              <select
                value={pending.options.decimal ?? preview.decimal}
                onChange={(event) => set({ decimal: event.target.value as '.' | ',' })}
              >
                <option value=".">point</option>
                <option value=",">comma</option>
              </select>
            </label>
            <label className="field">
              Uncertainty is stated at
              <select
                value={String(pending.options.coverageFactor ?? 1)}
                onChange={(event) => set({ coverageFactor: Number(event.target.value) })}
              >
                <option value="1">k = 1 (standard)</option>
                <option value="2">k = 2 (expanded)</option>
              </select>
            </label>
            <label className="field">
              Coordinates are in
              <select
                value={otherCrs ? 'other' : 'own'}
                onChange={(event) => {
                  const other = event.target.value === 'other';
                  setOtherCrs(other);
                  if (!other) {
                    setChosenCrs(null);
                    const { crs: _former, ...rest } = pending.options;
                    ask({ ...rest, mapping });
                  }
                }}
              >
                <option value="own">the project’s system</option>
                <option value="other">another system</option>
              </select>
            </label>
          </div>
          {otherCrs ? (
            <CrsSearch
              chosen={chosenCrs}
              onChoose={(choice) => {
                setChosenCrs(choice);
                if (choice) set({ crs: { kind: 'epsg', code: choice.code } });
              }}
            />
          ) : null}
        </section>
        <section className="block" aria-labelledby="import-columns">
          <h3 id="import-columns">Columns</h3>
          <table className="data mapping" aria-label="Column mapping">
            <thead>
              <tr>
                <th scope="col">Meaning</th>
                <th scope="col">Column of the file</th>
                <th scope="col">Unit</th>
              </tr>
            </thead>
            <tbody>
              {IMPORT_FIELDS.map((info) => {
                const choice = mapping[info.field];
                return (
                  <tr key={info.field} className={needs(info) && !choice ? 'row-missing' : ''}>
                    <th scope="row">
                      {info.name}
                      {needs(info) ? <span className="required"> needed</span> : null}
                    </th>
                    <td>
                      <select
                        aria-label={`Column for ${info.name}`}
                        value={choice?.column ?? ''}
                        onChange={(event) =>
                          set({ mapping: withColumn(mapping, info.field, event.target.value) })
                        }
                      >
                        <option value="">– not in the file –</option>
                        {preview.columns.map((column, index) => (
                          // biome-ignore lint/suspicious/noArrayIndexKey: two columns of a messy file may share a name
                          <option key={index} value={column}>
                            {column}
                          </option>
                        ))}
                      </select>
                    </td>
                    <td>
                      {info.units.length > 0 && choice ? (
                        <select
                          aria-label={`Unit for ${info.name}`}
                          value={choice.unit ?? ''}
                          onChange={(event) =>
                            set({ mapping: withUnit(mapping, info.field, event.target.value) })
                          }
                        >
                          <option value="">as the header says</option>
                          {info.units.map((unit) => (
                            <option key={unit} value={unit}>
                              {prettyUnits(unit)}
                            </option>
                          ))}
                        </select>
                      ) : null}
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </section>
        {preview.issues.length > 0 ? (
          <section className="block" aria-labelledby="import-issues">
            <h3 id="import-issues">Problems in the file</h3>
            <IssueTable issues={preview.issues} />
          </section>
        ) : null}
      </PanelScroll>
      <div className="panel-end">
        <p className="hint" aria-live="polite">
          {missing.length > 0
            ? `Choose a column for: ${missing.join(', ')}.`
            : `${preview.goodRows} of ${preview.rowCount} rows can be taken in.`}
        </p>
        <button
          type="button"
          onClick={() => app.store.update((state) => ({ ...state, pendingImport: null, problem: null }))}
        >
          Cancel import
        </button>
        <button
          type="button"
          className="primary"
          disabled={missing.length > 0 || preview.goodRows === 0 || (otherCrs && chosenCrs === null)}
          onClick={() => void app.commitImport()}
        >
          Import {plural(preview.goodRows, 'row')}
        </button>
      </div>
    </div>
  );
}
