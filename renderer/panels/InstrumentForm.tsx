import type { DetectorKind, Instrument } from '../../core/contract/model.ts';
import { useFormTexts } from '../components/FormTexts.tsx';
import { useApp } from '../state/context.ts';
import { entryOf, textsOf } from './instrument-texts.ts';

export const DETECTOR_NAMES: Record<DetectorKind, string> = {
  alpha: 'all alphas alike',
  spectrum: 'collected progeny',
  windows: 'windows as stated',
};

/** One entry of the register. What is not known stays empty: empty is never taken for zero. */
export function InstrumentForm({
  instrument,
  onDone,
}: {
  instrument: Instrument | null;
  onDone: () => void;
}) {
  const app = useApp();
  const { texts, set, input } = useFormTexts(() => textsOf(instrument));
  const entry = entryOf(texts);

  return (
    <form
      className="stack inset-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (typeof entry === 'string') return;
        void app.setInstrument({ id: instrument?.id ?? null, instrument: entry }).then((done) => {
          if (done) onDone();
        });
      }}
    >
      <div className="row">
        {input('label', 'Instrument', 'grow')}
        <label className="field">
          What it counts
          <select
            value={texts.detector}
            onChange={(event) => set({ detector: event.target.value as DetectorKind })}
          >
            {(Object.keys(DETECTOR_NAMES) as DetectorKind[]).map((kind) => (
              <option key={kind} value={kind}>
                {DETECTOR_NAMES[kind]}
              </option>
            ))}
          </select>
        </label>
        {texts.detector === 'windows' ? null : input('countsPerAlpha', 'Counts per alpha')}
      </div>
      {texts.detector === 'windows' ? (
        <label className="field">
          Windows, one a line: name; nuclide and counts per alpha; …
          <textarea
            rows={3}
            value={texts.windows}
            placeholder="low; Po-218 0.35; Po-214 0.02"
            onChange={(event) => set({ windows: event.target.value })}
          />
        </label>
      ) : null}
      <div className="row">
        {input('chamberMl', 'Chamber, mL')}
        {input('lineMl', 'Line, mL')}
        {input('commonUPct', 'Common u, %')}
        {input('calibratedOn', 'Calibrated on', '', 'date')}
      </div>
      <div className="row">
        {input('gasLeftPct', 'Gas left, %')}
        {input('gasLeftUPct', 'Gas left u, %')}
        {input('progenyLeftPct', 'Progeny left, %')}
        {input('clockOffsetS', 'Clock ahead, s')}
      </div>
      <p className="hint">
        Gas and progeny left are what stays of one sample when the next is in. Clock ahead is what its clock
        shows less UTC. Leave empty what is not known.
      </p>
      <div className="row">
        {input('certificate', 'Certificate', 'grow')}
        {input('note', 'Note', 'grow')}
      </div>
      <label className="field">
        Backgrounds, one a line: window; counts; seconds; time in UTC
        <textarea
          rows={3}
          value={texts.backgrounds}
          placeholder="alpha; 216; 7200; 2026-05-11T18:00:00Z"
          onChange={(event) => set({ backgrounds: event.target.value })}
        />
      </label>
      <div className="form-end">
        <p className="hint" aria-live="polite">
          {typeof entry === 'string' ? entry : ''}
        </p>
        <button type="button" className="quiet" onClick={onDone}>
          Cancel
        </button>
        <button type="submit" className="primary" disabled={typeof entry === 'string'}>
          {instrument ? 'Set instrument' : 'Add this instrument'}
        </button>
      </div>
    </form>
  );
}
