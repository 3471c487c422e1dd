import type { DayLog, GroundSurface } from '../../core/contract/quality.ts';
import { useFormTexts } from '../components/FormTexts.tsx';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { type DayTexts, dayLogOf, dayTexts, EVENT_NAMES } from './day-texts.ts';

const SURFACES: readonly GroundSurface[] = ['dry', 'moist', 'wet', 'frozen'];

export interface DayLogFormProps {
  /** null for a new one. */
  readonly log: DayLog | null;
  readonly day: string;
  readonly onDone: () => void;
}

/** The log of one day. What was not noted stays empty: empty is never taken for no. */
export function DayLogForm({ log, day, onDone }: DayLogFormProps) {
  const app = useApp();
  const view = useView();
  const fahrenheit = usesFeet(view.frame);
  const { texts, set, input } = useFormTexts(() => dayTexts(log, day, fahrenheit));
  const entry = dayLogOf(texts, fahrenheit);
  const said = (key: 'freshTape' | 'openingBackground' | 'closingBackground', label: string) => (
    <label className="field">
      {label}
      <select
        value={texts[key]}
        onChange={(event) => set({ [key]: event.target.value as DayTexts['freshTape'] })}
      >
        <option value="">not noted</option>
        <option value="yes">yes</option>
        <option value="no">no</option>
      </select>
    </label>
  );

  return (
    <form
      className="stack inset-form"
      aria-label="Log of a day"
      onSubmit={(event) => {
        event.preventDefault();
        if (typeof entry === 'string') return;
        void app.setDayLog({ id: log?.id ?? null, log: entry }).then((done) => {
          if (done) onDone();
        });
      }}
    >
      <div className="row">
        {input('day', 'Day', '', 'date')}
        {input('crew', 'Crew', 'grow')}
      </div>
      <div className="row">
        {input('rainMm', 'Last rain, mm')}
        {input('hoursSinceRain', 'Hours since')}
        <label className="field">
          Ground surface
          <select
            value={texts.surface}
            onChange={(event) => set({ surface: event.target.value as DayTexts['surface'] })}
          >
            <option value="">not noted</option>
            {SURFACES.map((surface) => (
              <option key={surface} value={surface}>
                {surface}
              </option>
            ))}
          </select>
        </label>
      </div>
      <div className="row">
        {input('air', fahrenheit ? 'Air, °F' : 'Air, °C')}
        {input('pressureHPa', 'Pressure, hPa')}
      </div>
      <div className="row">
        {input('pumpedMl', 'Pumped, mL')}
        {input('systemMl', 'Line, mL')}
        <p className="hint grow">
          Drawn before and with each sample, and the volume it went through: for samples that say nothing of
          it themselves.
        </p>
      </div>
      <div className="row">
        {said('freshTape', 'Fresh thread tape each time')}
        {said('openingBackground', 'Opening background')}
        {said('closingBackground', 'Closing background')}
        <label className="field">
          Control probe
          <select
            value={texts.controlProbeId}
            onChange={(event) => set({ controlProbeId: event.target.value })}
          >
            <option value="">none</option>
            {view.probes.map((probe) => (
              <option key={probe.id} value={probe.id}>
                {probe.label}
              </option>
            ))}
          </select>
        </label>
      </div>
      <label className="field">
        Dryer and line, one look a line: time in UTC; {Object.values(EVENT_NAMES).join(', ')}; note
        <textarea
          rows={3}
          value={texts.events}
          placeholder={'07:40; dryer fresh\n12:10; dryer spent'}
          onChange={(event) => set({ events: event.target.value })}
        />
      </label>
      {input('note', 'Note', 'grow')}
      <div className="form-end">
        <p className="hint" aria-live="polite">
          {typeof entry === 'string' ? entry : ''}
        </p>
        <button type="button" className="quiet" onClick={onDone}>
          Cancel
        </button>
        <button type="submit" className="primary" disabled={typeof entry === 'string'}>
          Set the log
        </button>
      </div>
    </form>
  );
}
