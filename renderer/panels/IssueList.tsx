import { useState } from 'react';
import type { IssueView, ReportFileFormat, ReportSaveOptions } from '../../core/contract/requests.ts';
import { formatTime, plural, prettyUnits } from '../format.ts';
import { withView } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { useAnswer } from '../state/use-answer.ts';
import { useSave } from './use-save.ts';

const FORMATS: readonly (readonly [ReportFileFormat, string])[] = [
  ['pdf', 'PDF'],
  ['html', 'HTML'],
  ['docx', 'DOCX'],
];

/** Reports that were issued; each is frozen in the project and none can be taken back. */
export function IssueList({ options }: { options: ReportSaveOptions }) {
  const app = useApp();
  const view = useView();
  const save = useSave(view);
  const [differences, setDifferences] = useState<readonly string[] | null>(null);
  const [confirming, setConfirming] = useState(false);
  const [chosen, setChosen] = useState<readonly ReportFileFormat[]>(['pdf']);
  const issues = useAnswer('issue.list', 'Reading the issues')?.issues;
  if (issues === undefined) return null;
  const next = Math.max(0, ...issues.map(({ number }) => number)) + 1;

  const formats = FORMATS.filter(([id]) => chosen.includes(id));
  const formatNames = formats.map(([, name]) => name).join(' and ');

  const begin = async () => {
    setConfirming(true);
    setDifferences(null);
    if (issues.length === 0) return;
    const found = await app.attempt('Comparing with the last issue', () =>
      app.asJob('Comparing with the last issue', (job) =>
        app.client.newest('issue', 'issue.compare', { options }, job),
      ),
    );
    setDifferences(found?.last?.differences ?? null);
  };
  const issue = () =>
    save({
      doing: 'Issuing the report',
      title: `Save issue ${next} as ${formatNames}`,
      name: formats[0]?.[1] ?? 'PDF',
      extension: formats[0]?.[0] ?? 'pdf',
      suffix: `-issue-${next}`,
      isFiled: true,
      write: async (path, job) => {
        const asked = { path, formats: formats.map(([id]) => id), options };
        const done = await app.client.request('issue.create', asked, job);
        app.store.update((state) => withView(state, done.view));
        setConfirming(false);
        return { path: done.files.map((file) => file.path).join(', ') };
      },
    });

  return (
    <>
      <h4>Issues</h4>
      {issues.length === 0 ? (
        <p>
          None yet. An issue is numbered and frozen by its hash, so that years later it can be told what was
          said.
        </p>
      ) : (
        <ol className="issues" aria-label="Issued reports">
          {issues.map((one) => (
            <Issue key={one.number} issue={one} />
          ))}
        </ol>
      )}
      {confirming ? (
        <div className="stack inset-form">
          <p>
            <strong>Issue {next}</strong> freezes what the report says now. It stays in the project and cannot
            be taken back.
          </p>
          {differences === null ? null : differences.length === 0 ? (
            <p>Nothing differs from issue {next - 1}.</p>
          ) : (
            <>
              <p>What differs from issue {next - 1}:</p>
              <ul className="reasons" aria-label="Differences from the last issue">
                {differences.map((line) => (
                  <li key={line}>{prettyUnits(line)}</li>
                ))}
              </ul>
            </>
          )}
          <fieldset className="row">
            <legend>Files of one frozen state, side by side</legend>
            {FORMATS.map(([id, name]) => (
              <label key={id} className="check-line">
                <input
                  type="checkbox"
                  checked={chosen.includes(id)}
                  onChange={(event) =>
                    setChosen(event.target.checked ? [...chosen, id] : chosen.filter((one) => one !== id))
                  }
                />
                {name}
              </label>
            ))}
          </fieldset>
          <div className="form-end">
            <button type="button" className="quiet" onClick={() => setConfirming(false)}>
              Do not issue
            </button>
            <button
              type="button"
              className="primary"
              disabled={formats.length === 0}
              onClick={() => void issue()}
            >
              Issue {next} as {formatNames === '' ? '…' : `${formatNames}…`}
            </button>
          </div>
        </div>
      ) : (
        <div className="row">
          <button type="button" onClick={() => void begin()}>
            Issue the report…
          </button>
        </div>
      )}
    </>
  );
}

function Issue({ issue }: { issue: IssueView }) {
  const app = useApp();
  const save = useSave(useView());
  const [note, setNote] = useState<string | null>(null);
  const copy = (file: IssueView['files'][number]) =>
    save({
      doing: 'Saving the issue again',
      title: `Save issue ${issue.number} as it was sent`,
      name: file.format.toUpperCase(),
      extension: file.format,
      suffix: `-issue-${issue.number}`,
      isFiled: true,
      write: (path, job) => app.client.request('issue.copy', { number: issue.number, path }, job),
    });
  const review = async () => {
    const done = await app.attempt('Reviewing the issue', () =>
      app.client.request('issue.review', { number: issue.number, note: note?.trim() ?? '' }),
    );
    if (!done) return;
    setNote(null);
    app.store.update((state) => ({ ...withView(state, done.view), said: `Issue ${issue.number} reviewed.` }));
  };
  return (
    <li>
      <p>
        <strong>Issue {issue.number}</strong> by {issue.actor}, {formatTime(issue.issuedUtc)}{' '}
        <span className="hash" title={issue.sha256}>
          {issue.sha256.slice(0, 12)}
        </span>
      </p>
      {issue.files.length === 0 ? null : (
        <p className="hint">
          Sent out as {issue.files.map((file) => file.name).join(', ')}.{' '}
          {issue.files
            .filter((file) => file.isKept)
            .map((file) => (
              <button key={file.sha256} type="button" className="link" onClick={() => void copy(file)}>
                Save issue {issue.number} again as {file.format.toUpperCase()}…
              </button>
            ))}
        </p>
      )}
      {issue.reviews.map((one) => (
        <p key={`${one.reviewer} ${one.reviewedUtc}`} className="hint">
          Reviewed by {one.reviewer}, {formatTime(one.reviewedUtc)}
          {one.note ? `: ${one.note}` : ''}
        </p>
      ))}
      {note === null ? (
        <p className="hint">
          {issue.reviews.length === 0
            ? `Not reviewed; a second person${issue.preparedBy === null ? '' : `, other than ${issue.preparedBy},`} does that. `
            : `${plural(issue.reviews.length, 'review')}. `}
          <button
            type="button"
            className="link"
            aria-label={`Review issue ${issue.number}`}
            onClick={() => setNote('')}
          >
            Review it
          </button>
        </p>
      ) : (
        <div className="row">
          <label className="field grow">
            Note of the reviewer
            <input
              type="text"
              value={note}
              maxLength={2000}
              onChange={(event) => setNote(event.target.value)}
            />
          </label>
          <button type="button" className="quiet" onClick={() => setNote(null)}>
            Cancel
          </button>
          <button type="button" className="primary" onClick={() => void review()}>
            Sign the review
          </button>
        </div>
      )}
    </li>
  );
}
