import { useRef, useState } from 'react';
import { flushSync } from 'react-dom';
import type { SampleEntry } from '../../core/contract/hand-entry.ts';
import { useApp } from '../state/context.ts';
import { SampleEntryForm } from './SampleEntryForm.tsx';

/** A sample without a file can be changed or taken out; one from a file is left out by a ruling. */
export function HandEntryTools({ sampleId, label }: { sampleId: string; label: string }) {
  const app = useApp();
  const [entry, setEntry] = useState<SampleEntry | null>(null);
  const [asked, setAsked] = useState(false);
  const change = async () => {
    const found = await app.attempt('Reading the sample', () =>
      app.client.request('sample.entry', { sampleId }),
    );
    if (found) setEntry(found.entry);
  };
  const opener = useRef<HTMLButtonElement>(null);
  const close = () => {
    flushSync(() => setEntry(null));
    opener.current?.focus();
  };
  if (entry) return <SampleEntryForm sampleId={sampleId} entry={entry} onDone={close} />;
  return (
    <div className="row">
      <p className="hint">Entered by hand.</p>
      <button
        ref={opener}
        type="button"
        className="small"
        aria-label={`Change ${label}`}
        onClick={() => void change()}
      >
        Change
      </button>
      {asked ? (
        <button
          type="button"
          className="small"
          aria-label={`Remove ${label} for good`}
          onClick={() => void app.removeSample(sampleId)}
        >
          Remove it (undo brings it back)
        </button>
      ) : (
        <button
          type="button"
          className="quiet small"
          aria-label={`Remove ${label}`}
          onClick={() => setAsked(true)}
        >
          Remove…
        </button>
      )}
    </div>
  );
}
