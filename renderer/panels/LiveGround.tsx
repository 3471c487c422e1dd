import { formatPercent, formatRadon, radonUnitLabel } from '../format.ts';
import { underRing } from '../map/placement.ts';
import { groundBasis, surfaceBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { GROUND_JOB } from '../state/siting.ts';
import { useWords } from '../state/use-words.ts';
import { UnderTable } from './UnderTable.tsx';

/** What lies under the footprint, at once and while it is dragged: from realisations the engine holds. */
export function LiveGround({ isMoved }: { isMoved: boolean }) {
  const words = useWords();
  const app = useApp();
  const view = useView();
  const surface = useAppState((state) => state.surface);
  const surfaceProblem = useAppState((state) => state.surfaceProblem);
  const { ground, standing, inHand } = useAppState((state) => state.siting);
  const job = useAppState((state) => state.jobs.find(({ label }) => label === GROUND_JOB));
  const basis = groundBasis(view);
  const unit = view.settings.radonUnit;
  const now = standing?.basis === basis ? standing.result.statistics : null;
  const moved = isMoved && inHand?.basis === basis ? inHand.result : null;
  const support = moved?.support ?? (standing?.basis === basis ? standing.result.support : null);
  const off = (moved?.statistics ?? now)?.offSurfaceShare ?? 0;
  const isIdw = view.settings.surface.method === 'idw';
  if (view.samples.length === 0)
    return <p className="hint">What lies under it can be told once there are samples.</p>;

  return (
    <>
      {now || moved?.statistics ? (
        <UnderTable unit={unit} standing={now} inHand={moved?.statistics ?? null} />
      ) : isIdw ? (
        <PlainEstimate />
      ) : ground?.status === 'failed' && ground.basis === surfaceBasis(view) ? (
        <div className="notice notice-warning">
          <p>{ground.problem?.message ?? ''}</p>
          <button type="button" className="small" onClick={() => void app.prepareGround()}>
            Draw the ground again
          </button>
        </div>
      ) : surfaceProblem && !job ? (
        <p className="notice notice-warning">
          No surface, so nothing can be said of the ground under it. {words(surfaceProblem.message)}
        </p>
      ) : (
        <div>
          <label htmlFor="ground-progress">
            {job
              ? `The ground is not ready: 300 equally likely pictures of it are being drawn, ${Math.round(job.done * 100)} %.`
              : surface?.basis === surfaceBasis(view)
                ? 'The ground is not ready yet.'
                : 'The ground is not ready: the surface comes first.'}
          </label>
          {job ? <progress id="ground-progress" max={1} value={job.done} /> : null}
        </div>
      )}
      <p className="hint">
        A model, not a class.
        {off > 0.005 ? ` ${formatPercent(off)} of it lies where there is no estimate, and is left out.` : ''}
      </p>
      {support ? (
        <p className={support.enough ? 'hint' : 'hint hint-strong'}>{words(support.message)}</p>
      ) : null}
    </>
  );
}

/** Inverse distance states no error: only the estimate can be read off. */
function PlainEstimate() {
  const { footprint, settings } = useView();
  const result = useAppState((state) => state.surface?.result ?? null);
  const under = result && footprint ? underRing(result, footprint.ring) : null;
  const unit = settings.radonUnit;
  return (
    <p>
      {under
        ? `Estimate under it as it stands: mean ${formatRadon(under.meanKBqPerM3, unit)}, third quartile ${formatRadon(under.upperQuartileKBqPerM3, unit)}, highest cell ${formatRadon(under.highestKBqPerM3, unit)} ${radonUnitLabel(unit)}. `
        : ''}
      Inverse distance gives no error, so that nothing more can be said: choose kriging in Map.
    </p>
  );
}
