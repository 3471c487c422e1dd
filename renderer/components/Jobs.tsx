import { useApp, useAppState } from '../state/context.ts';

/** Running work with a way to stop it, and the polite live region for everything that happens. */
export function Jobs() {
  const app = useApp();
  const jobs = useAppState((state) => state.jobs);
  const said = useAppState((state) => state.said);
  return (
    <div className="jobs">
      {jobs.map((job) => (
        <div className="job" key={job.id}>
          <label htmlFor={`job-${job.id}`}>
            {job.label}
            {job.stage === '' ? '' : `: ${job.stage}`}
          </label>
          <progress id={`job-${job.id}`} max={1} value={job.done} />
          <span className="job-percent">{Math.round(job.done * 100)} %</span>
          <button
            type="button"
            className="quiet"
            onClick={() => app.cancelJob(job.id)}
            aria-label={`Cancel: ${job.label}`}
          >
            Cancel
          </button>
        </div>
      ))}
      <p className={jobs.length > 0 ? 'visually-hidden' : 'said'} role="status" aria-live="polite">
        {jobs.length > 0
          ? jobs.map((job) => `${job.label}, ${Math.floor(job.done * 4) * 25} %`).join('; ')
          : said}
      </p>
    </div>
  );
}
