import { useState } from 'react';
import { IssueTable } from '../components/IssueTable.tsx';
import { plural } from '../format.ts';
import { useApp } from '../state/context.ts';
import type { LookedTable, SideTable } from '../state/intake.ts';

interface Looked {
  readonly path: string;
  readonly table: LookedTable;
  readonly isIn: boolean;
}

const TITLES: Readonly<Record<SideTable, string>> = {
  instruments: 'Import instruments',
  readings: 'Import counts',
  days: 'Import logs of days',
};

function contents({ what, report }: LookedTable): string {
  const parts =
    what === 'readings'
      ? [
          report.valuesAdded > 0 ? plural(report.valuesAdded, 'interval value') : '',
          `${plural(report.readingsAdded, 'count')} of ${plural(report.samplesRead, 'sample')}`,
          report.samplesAdded > 0 ? `${plural(report.samplesAdded, 'sample')} not known before` : '',
          plural(report.backgroundsAdded, 'background'),
        ]
      : what === 'instruments'
        ? [
            plural(report.instrumentsAdded, 'new instrument'),
            `${plural(report.instrumentsChanged, 'instrument')} changed`,
            plural(report.backgroundsAdded, 'background'),
          ]
        : [
            plural(report.daysAdded, 'new log'),
            `${plural(report.daysChanged, 'log')} changed`,
            plural(report.looksAdded, 'look at dryer or line', 'looks at dryer or line'),
          ];
  if (report.rowsKnown > 0) parts.push(`${report.rowsKnown} already there, not doubled`);
  return parts.filter((part) => part !== '').join('; ');
}

function isEmpty({ what, report }: LookedTable): boolean {
  if (what === 'readings') return report.readingsAdded + report.valuesAdded + report.backgroundsAdded === 0;
  if (what === 'days') return report.daysAdded + report.daysChanged === 0;
  return report.instrumentsAdded + report.instrumentsChanged + report.backgroundsAdded === 0;
}

/** Tables beside the sample sheet: looked through first, taken in when a person says so. */
export function TableImport({ tables }: { tables: readonly SideTable[] }) {
  const app = useApp();
  const [looked, setLooked] = useState<Looked | null>(null);

  const choose = async (what: SideTable) => {
    const path = await app.attempt('Choosing a file', () =>
      app.bridge.chooseOpen({
        title: TITLES[what],
        filters: [
          { name: 'Tables', extensions: ['csv', 'txt', 'tsv'] },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (!path) return;
    const table = await app.lookThrough(what, path);
    setLooked(table && { path, table, isIn: false });
  };
  const takeIn = async ({ path, table: { what } }: Looked) => {
    const table = await app.takeIn(what, path);
    if (table) setLooked({ path, table, isIn: true });
  };

  return (
    <>
      <div className="row">
        {tables.map((what) => (
          <button key={what} type="button" onClick={() => void choose(what)}>
            {TITLES[what]}…
          </button>
        ))}
      </div>
      {looked ? (
        <div className="stack inset-form" aria-live="polite">
          <p>
            <strong>{looked.table.report.file}</strong> {looked.isIn ? 'brought' : 'would bring'}{' '}
            {contents(looked.table)}.
          </p>
          <IssueTable issues={looked.table.report.issues} />
          <div className="form-end">
            <button type="button" className="quiet" onClick={() => setLooked(null)}>
              {looked.isIn ? 'Close' : 'Leave it out'}
            </button>
            {looked.isIn ? null : (
              <button
                type="button"
                className="primary"
                disabled={isEmpty(looked.table)}
                onClick={() => void takeIn(looked)}
              >
                Take it in
              </button>
            )}
          </div>
        </div>
      ) : null}
    </>
  );
}
