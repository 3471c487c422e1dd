import { useRef, useState } from 'react';
import { flushSync } from 'react-dom';
import { importSamples } from '../actions/import-samples.ts';
import { ActionButton } from '../components/ActionButton.tsx';
import { IssueTable } from '../components/IssueTable.tsx';
import { WarningList } from '../components/Notice.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { plural } from '../format.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { DayLogList } from './DayLogList.tsx';
import { HoleForm } from './HoleForm.tsx';
import { ImportForm } from './ImportForm.tsx';
import { InstrumentList } from './InstrumentList.tsx';
import { LeaveChecklist } from './LeaveChecklist.tsx';
import { MergeImport } from './MergeImport.tsx';
import { SampleEntryForm } from './SampleEntryForm.tsx';

function fileName(path: string): string {
  return path.split(/[\\/]/).at(-1) ?? path;
}

export function FieldPanel() {
  const app = useApp();
  const view = useView();
  const pending = useAppState((state) => state.pendingImport);
  const report = useAppState((state) => state.importReport);
  const [typing, setTyping] = useState(false);
  const typer = useRef<HTMLButtonElement>(null);
  const closeTyping = () => {
    flushSync(() => setTyping(false));
    typer.current?.focus();
  };

  if (pending) {
    return pending.preview ? (
      <ImportForm pending={pending} preview={pending.preview} />
    ) : (
      <PanelScroll>
        <p aria-busy="true">Reading {fileName(pending.path)} …</p>
      </PanelScroll>
    );
  }

  const kinds = new Map<string, number>();
  for (const sample of view.samples) kinds.set(sample.kind, (kinds.get(sample.kind) ?? 0) + 1);
  const unsampled = view.probes.filter(
    (probe) => !view.samples.some((sample) => sample.probeId === probe.id),
  );
  const typedIn = view.samples.filter((sample) => sample.source === null).length;
  const sources = [...new Set(view.samples.flatMap((sample) => (sample.source ? [sample.source.file] : [])))];

  return (
    <PanelScroll>
      <WarningList warnings={view.warnings} label="Project warnings" />
      <section className="block" aria-labelledby="field-samples">
        <h3 id="field-samples">Samples</h3>
        {view.samples.length === 0 ? (
          <>
            <p className="lead">No samples yet.</p>
            <p>
              Import the field sheet as CSV: one row a sample, with probe, coordinates and radon. You see
              every column and every problem before anything is taken in. Nothing in the file is changed. Or
              type the samples in one after the other.
            </p>
          </>
        ) : (
          <dl className="facts">
            <div>
              <dt>Probes</dt>
              <dd>{view.probes.length}</dd>
            </div>
            {[...kinds].map(([kind, count]) => (
              <div key={kind}>
                <dt>{kind === 'grab' ? 'Grab samples' : `${kind[0]?.toUpperCase()}${kind.slice(1)}s`}</dt>
                <dd>{count}</dd>
              </div>
            ))}
            <div>
              <dt>Probes without a sample</dt>
              <dd>{unsampled.length}</dd>
            </div>
            <div>
              <dt>Read from</dt>
              <dd>
                {[...sources.map(fileName), ...(typedIn === 0 ? [] : [`${typedIn} typed in`])].join(', ')}
              </dd>
            </div>
          </dl>
        )}
        <div className="row">
          <ActionButton
            action={importSamples}
            className={view.samples.length === 0 ? 'primary' : ''}
            text="Import samples…"
          />
          <button ref={typer} type="button" aria-expanded={typing} onClick={() => setTyping(!typing)}>
            Type in a sample
          </button>
          {view.samples.length > 0 ? (
            <button type="button" className="primary" onClick={() => app.go('reduce')}>
              Go on to Reduce
            </button>
          ) : null}
        </div>
        {typing ? <SampleEntryForm sampleId={null} entry={null} onDone={closeTyping} /> : null}
      </section>
      {view.probes.length > 0 ? (
        <section className="block" aria-labelledby="field-hole">
          <h3 id="field-hole">At the hole</h3>
          <details className="handling">
            <summary>Judge a hole before you leave it</summary>
            <HoleForm />
          </details>
        </section>
      ) : null}
      <DayLogList />
      {view.probes.length > 0 ? <LeaveChecklist /> : null}
      <InstrumentList />
      <MergeImport />
      {report ? (
        <section className="block" aria-labelledby="field-report">
          <h3 id="field-report">Last import</h3>
          <p>
            {fileName(report.file)}: {plural(report.samplesAdded, 'sample')} and{' '}
            {plural(report.probesAdded, 'probe')} added
            {report.probesMet > 0 ? `; ${plural(report.probesMet, 'planned probe')} met` : ''}
            {report.probesFilled > 0
              ? `; ${plural(report.probesFilled, 'probe')} known before completed`
              : ''}
            {report.rowsLeftOut > 0 ? `; ${plural(report.rowsLeftOut, 'row')} left out` : ''}
            {report.rowsKnown > 0
              ? `; ${plural(report.rowsKnown, 'row')} already in the project, not doubled`
              : ''}
            .
          </p>
          <IssueTable issues={report.issues} />
        </section>
      ) : null}
    </PanelScroll>
  );
}
