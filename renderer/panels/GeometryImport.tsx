import { useState } from 'react';
import type { GeometryImportOptions, GeometryKind } from '../../core/contract/requests.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { ProblemNotice } from '../components/Notice.tsx';
import { NumberInput } from '../components/NumberInput.tsx';
import { TextField } from '../components/TextField.tsx';
import { prettyUnits } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import type { Problem } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';

const GEOMETRY_FILES = ['geojson', 'json', 'gpkg', 'shp', 'zip', 'kml', 'gpx', 'dxf'];
/** A table holds the corners of one outline and nothing else. */
const TABLES = ['csv', 'txt', 'tsv'];

export interface GeometryImportProps {
  readonly what: GeometryKind;
  /** As on the button and in the file dialog: 'lot line', 'keep-outs'. */
  readonly noun: string;
}

interface Outcome {
  readonly path: string;
  readonly problem: Problem | null;
  readonly notes: readonly string[];
}

/** Takes outlines or points from a file of any kind; where the file holds several, a person says which. */
export function GeometryImport({ what, noun }: GeometryImportProps) {
  const app = useApp();
  const feet = usesFeet(useView().frame);
  const unit = feet ? 'ft' : 'm';
  const [outcome, setOutcome] = useState<Outcome | null>(null);
  const [layer, setLayer] = useState('');
  const [feature, setFeature] = useState('');
  const [fileUnit, setFileUnit] = useState<GeometryImportOptions['unit'] | ''>('');
  const [bufferM, setBufferM] = useState(1);

  const take = async (path: string) => {
    const done = await app.importGeometry({
      path,
      what,
      options: {
        ...(layer.trim() === '' ? {} : { layer: layer.trim() }),
        ...(feature.trim() === '' ? {} : { feature: feature.trim() }),
        ...(fileUnit === '' || fileUnit === undefined ? {} : { unit: fileUnit }),
        ...(what === 'keep-out' ? { bufferM } : {}),
        ...(what === 'probes' ? { replace: true } : {}),
      },
    });
    setOutcome({ path, problem: done.problem, notes: done.notes });
  };
  const choose = async () => {
    const path = await app.attempt('Choosing a file', () =>
      app.bridge.chooseOpen({
        title: `Import ${noun}`,
        filters: [
          {
            name: 'Geometry',
            extensions: [...GEOMETRY_FILES, ...(what === 'lot' || what === 'footprint' ? TABLES : [])],
          },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (path) await take(path);
  };

  return (
    <>
      <button type="button" onClick={() => void choose()}>
        Import {noun}…
      </button>
      {outcome?.problem ? (
        <div className="stack inset-form wide">
          <ProblemNotice problem={outcome.problem} />
          <div className="row">
            <TextField label="Only the layer" value={layer} onChange={setLayer} />
            <TextField label="Only what is named" value={feature} onChange={setFeature} />
            <label className="field">
              Numbers are in
              <select
                value={fileUnit}
                onChange={(event) => setFileUnit(event.target.value as GeometryImportOptions['unit'] | '')}
              >
                <option value="">as the file says</option>
                <option value="m">metres</option>
                <option value="cm">centimetres</option>
                <option value="ft">feet</option>
                <option value="ft-us">US survey feet</option>
                <option value="in">inches</option>
              </select>
            </label>
            {what === 'keep-out' ? (
              <NumberInput
                label={`Strip, ${unit}`}
                value={fromMetres(bufferM, unit)}
                least={0}
                most={3000}
                onChange={(value) => setBufferM(toMetres(value, unit))}
              />
            ) : null}
          </div>
          <div className="form-end">
            <button type="button" className="quiet" onClick={() => setOutcome(null)}>
              Give up
            </button>
            <button type="button" className="primary" onClick={() => void take(outcome.path)}>
              Try again
            </button>
          </div>
        </div>
      ) : null}
      {outcome && !outcome.problem && outcome.notes.length > 0 ? (
        <ul className="notice notice-warning wide" aria-label={`Notes on the import of ${noun}`}>
          {outcome.notes.map((note) => (
            <li key={note}>{prettyUnits(note)}</li>
          ))}
        </ul>
      ) : null}
    </>
  );
}
