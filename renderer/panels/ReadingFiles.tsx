import { useState } from 'react';
import type { ReadingFile } from '../../core/contract/hand-entry.ts';
import { plural } from '../format.ts';
import { useApp } from '../state/context.ts';
import { useAnswer } from '../state/use-answer.ts';

function contents({ readings, values, backgrounds, samples, bareSamples }: ReadingFile): string {
  const counted = [
    readings > 0 ? plural(readings, 'count') : '',
    values > 0 ? plural(values, 'interval value') : '',
  ].filter((part) => part !== '');
  return [
    samples > 0 ? `${counted.join(' and ')} of ${plural(samples, 'sample')}` : '',
    backgrounds > 0 ? plural(backgrounds, 'background') : '',
    bareSamples > 0 ? `${plural(bareSamples, 'sample')} made for them` : '',
  ]
    .filter((part) => part !== '')
    .join(', ');
}

/** Counts brought in by mistake go out by the file that brought them. */
export function ReadingFiles() {
  const app = useApp();
  const files = useAnswer('readings.files', 'Reading the files of counts')?.files ?? [];
  const [asked, setAsked] = useState<string | null>(null);
  if (files.length === 0) return null;
  return (
    <ul className="plain-list" aria-label="Files of counts">
      {files.map((one) => (
        <li key={one.sha256}>
          {one.file}: {contents(one)}{' '}
          {asked === one.sha256 ? (
            <button type="button" className="small" onClick={() => void app.removeReadings(one.sha256)}>
              Take all of it out (undo brings it back)
            </button>
          ) : (
            <button
              type="button"
              className="link"
              aria-label={`Take out what ${one.file} brought`}
              onClick={() => setAsked(one.sha256)}
            >
              Take out…
            </button>
          )}
        </li>
      ))}
    </ul>
  );
}
