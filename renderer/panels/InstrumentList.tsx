import { useState } from 'react';
import type { Instrument } from '../../core/contract/model.ts';
import { formatPercent, trimNumber } from '../format.ts';
import { useApp } from '../state/context.ts';
import { useInstruments } from '../state/use-instruments.ts';
import { DETECTOR_NAMES, InstrumentForm } from './InstrumentForm.tsx';
import { ReadingFiles } from './ReadingFiles.tsx';
import { TableImport } from './TableImport.tsx';

function InstrumentRow({ instrument, onChange }: { instrument: Instrument; onChange: () => void }) {
  const app = useApp();
  return (
    <tr>
      <th scope="row">
        {instrument.label} <span className="faint">{DETECTOR_NAMES[instrument.detector]}</span>
        {instrument.missing.length > 0 ? (
          <ul className="missing" aria-label={`Missing of ${instrument.label}`}>
            {instrument.missing.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
        ) : null}
      </th>
      <td className="number">{trimNumber(instrument.chamberMl)}</td>
      <td className="nowrap">
        {instrument.calibratedOn ?? '–'}
        {instrument.commonURel === null ? null : (
          <span className="interval">u {formatPercent(instrument.commonURel)}</span>
        )}
      </td>
      <td className="number">{instrument.backgrounds.length}</td>
      <td className="number">{instrument.sampleCount}</td>
      <td className="row-tools">
        <button
          type="button"
          className="quiet small"
          aria-label={`Change instrument ${instrument.label}`}
          onClick={onChange}
        >
          Change
        </button>
        {instrument.sampleCount === 0 ? (
          <button
            type="button"
            className="quiet small"
            aria-label={`Remove instrument ${instrument.label}`}
            onClick={() => void app.removeInstrument(instrument.id)}
          >
            Remove
          </button>
        ) : null}
      </td>
    </tr>
  );
}

/** What counted the samples. Without calibration and background no value from counts can be defended. */
export function InstrumentList() {
  const instruments = useInstruments();
  const [editedId, setEditedId] = useState<string | 'new' | null>(null);
  const edited = instruments?.find((instrument) => instrument.id === editedId) ?? null;

  return (
    <section className="block" aria-labelledby="field-counts">
      <h3 id="field-counts">Counts and instruments</h3>
      <p>
        Where an instrument gives counts, its register entry comes first, then the counts: each sample’s value
        is then worked out from them, with carry-over and background taken off. A table of the instrument’s
        own interval values comes in the same way, and is averaged.
      </p>
      {instruments && instruments.length > 0 ? (
        <table className="data" aria-label="Instruments">
          <thead>
            <tr>
              <th scope="col">Instrument</th>
              <th scope="col" className="number">
                Chamber, mL
              </th>
              <th scope="col">Calibrated</th>
              <th scope="col" className="number">
                Back-
                <wbr />
                grounds
              </th>
              <th scope="col" className="number">
                Samples
              </th>
              <th scope="col">
                <span className="visually-hidden">Change</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {instruments.map((instrument) => (
              <InstrumentRow
                key={instrument.id}
                instrument={instrument}
                onChange={() => setEditedId(instrument.id)}
              />
            ))}
          </tbody>
        </table>
      ) : null}
      {editedId === null ? (
        <button type="button" onClick={() => setEditedId('new')}>
          Add instrument
        </button>
      ) : (
        <InstrumentForm key={editedId} instrument={edited} onDone={() => setEditedId(null)} />
      )}
      <TableImport tables={['instruments', 'readings']} />
      <ReadingFiles />
    </section>
  );
}
