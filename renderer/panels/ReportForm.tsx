import { useState } from 'react';
import { useApp, useView } from '../state/context.ts';
import { IssueList } from './IssueList.tsx';
import { useSave } from './use-save.ts';

const FORMATS = [
  ['pdf', 'PDF'],
  ['html', 'HTML'],
  ['docx', 'DOCX'],
] as const;

/** What is filed: figure, method, data, quality, class and cautions, in one document. */
export function ReportForm() {
  const app = useApp();
  const view = useView();
  const save = useSave(view);
  const [page, setPage] = useState<'A4' | 'Letter'>('A4');
  const options = { page };

  return (
    <section className="block" aria-labelledby="deliver-report">
      <h3 id="deliver-report">Report</h3>
      <p>
        Figure, method, every sample, quality, class and cautions, with the state of the record it was made
        from. HTML and DOCX can be edited; the PDF is what was made here.
      </p>
      <div className="row">
        <label className="field">
          Report page
          <select value={page} onChange={(event) => setPage(event.target.value as 'A4' | 'Letter')}>
            <option value="A4">A4</option>
            <option value="Letter">Letter</option>
          </select>
        </label>
      </div>
      <div className="row">
        {FORMATS.map(([format, name]) => (
          <button
            key={format}
            type="button"
            className={format === 'pdf' ? 'primary' : ''}
            onClick={() =>
              void save({
                doing: 'Saving the report',
                title: `Save report as ${name}`,
                name,
                extension: format,
                suffix: '-report',
                isFiled: true,
                write: (path, job) => app.client.request('report.save', { path, format, options }, job),
              })
            }
          >
            Save report as {name}…
          </button>
        ))}
      </div>
      <IssueList options={options} />
    </section>
  );
}
