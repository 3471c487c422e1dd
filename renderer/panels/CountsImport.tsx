import { useState } from 'react';
import type { InstrumentsReport, ReadingsReport } from '../../core/contract/readings.ts';
import { IssueTable } from '../components/IssueTable.tsx';
import { plural } from '../format.ts';
import { useApp } from '../state/context.ts';
import type { CountTable } from '../state/intake.ts';

interface Looked {
  readonly what: CountTable;
  readonly path: string;
  readonly report: ReadingsReport | InstrumentsReport;
  readonly isIn: boolean;
}

function contents(report: ReadingsReport | InstrumentsReport): string {
  const parts =
    'readingsAdded' in report
      ? [
          report.valuesAdded > 0 ? plural(report.valuesAdded, 'interval value') : '',
          `${plural(report.readingsAdded, 'count')} of ${plural(report.samplesRead, 'sample')}`,
          report.samplesAdded > 0 ? `${plural(report.samplesAdded, 'sample')} not known before` : '',
          plural(report.backgroundsAdded, 'background'),
        ]
      : [
          plural(report.instrumentsAdded, 'new instrument'),
          `${plural(report.instrumentsChanged, 'instrument')} changed`,
          plural(report.backgroundsAdded, 'background'),
        ];
  if (report.rowsKnown > 0) parts.push(`${report.rowsKnown} already there, not doubled`);
  return parts.filter((part) => part !== '').join('; ');
}

function isEmpty(report: ReadingsReport | InstrumentsReport): boolean {
  return 'readingsAdded' in report
    ? report.readingsAdded + report.valuesAdded + report.backgroundsAdded === 0
    : report.instrumentsAdded + report.instrumentsChanged + report.backgroundsAdded === 0;
}

/** Tables of counts and of instruments: looked through first, taken in when a person says so. */
export function CountsImport() {
  const app = useApp();
  const [looked, setLooked] = useState<Looked | null>(null);

  const choose = async (what: CountTable, title: string) => {
    const path = await app.attempt('Choosing a file', () =>
      app.bridge.chooseOpen({
        title,
        filters: [
          { name: 'Tables', extensions: ['csv', 'txt', 'tsv'] },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (!path) return;
    const report = await app.lookThrough(what, path);
    setLooked(report && { what, path, report, isIn: false });
  };
  const takeIn = async ({ what, path }: Looked) => {
    const report = await app.takeIn(what, path);
    if (report) setLooked({ what, path, report, isIn: true });
  };

  return (
    <>
      <div className="row">
        <button type="button" onClick={() => void choose('instruments', 'Import instruments')}>
          Import instruments…
        </button>
        <button type="button" onClick={() => void choose('readings', 'Import counts')}>
          Import counts…
        </button>
      </div>
      {looked ? (
        <div className="stack inset-form" aria-live="polite">
          <p>
            <strong>{looked.report.file}</strong> {looked.isIn ? 'brought' : 'would bring'}{' '}
            {contents(looked.report)}.
          </p>
          <IssueTable issues={looked.report.issues} />
          <div className="form-end">
            <button type="button" className="quiet" onClick={() => setLooked(null)}>
              {looked.isIn ? 'Close' : 'Leave it out'}
            </button>
            {looked.isIn ? null : (
              <button
                type="button"
                className="primary"
                disabled={isEmpty(looked.report)}
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
