import { useState } from 'react';
import type { DayLog } from '../../core/contract/quality.ts';
import { plural } from '../format.ts';
import { useApp } from '../state/context.ts';
import { useAnswer } from '../state/use-answer.ts';
import { DayLogForm } from './DayLogForm.tsx';
import { TableImport } from './TableImport.tsx';

function rainText({ rainMm, hoursSinceRain }: DayLog): string {
  if (rainMm === null) return '–';
  if (rainMm === 0) return 'none';
  return `${rainMm} mm${hoursSinceRain === null ? '' : `, ${hoursSinceRain} h before`}`;
}

/** Logs of the days in the field, and those still missing. */
export function DayLogList() {
  const app = useApp();
  const answer = useAnswer('day.list', 'Reading the logs of the days');
  /** The day of the log in hand, or 'new'. */
  const [edited, setEdited] = useState<string | null>(null);
  if (answer === null) return null;
  const { days, unlogged } = answer;
  const [next] = unlogged;

  return (
    <section className="block" aria-labelledby="field-days">
      <h3 id="field-days">Days in the field</h3>
      {days.length === 0 ? (
        <p>
          Weather, crew, dryer, leak checks of the rig and the control probe of each day. What is not written
          down cannot be defended later.
        </p>
      ) : (
        <table className="data" aria-label="Logs of the days">
          <thead>
            <tr>
              <th scope="col">Day</th>
              <th scope="col">Crew</th>
              <th scope="col">Rain</th>
              <th scope="col">Looks</th>
              <th scope="col">
                <span className="visually-hidden">Change</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {days.map((log) => (
              <tr key={log.id}>
                <th scope="row" className="nowrap">
                  {log.day}
                </th>
                <td>{log.crew ?? '–'}</td>
                <td>{rainText(log)}</td>
                <td>{log.events.length === 0 ? '–' : plural(log.events.length, 'look')}</td>
                <td className="row-tools">
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`Change the log of ${log.day}`}
                    onClick={() => setEdited(log.day)}
                  >
                    Change
                  </button>
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`Remove the log of ${log.day}`}
                    onClick={() => void app.removeDayLog(log.id)}
                  >
                    Remove
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {unlogged.length > 0 ? (
        <p className="hint">
          {plural(unlogged.length, 'day')} with samples and no log: {unlogged.join(', ')}.
        </p>
      ) : null}
      {edited === null ? (
        <button type="button" onClick={() => setEdited('new')}>
          {next === undefined ? 'Add the log of a day' : `Add the log of ${next}`}
        </button>
      ) : (
        <DayLogForm
          key={edited}
          log={days.find((log) => log.day === edited) ?? null}
          day={next ?? ''}
          onDone={() => setEdited(null)}
        />
      )}
      <TableImport tables={['days']} />
    </section>
  );
}
