import { sayInUnits } from '../../core/contract/project-words.ts';
import { prettyUnits } from '../format.ts';
import type { Problem } from '../state/app-state.ts';
import { useAppState } from '../state/context.ts';

const PLACES: readonly (readonly [key: string, name: string])[] = [
  ['file', 'File'],
  ['row', 'Row'],
  ['field', 'Field'],
];

export interface ProblemNoticeProps {
  readonly problem: Problem;
  readonly onDismiss?: () => void;
}

/** A failure: what was being done, what is wrong, and where in the user's own material. */
export function ProblemNotice({ problem, onDismiss }: ProblemNoticeProps) {
  const say = useSayings();
  const { details, message } = problem;
  // A field tells something beside its row only; a file that the sentence names needs no second mention.
  const places = PLACES.filter(([key]) => {
    const value = String(details[key] ?? '');
    if (value === '' || (key === 'field' && details['row'] === undefined)) return false;
    return key !== 'file' || !message.includes(value);
  });
  return (
    <div className="notice notice-error" role="alert">
      <div>
        <p>
          <strong>{problem.doing} did not work.</strong> {say(problem.message)}
        </p>
        {places.length > 0 ? (
          <dl className="places">
            {places.map(([key, name]) => (
              <div key={key}>
                <dt>{name}</dt>
                <dd>{String(problem.details[key])}</dd>
              </div>
            ))}
          </dl>
        ) : null}
      </div>
      {onDismiss ? (
        <button type="button" className="quiet" onClick={onDismiss} aria-label="Dismiss message">
          Dismiss
        </button>
      ) : null}
    </div>
  );
}

export function WarningList({ warnings, label }: { warnings: readonly string[]; label: string }) {
  const say = useSayings();
  if (warnings.length === 0) return null;
  return (
    <ul className="notice notice-warning" aria-label={label}>
      {warnings.map((warning) => (
        <li key={warning}>{say(warning)}</li>
      ))}
    </ul>
  );
}

/** Sentences in the units of the open project; as the engine says them where none is open. */
function useSayings(): (text: string) => string {
  const frame = useAppState((state) => state.view?.frame ?? null);
  const radonUnit = useAppState((state) => state.view?.settings.radonUnit ?? 'kBq/m3');
  return (text) => prettyUnits(frame === null ? text : sayInUnits(text, { frame, radonUnit }));
}
