import { useState } from 'react';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { formatTime, plural } from '../format.ts';
import { useAnswer } from '../state/use-answer.ts';

const SHOWN = 50;

/** The append-only log, newest first, and whether its chain of hashes still holds. */
export function RecordList() {
  const record = useAnswer('record.list', 'Reading the record');
  const [all, setAll] = useState(false);
  if (!record) return null;
  const newestFirst = [...record.entries].sort((a, b) => b.seq - a.seq);
  const shown = all ? newestFirst : newestFirst.slice(0, SHOWN);
  return (
    <section className="block" aria-labelledby="deliver-record">
      <h3 id="deliver-record">Record</h3>
      {record.intact ? (
        <p className="chain-intact">
          {plural(record.entries.length, 'entry', 'entries')}; the chain of hashes is unbroken.
        </p>
      ) : (
        <p className="notice notice-error" role="alert">
          The chain of hashes is broken: this file was changed outside the program, or is damaged.
        </p>
      )}
      <ScrollRegion label="Record, scrollable">
        <table className="data" aria-label="Record">
          <thead>
            <tr>
              <th scope="col" className="number">
                No.
              </th>
              <th scope="col">When</th>
              <th scope="col">Who</th>
              <th scope="col">What</th>
              <th scope="col">Hash</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((entry) => (
              <tr key={entry.seq} className={entry.undone ? 'row-undone' : ''}>
                <td className="number">{entry.seq}</td>
                <td className="nowrap">{formatTime(entry.atUtc)}</td>
                <td>{entry.actor}</td>
                <td>
                  {entry.summary}
                  {entry.undone ? <span className="tag">undone</span> : null}
                </td>
                <td className="hash" title={entry.hash}>
                  {entry.hash.slice(0, 8)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollRegion>
      {!all && newestFirst.length > SHOWN ? (
        <button type="button" className="quiet" onClick={() => setAll(true)}>
          Show all {newestFirst.length} entries
        </button>
      ) : null}
    </section>
  );
}
