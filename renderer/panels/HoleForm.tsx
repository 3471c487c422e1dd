import { useState } from 'react';
import type { HoleJudgement, TypedInterval } from '../../core/contract/quality.ts';
import { capitalise, formatTime, radonUnitLabel } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { useAnswer } from '../state/use-answer.ts';
import { useInstruments } from '../state/use-instruments.ts';
import { HoleVerdictView } from './HoleVerdictView.tsx';
import { type HoleTexts, NO_TEXTS, questionOf } from './hole-texts.ts';
import { LeakTestField } from './LeakTestField.tsx';

type NumberKey = {
  [K in keyof HoleTexts]: string extends HoleTexts[K] ? K : never;
}[keyof HoleTexts];

/** Intervals that the project holds of a sample: what is still to come follows them. */
function useStoredIntervals(sampleId: string): readonly TypedInterval[] {
  const reduction = useAnswer(
    'sample.reduction',
    'Reading the counts',
    sampleId === '' ? null : { sampleId },
  );
  return (reduction?.intervals ?? []).map(({ startS, endS }) => ({ startS, lengthS: endS - startS }));
}

/** A hole judged before its sample is stored: with what is typed, and what the lot has so far. */
export function HoleForm() {
  const app = useApp();
  const view = useView();
  const instruments = useInstruments();
  const [texts, setTexts] = useState<HoleTexts>(NO_TEXTS);
  const [judgement, setJudgement] = useState<HoleJudgement | null>(null);
  const stored = useStoredIntervals(texts.sampleId);
  const unit = view.settings.radonUnit;
  const label = radonUnitLabel(unit);
  const question = questionOf(texts, unit, stored);
  const samples = view.samples.filter((s) => s.probeId === texts.probeId && s.kind !== 'blank');
  /** A verdict stands for what was typed when it was asked: any change takes it away. */
  const set = (part: Partial<HoleTexts>) => {
    setJudgement(null);
    setTexts((now) => ({ ...now, ...part }));
  };
  const input = (key: NumberKey, name: string) => (
    <label className="field number-field">
      {name}
      <input
        type="text"
        inputMode="decimal"
        value={texts[key]}
        onChange={(event) => set({ [key]: event.target.value })}
      />
    </label>
  );
  const tick = (key: 'saidFreshAir' | 'saidWater' | 'saidTight', name: string) => (
    <label className="check-line">
      <input
        type="checkbox"
        checked={texts[key]}
        onChange={(event) => set({ [key]: event.target.checked })}
      />
      {name}
    </label>
  );

  return (
    <form
      className="stack details-row"
      aria-label="At the hole"
      onSubmit={(event) => {
        event.preventDefault();
        if (typeof question === 'string') return;
        void app
          .attempt('Judging the hole', () => app.client.newest('hole', 'hole.judge', question))
          .then((found) => {
            if (!found) return;
            setJudgement(found);
            app.say(`${found.probe}: ${found.advice}.`);
          });
      }}
    >
      <div className="row">
        <label className="field">
          Probe
          <select
            value={texts.probeId}
            onChange={(event) => set({ probeId: event.target.value, sampleId: '' })}
          >
            <option value="">– choose –</option>
            {view.probes.map((probe) => (
              <option key={probe.id} value={probe.id}>
                {probe.label}
                {probe.state === 'driven' ? '' : ` (${probe.state})`}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          Draw
          <select value={texts.sampleId} onChange={(event) => set({ sampleId: event.target.value })}>
            <option value="">new, not stored yet</option>
            {samples.map((sample) => (
              <option key={sample.id} value={sample.id}>
                {capitalise(sample.kind)}
                {sample.takenUtc ? `, ${formatTime(sample.takenUtc)}` : ''}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          Instrument
          <select value={texts.instrumentId} onChange={(event) => set({ instrumentId: event.target.value })}>
            <option value="">{texts.sampleId === '' ? 'none named' : 'as stored'}</option>
            {instruments?.map((instrument) => (
              <option key={instrument.id} value={instrument.id}>
                {instrument.label}
              </option>
            ))}
          </select>
        </label>
      </div>
      <div className="row">
        {input('radon', `Radon, ${label}`)}
        {input('radonU', 'Its u (k = 1)')}
        {input('oxygenPct', 'Oxygen, %')}
        {input('carbonDioxidePct', 'CO2, %')}
        {input('suctionPa', 'Suction, Pa')}
      </div>
      <div className="row">
        {input('pumpedMl', 'Pumped, mL')}
        {input('systemMl', 'Line, mL')}
        {input('flowMlPerMin', 'Flow, mL/min')}
        {input('tracerPct', 'Tracer found, %')}
        {input('tracerShroudPct', 'In shroud, %')}
        <LeakTestField value={texts.leakTest} onChange={(leakTest) => set({ leakTest })} />
      </div>
      <div className="row">
        {tick('saidFreshAir', 'Fresh air noted')}
        {tick('saidWater', 'Water seen')}
        {tick('saidTight', 'Tight ground, no water')}
      </div>
      <label className="field">
        Counts so far, one interval a line: start; length; counts (seconds from the end of the fill)
        <textarea
          rows={3}
          value={texts.counts}
          placeholder="60; 300; 1479"
          onChange={(event) => set({ counts: event.target.value })}
        />
      </label>
      <div className="row">
        {input('moreIntervals', 'Still to come')}
        {input('next', `Next hole, ${label}`)}
        <p className="hint grow">
          Intervals still to come are as long as the last one. Without a guess for the next hole the middle of
          the lot is taken. Leave empty what was not looked at.
        </p>
      </div>
      <div className="form-end">
        <p className="hint" aria-live="polite">
          {typeof question === 'string' ? question : ''}
        </p>
        <button type="submit" className="primary" disabled={typeof question === 'string'}>
          Judge this hole
        </button>
      </div>
      {judgement ? <HoleVerdictView judgement={judgement} unit={unit} feet={usesFeet(view.frame)} /> : null}
    </form>
  );
}
