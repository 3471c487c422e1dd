import { useMemo } from 'react';
import type { ClassResult } from '../../core/contract/results.ts';
import { NoSamplesYet } from '../components/NoSamplesYet.tsx';
import { ProblemNotice } from '../components/Notice.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import {
  capitalise,
  formatChance,
  formatRadon,
  plural,
  prettyUnits,
  radonUnitLabel,
  type ShownRadonUnit,
  withoutName,
} from '../format.ts';
import { CLASS_JOB } from '../state/app.ts';
import { classBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { useWords } from '../state/use-words.ts';
import { SchemeForm } from './SchemeForm.tsx';
import { rowLabel, sampleRows } from './sample-rows.ts';

const DOUBT_NAMES = {
  measurement: 'Doubt of measurement: the same points again',
  sampling: 'Doubt of sampling: other points on this lot',
} as const;

function Outcome({ result, unit }: { result: ClassResult; unit: ShownRadonUnit }) {
  if (result.classId === null) {
    return (
      <div className="outcome outcome-refused">
        <p className="outcome-label">
          {result.schemeName}, {result.edition}
        </p>
        <p className="outcome-name">{result.range ? capitalise(result.range.join(' or ')) : 'No class'}</p>
        <p>{prettyUnits(result.refusal ?? result.decidedBy)}</p>
      </div>
    );
  }
  return (
    <div className="outcome">
      <p className="outcome-label">
        {result.schemeName}, {result.edition}
      </p>
      <p className="outcome-name">{capitalise(result.className ?? result.classId)}</p>
      <p>{prettyUnits(result.decidedBy)}</p>
      {result.statisticKBqPerM3 === null ? null : (
        <p className="outcome-statistic">
          <span>{capitalise(result.statisticName)}</span>
          <strong>
            {result.statisticIsAtMost ? 'at most ' : ''}
            {formatRadon(result.statisticKBqPerM3, unit)} {radonUnitLabel(unit)}
          </strong>
          <span className="faint">{result.quantileRule}</span>
        </p>
      )}
    </div>
  );
}

function Doubts({ result }: { result: ClassResult }) {
  const names = new Map(
    [result, ...result.alternatives].flatMap((one) =>
      one.classId && one.className ? [[one.classId, one.className]] : [],
    ),
  );
  // Full names for all or for none: classes that did not come out have no full name in the result.
  const isNamed = result.doubts.every(({ probabilities }) =>
    probabilities.every(({ classId }) => names.has(classId)),
  );
  const nameOf = (classId: string) =>
    (isNamed ? names.get(classId) : undefined) ?? classId.replaceAll('-', ' ');
  return (
    <>
      {result.doubts.map((doubt) => (
        <div key={doubt.kind} className="doubt">
          <h4>{DOUBT_NAMES[doubt.kind]}</h4>
          <table className="bars" aria-label={DOUBT_NAMES[doubt.kind]}>
            <tbody>
              {doubt.probabilities.map((one) => (
                <tr key={one.classId} className={one.classId === result.classId ? 'bar-own' : ''}>
                  <th scope="row">{nameOf(one.classId)}</th>
                  <td>
                    <svg width="100%" height="12" aria-hidden="true">
                      <rect className="bar-track" width="100%" height="12" />
                      <rect className="bar-fill" width={`${one.probability * 100}%`} height="12" />
                    </svg>
                  </td>
                  <td className="number">{formatChance(one.probability)}</td>
                </tr>
              ))}
            </tbody>
          </table>
          <p className="source">{prettyUnits(doubt.method)}</p>
        </div>
      ))}
    </>
  );
}

export function ClassPanel() {
  const words = useWords();
  const app = useApp();
  const view = useView();
  const classification = useAppState((state) => state.classification);
  const problem = useAppState((state) => state.classProblem);
  const working = useAppState((state) => state.jobs.some((job) => job.label === CLASS_JOB));
  const standing = useAppState((state) => state.catalogue?.cautions);
  const rows = useMemo(() => new Map(sampleRows(view).map((row) => [row.sample.id, row])), [view]);
  const unit = view.settings.radonUnit;
  const result = classification?.result ?? null;
  const first = result?.alternatives.find((one) => one.isWithoutAdded);
  const unruled = result?.alternatives.find((one) => one.isWithoutRulings);
  const ownCautions = result?.cautions.filter((caution) => !standing?.includes(caution)) ?? [];
  const stale = classification !== null && classification.basis !== classBasis(view);

  if (view.samples.length === 0) return <NoSamplesYet what="class" />;

  return (
    <PanelScroll>
      {problem ? <ProblemNotice problem={problem} /> : null}
      <section className="block" aria-label="Scheme">
        <SchemeForm key={`${view.settings.schemeId} ${view.settings.enteredLimitsKBqPerM3.join(' ')}`} />
      </section>
      {!working && (stale || !result) ? (
        <section className="block">
          {stale ? <p>The project has changed since this class was worked out.</p> : null}
          <button type="button" className="primary" onClick={() => void app.computeClass()}>
            Work out class
          </button>
        </section>
      ) : null}
      {working && !result ? <p className="block">Being worked out …</p> : null}
      {result ? (
        <>
          <section className="block" aria-label="Class">
            <Outcome result={result} unit={unit} />
            <dl className="facts">
              {unruled ? (
                <div>
                  <dt>Without any ruling</dt>
                  <dd>
                    {unruled.className ?? 'no class'}
                    {unruled.statisticKBqPerM3 === null
                      ? ''
                      : `, ${formatRadon(unruled.statisticKBqPerM3, unit)} ${radonUnitLabel(unit)}`}
                  </dd>
                </div>
              ) : null}
              {first && result.added ? (
                <div>
                  <dt>Without {plural(result.added.labels.length, 'added probe')}</dt>
                  <dd>
                    {first.className ?? 'no class'}
                    {first.statisticKBqPerM3 === null
                      ? ''
                      : `, ${formatRadon(first.statisticKBqPerM3, unit)} ${radonUnitLabel(unit)}`}
                    {result.added.waiting.length === 0
                      ? ''
                      : `. Still to be driven: ${result.added.waiting.join(', ')}`}
                  </dd>
                </div>
              ) : null}
              <div>
                <dt>Valid samples</dt>
                <dd>
                  {result.validCount} of at least {result.minimumCount} asked for
                </dd>
              </div>
              <div>
                <dt>Permeability</dt>
                <dd>
                  {result.permeabilityClass ?? 'not known'}: {words(result.permeabilityBasis)}
                </dd>
              </div>
            </dl>
            {result.advice === '' || result.advice === result.refusal ? null : <p>{words(result.advice)}</p>}
          </section>
          {result.wouldChange.length > 0 ? (
            <section className="block" aria-labelledby="class-change">
              <h3 id="class-change">What would change it</h3>
              <ul className="reasons">
                {result.wouldChange.map((line) => (
                  <li key={line}>{words(line)}</li>
                ))}
              </ul>
            </section>
          ) : null}
          {result.doubts.length > 0 ? (
            <section className="block" aria-labelledby="class-doubts">
              <h3 id="class-doubts">How sure</h3>
              <Doubts result={result} />
            </section>
          ) : null}
          {result.alternatives.length > 0 ? (
            <section className="block" aria-labelledby="class-alternatives">
              <h3 id="class-alternatives">The same lot, counted otherwise</h3>
              <table className="data" aria-label="Alternatives">
                <thead>
                  <tr>
                    <th scope="col">Counted</th>
                    <th scope="col" className="number">
                      {result.statisticName}, {radonUnitLabel(unit)}
                    </th>
                    <th scope="col">Class</th>
                  </tr>
                </thead>
                <tbody>
                  {result.alternatives.map((one) => (
                    <tr key={one.what} className={one.classId === result.classId ? '' : 'row-differs'}>
                      <th scope="row">{words(one.what)}</th>
                      <td className="number">
                        {one.statisticKBqPerM3 === null ? '–' : formatRadon(one.statisticKBqPerM3, unit)}
                      </td>
                      <td>{one.className ?? 'no class'}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </section>
          ) : null}
          {result.unconfirmed.length > 0 ? (
            <section className="block" aria-labelledby="class-unconfirmed">
              <h3 id="class-unconfirmed">Limits not confirmed against the published text</h3>
              <ul className="notice notice-warning">
                {result.unconfirmed.map((line) => (
                  <li key={line}>{words(line)}</li>
                ))}
              </ul>
            </section>
          ) : null}
          {result.excluded.length > 0 ? (
            <section className="block" aria-labelledby="class-excluded">
              <h3 id="class-excluded">{plural(result.excluded.length, 'sample')} not counted</h3>
              <ul className="plain-list">
                {result.excluded.map((one) => {
                  const row = rows.get(one.sampleId);
                  return (
                    <li key={one.sampleId}>
                      <strong>{row ? rowLabel(row) : one.sampleId}</strong>{' '}
                      {words(withoutName(one.reason, row?.probe?.label ?? ''))}
                    </li>
                  );
                })}
              </ul>
            </section>
          ) : null}
          <section className="block">
            <details>
              <summary>Source of {result.schemeName}</summary>
              <p>{prettyUnits(result.source)}</p>
            </details>
          </section>
          {ownCautions.length > 0 ? (
            <section className="block" aria-labelledby="class-cautions">
              <h3 id="class-cautions">Cautions of this scheme</h3>
              <ul className="reasons">
                {ownCautions.map((line) => (
                  <li key={line}>{words(line)}</li>
                ))}
              </ul>
            </section>
          ) : null}
        </>
      ) : null}
    </PanelScroll>
  );
}
