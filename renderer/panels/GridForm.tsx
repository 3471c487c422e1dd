import { useEffect, useState } from 'react';
import type { GridPatternName, PlanRequest } from '../../core/contract/planning.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { usesFeet } from '../map/project-frame.ts';
import { planBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { PLAN_JOB } from '../state/proposals.ts';
import { GeometryImport } from './GeometryImport.tsx';
import { PlanProposalView } from './PlanProposalView.tsx';
import { SpacingCurveForm } from './SpacingCurveForm.tsx';
import { WalkStart } from './WalkStart.tsx';

const PATTERN_NAMES: Record<GridPatternName, string> = {
  square: 'square grid',
  triangular: 'triangular grid',
  offset: 'offset rows',
  adaptive: 'closer near the footprint',
  'along-footprint': 'rows along the footprint',
};
/** A change is laid out anew when no other has come for so long. */
const SETTLE_MS = 350;
/** Common practice for one grab with its counting, rod in and out. */
const FIRST_MINUTES = 25;

function freePrefix(labels: readonly string[]): string {
  const taken = labels.map((label) => label.toUpperCase());
  return 'PQRSTUVW'.split('').find((letter) => !taken.some((label) => label.startsWith(letter))) ?? 'Z';
}

/** Where to drive probes: a layout the scheme accepts, with what it misses said while it changes. */
export function GridForm() {
  const app = useApp();
  const view = useView();
  const { lot, footprint, settings, frame, probes } = view;
  const feet = usesFeet(frame);
  const unit = feet ? 'ft' : 'm';
  const plan = useAppState((state) => state.plan);
  const working = useAppState((state) => state.jobs.some((job) => job.label === PLAN_JOB));
  const before = plan?.request ?? null;
  const [isLive, setLive] = useState(plan !== null);
  const [pattern, setPattern] = useState<GridPatternName>(before?.pattern ?? 'square');
  const [by, setBy] = useState<'count' | 'spacing'>(
    before && 'spacingM' in before.size ? 'spacing' : 'count',
  );
  const [count, setCount] = useState(before && 'count' in before.size ? before.size.count : 16);
  const [spacingM, setSpacingM] = useState(
    before && 'spacingM' in before.size ? before.size.spacingM : feet ? toMetres(15, 'ft') : 5,
  );
  const [nearOnly, setNearOnly] = useState(before ? before.around !== 'all' : footprint !== null);
  const [plusM, setPlusM] = useState(
    before && before.around !== 'all' ? before.around.footprintPlusM : feet ? toMetres(10, 'ft') : 3,
  );
  const [turn, setTurn] = useState<number | null>(before?.turnDeg ?? null);
  const [depthM, setDepthM] = useState(before?.depthM ?? settings.referenceDepthM);
  const [prefix, setPrefix] = useState(
    () =>
      before?.labelPrefix ??
      freePrefix(probes.filter((probe) => probe.state !== 'planned').map((probe) => probe.label)),
  );
  const [minutes, setMinutes] = useState(before?.minutesPerTest ?? FIRST_MINUTES);
  const [instruments, setInstruments] = useState(before?.instruments ?? 1);
  const [days, setDays] = useState(before?.days ?? 1);

  const needsFootprint = pattern === 'along-footprint' || pattern === 'adaptive';
  const missing = !lot
    ? 'Set the lot line first.'
    : needsFootprint && !footprint
      ? 'This layout follows the footprint.'
      : null;
  const request: PlanRequest = {
    pattern,
    size: by === 'count' ? { count } : { spacingM },
    around: nearOnly && footprint ? { footprintPlusM: plusM } : 'all',
    ...(turn === null ? {} : { turnDeg: turn }),
    depthM,
    labelPrefix: prefix.trim() === '' ? 'P' : prefix.trim(),
    minutesPerTest: minutes,
    instruments,
    days,
  };
  const basis = planBasis(view);
  const asked = JSON.stringify([request, basis]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: `asked` is the request and all it rests on
  useEffect(() => {
    if (!isLive || missing !== null) return;
    if (plan && JSON.stringify([plan.request, plan.basis]) === asked) return;
    const timer = setTimeout(() => void app.proposePlan(request), SETTLE_MS);
    return () => clearTimeout(timer);
  }, [app, asked, isLive, missing]);

  const lengthInput = (label: string, valueM: number, leastM: number, set: (valueM: number) => void) => (
    <NumberInput
      label={`${label}, ${unit}`}
      value={fromMetres(valueM, unit)}
      least={fromMetres(leastM, unit)}
      most={1000}
      onChange={(value) => set(toMetres(value, unit))}
    />
  );

  return (
    <section className="block" aria-labelledby="plan-grid">
      <h3 id="plan-grid">Probes to drive</h3>
      <div className="row">
        <label className="field">
          Layout
          <select value={pattern} onChange={(event) => setPattern(event.target.value as GridPatternName)}>
            {(Object.keys(PATTERN_NAMES) as GridPatternName[]).map((name) => (
              <option key={name} value={name}>
                {PATTERN_NAMES[name]}
              </option>
            ))}
          </select>
        </label>
        <fieldset className="segments">
          <legend>Given by</legend>
          {(['count', 'spacing'] as const).map((one) => (
            <label key={one} className="segment">
              <input type="radio" name="grid-by" checked={by === one} onChange={() => setBy(one)} />
              <span>{one === 'count' ? 'Number' : 'Spacing'}</span>
            </label>
          ))}
        </fieldset>
        {by === 'count' ? (
          <NumberInput label="Probes" value={count} least={1} most={2000} whole onChange={setCount} />
        ) : (
          lengthInput('Spacing', spacingM, 0.5, setSpacingM)
        )}
      </div>
      <div className="row">
        <fieldset className="segments">
          <legend>Where</legend>
          <label className="segment">
            <input type="radio" name="grid-where" checked={!nearOnly} onChange={() => setNearOnly(false)} />
            <span>Whole lot</span>
          </label>
          <label className="segment" title={footprint ? undefined : 'No footprint is set yet.'}>
            <input
              type="radio"
              name="grid-where"
              disabled={!footprint}
              checked={nearOnly && footprint !== null}
              onChange={() => setNearOnly(true)}
            />
            <span>Footprint and around</span>
          </label>
        </fieldset>
        {nearOnly && footprint ? lengthInput('Around it', plusM, 0, setPlusM) : null}
        <label className="field">
          Turn
          <select
            value={turn === null ? 'auto' : String(turn)}
            onChange={(event) => setTurn(event.target.value === 'auto' ? null : Number(event.target.value))}
          >
            <option value="auto">chosen</option>
            {[0, 15, 30, 45, 60, 75].map((degrees) => (
              <option key={degrees} value={degrees}>
                {degrees}°
              </option>
            ))}
          </select>
        </label>
      </div>
      <details>
        <summary>Depth, labels and working day</summary>
        <div className="row details-row">
          {lengthInput('Depth', depthM, 0.1, setDepthM)}
          <label className="field number-field">
            Label prefix
            <input
              type="text"
              value={prefix}
              maxLength={12}
              onChange={(event) => setPrefix(event.target.value)}
            />
          </label>
          <NumberInput label="Minutes a test" value={minutes} least={1} most={600} onChange={setMinutes} />
          <NumberInput
            label="Instruments"
            value={instruments}
            least={1}
            most={20}
            whole
            onChange={setInstruments}
          />
          <NumberInput label="Days" value={days} least={1} most={30} whole onChange={setDays} />
          <WalkStart />
        </div>
      </details>
      {pattern === 'along-footprint' ? null : (
        <SpacingCurveForm
          layout={{
            pattern,
            around: request.around,
            minutesPerTest: minutes,
            instruments,
            days,
          }}
          count={count}
          disabled={missing !== null}
          onChoose={(chosen) => {
            setBy('count');
            setCount(chosen);
          }}
        />
      )}
      {missing ? <p className="hint">{missing}</p> : null}
      {lot && !footprint ? (
        <p className="hint">
          Schemes judge spacing and place by the building:{' '}
          <button type="button" className="link" onClick={() => app.go('site')}>
            enter its footprint in Site
          </button>
          .
        </p>
      ) : null}
      {isLive && missing === null ? (
        <p className="hint" role="status">
          {working || plan === null
            ? 'Laying out …'
            : plan.basis === basis
              ? 'Follows every change above.'
              : 'Out of date.'}
        </p>
      ) : (
        <div className="row">
          <button type="button" className="primary" disabled={missing !== null} onClick={() => setLive(true)}>
            Lay out probes
          </button>
          <GeometryImport what="probes" noun="planned probes" />
        </div>
      )}
      {plan ? (
        <PlanProposalView proposal={plan.result} depthM={depthM} onDone={() => setLive(false)} />
      ) : null}
    </section>
  );
}
