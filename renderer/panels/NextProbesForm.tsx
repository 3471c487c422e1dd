import { useState } from 'react';
import type { ClassDoubt, NextCriterion } from '../../core/contract/planning.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { formatCoordinate, formatNumber, formatPercent, plural, prettyUnits } from '../format.ts';
import { coordinateUnit } from '../map/project-frame.ts';
import { nextBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { NEXT_JOB } from '../state/proposals.ts';
import { useWords } from '../state/use-words.ts';

/** Where a few more probes would lower the doubt of the surface most, given what is measured. */
export function NextProbesForm() {
  const words = useWords();
  const app = useApp();
  const view = useView();
  const next = useAppState((state) => state.next);
  const working = useAppState((state) => state.jobs.some((job) => job.label === NEXT_JOB));
  const [count, setCount] = useState(next?.request.count ?? 3);
  const [criterion, setCriterion] = useState<NextCriterion>(next?.request.criterion ?? 'mean');
  const [target, setTarget] = useState<'lot' | 'footprint'>(next?.request.target ?? 'lot');
  const under = view.footprint ? target : 'lot';
  const result = next?.result ?? null;
  const stale = next !== null && next.basis !== nextBasis(view);

  return (
    <section className="block" aria-labelledby="plan-next">
      <h3 id="plan-next">Next probes</h3>
      <p>
        Places that lower the standard error of the surface, or the doubt about the class, most. Fix the
        number before driving; do not stop because a value came out low.
      </p>
      <div className="row">
        <NumberInput label="How many" value={count} least={1} most={50} whole onChange={setCount} />
        <label className="field">
          Lowers
          <select value={criterion} onChange={(event) => setCriterion(event.target.value as NextCriterion)}>
            <option value="mean">the mean error</option>
            <option value="worst">the largest error</option>
            <option value="class">the doubt about the class</option>
          </select>
        </label>
        <label className="field">
          On
          <select value={under} onChange={(event) => setTarget(event.target.value as 'lot' | 'footprint')}>
            <option value="lot">the whole lot</option>
            {view.footprint ? <option value="footprint">the footprint</option> : null}
          </select>
        </label>
        <button
          type="button"
          disabled={working}
          onClick={() => void app.proposeNext({ count, criterion, target: under })}
        >
          Propose next probes
        </button>
      </div>
      {result ? (
        <div className="stack inset-form">
          {stale ? (
            <p className="hint hint-strong">The project has changed since these were worked out.</p>
          ) : null}
          {result.classDoubt ? <DoubtLine doubt={result.classDoubt} /> : null}
          <p>
            The{' '}
            {result.classDoubt
              ? `standard error of the ground’s ${result.classDoubt.statisticName}`
              : `${result.criterion === 'mean' ? 'mean' : 'largest'} standard error`}{' '}
            falls from {formatNumber(result.errorBefore)} to {formatNumber(result.errorAfter)} (
            {prettyUnits(result.unit)}).
          </p>
          <table className="data" aria-label="Next probes">
            <thead>
              <tr>
                <th scope="col">Probe</th>
                <th scope="col" className="number">
                  East, {coordinateUnit(view.frame)}
                </th>
                <th scope="col" className="number">
                  North, {coordinateUnit(view.frame)}
                </th>
                <th scope="col" className="number">
                  Variance taken off
                </th>
              </tr>
            </thead>
            <tbody>
              {result.added.map((probe) => (
                <tr key={probe.label}>
                  <th scope="row">{probe.label}</th>
                  <td className="number">{formatCoordinate(probe.native[0])}</td>
                  <td className="number">{formatCoordinate(probe.native[1])}</td>
                  <td className="number">{formatPercent(probe.gain)}</td>
                </tr>
              ))}
            </tbody>
          </table>
          <ul className="notice notice-warning" aria-label="Before driving">
            {result.cautions.map((caution) => (
              <li key={caution}>{words(caution)}</li>
            ))}
          </ul>
          <div className="form-end">
            <button
              type="button"
              className="quiet"
              onClick={() => app.store.update((state) => ({ ...state, next: null }))}
            >
              Drop these
            </button>
            <button
              type="button"
              className="primary"
              disabled={stale}
              onClick={() =>
                void app.acceptProbes({
                  probes: result.added.map(({ label, native }) => ({ label, native, added: true })),
                  depthM: view.settings.referenceDepthM,
                  replace: false,
                })
              }
            >
              Plan {plural(result.added.length, 'added probe')}
            </button>
          </div>
        </div>
      ) : null}
    </section>
  );
}

/** The doubt about the ground's class, now and as it is expected to be once the probes are read. */
function DoubtLine({ doubt: { before, after, statisticName } }: { doubt: ClassDoubt }) {
  if (before === null || after === null)
    return (
      <p className="hint hint-strong">
        No limit is in force on this lot (its permeability is not known): the places are those that tell most
        of the ground’s {statisticName}, and the doubt itself cannot be told.
      </p>
    );
  return (
    <p>
      The chance that the ground is of another class than the likeliest is expected to fall from{' '}
      {formatPercent(before)} to {formatPercent(after)}.
    </p>
  );
}
