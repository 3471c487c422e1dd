import { useState } from 'react';
import type { Ruling, RulingVerdict } from '../../core/contract/model.ts';
import { formatTime, plural } from '../format.ts';
import { rulingTargets, VERDICT_NAMES } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';

const VERDICTS: readonly RulingVerdict[] = ['use', 'lower-bound', 'leave-out'];

/** Decides on the checked samples, or on the selected one. A reason is needed: it is printed. */
export function RulingForm({ ruling }: { ruling: Ruling | null }) {
  const app = useApp();
  const count = useAppState((state) => rulingTargets(state).length);
  const [verdict, setVerdict] = useState<RulingVerdict | null>(ruling?.verdict ?? null);
  const [reason, setReason] = useState(ruling?.reason ?? '');
  const missing = verdict === null ? 'Choose what to do.' : reason.trim() === '' ? 'Give the reason.' : null;
  const targets = () => rulingTargets(app.store.get());

  return (
    <form
      className="ruling"
      onSubmit={(event) => {
        event.preventDefault();
        if (missing === null) void app.rule(targets(), verdict, reason.trim());
      }}
    >
      {ruling ? (
        <p className="hint">
          Ruled “{VERDICT_NAMES[ruling.verdict]}” by {ruling.actor}, {formatTime(ruling.atUtc)}:{' '}
          {ruling.reason}
        </p>
      ) : null}
      <fieldset className="segments">
        <legend>Ruling</legend>
        {VERDICTS.map((value) => (
          <label key={value} className="segment">
            <input
              type="radio"
              name="verdict"
              checked={verdict === value}
              onChange={() => setVerdict(value)}
            />
            <span>{VERDICT_NAMES[value]}</span>
          </label>
        ))}
      </fieldset>
      {verdict === 'leave-out' ? (
        <p className="hint hint-strong">
          Leaving out a high value can make a false all-clear: it needs hard evidence, and is printed on the
          figure.
        </p>
      ) : null}
      <label className="field">
        Reason
        <input
          type="text"
          value={reason}
          maxLength={2000}
          placeholder="What you saw or checked"
          onChange={(event) => setReason(event.target.value)}
        />
      </label>
      <div className="form-end">
        <p className="hint" aria-live="polite">
          {missing ?? 'Goes to the record with your name and the time.'}
        </p>
        {ruling ? (
          <button type="button" onClick={() => void app.rule(targets(), null, 'withdrawn')}>
            Withdraw ruling
          </button>
        ) : null}
        <button type="submit" className="primary" disabled={missing !== null}>
          Rule on {plural(count, 'sample')}
        </button>
      </div>
    </form>
  );
}
