import { useState } from 'react';
import type { GeometryImportOptions, GeometryKind } from '../../core/contract/outlines.ts';
import type { Output } from '../../core/contract/requests.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { ProblemNotice } from '../components/Notice.tsx';
import { NumberInput } from '../components/NumberInput.tsx';
import { prettyUnits } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import type { Problem } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { problemOf } from '../state/problem.ts';
import { FeaturePicker } from './FeaturePicker.tsx';

const READING = 'Reading the file';
const GEOMETRY_FILES = ['geojson', 'json', 'gpkg', 'shp', 'zip', 'kml', 'gpx', 'dxf'];
/** A table holds the corners of one outline, or planned probes. */
const TABLES = ['csv', 'txt', 'tsv'];

export interface GeometryImportProps {
  readonly what: GeometryKind;
  /** As on the button and in the file dialog: 'lot line', 'keep-outs'. */
  readonly noun: string;
}

/** Of the numbers in the file; empty: as the file says. */
type FileUnit = NonNullable<GeometryImportOptions['unit']> | 'deg' | '';

const WGS84 = { kind: 'epsg', code: 4326 } as const;

interface Outcome {
  readonly path: string;
  readonly problem: Problem | null;
  readonly notes: readonly string[];
  /** Shapes to choose from; null where there is no choice. */
  readonly look: Output<'geometry.look'> | null;
}

/** Takes outlines or points from a file of any kind; where the file holds several, a person says which. */
export function GeometryImport({ what, noun }: GeometryImportProps) {
  const app = useApp();
  const feet = usesFeet(useView().frame);
  const unit = feet ? 'ft' : 'm';
  const [outcome, setOutcome] = useState<Outcome | null>(null);
  const [fileUnit, setFileUnit] = useState<FileUnit>('');
  const [isBusy, setBusy] = useState(false);
  const [bufferM, setBufferM] = useState(1);

  const optionsOf = (pick: Pick<GeometryImportOptions, 'layer' | 'feature'>): GeometryImportOptions => ({
    ...pick,
    ...(fileUnit === '' ? {} : fileUnit === 'deg' ? { crs: WGS84 } : { unit: fileUnit }),
    // All that the list shows is meant by "all", points too.
    ...(what === 'keep-out' ? { bufferM, points: true } : {}),
    ...(what === 'probes' ? { replace: true } : {}),
  });
  /** Keep-outs are always shown first, for their strip; else null where there is no choice. */
  const lookInto = async (path: string): Promise<Output<'geometry.look'> | null> => {
    if (what === 'probes' || TABLES.some((ending) => path.toLowerCase().endsWith(`.${ending}`))) return null;
    const look = await app.asJob(READING, (job) =>
      app.client.request('geometry.look', { path, what, options: optionsOf({}) }, job),
    );
    return look.features.length > (what === 'keep-out' ? 0 : 1) ? look : null;
  };
  const bring = async (path: string) => {
    setBusy(true);
    try {
      const look = await lookInto(path);
      if (look) setOutcome({ path, problem: null, notes: [], look });
      else await take(path);
    } catch (error) {
      setOutcome({ path, problem: problemOf(READING, error), notes: [], look: null });
    } finally {
      setBusy(false);
    }
  };
  const take = async (path: string, pick: Pick<GeometryImportOptions, 'layer' | 'feature'> = {}) => {
    const done = await app.importGeometry({
      path,
      what,
      options: optionsOf(pick),
    });
    setOutcome({ path, problem: done.problem, notes: done.notes, look: null });
  };
  const choose = async () => {
    const path = await app.attempt('Choosing a file', () =>
      app.bridge.chooseOpen({
        title: `Import ${noun}`,
        filters: [
          {
            name: 'Geometry',
            extensions: [...GEOMETRY_FILES, ...(what === 'keep-out' ? [] : TABLES)],
          },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (path) await bring(path);
  };
  const strip =
    what === 'keep-out' ? (
      <NumberInput
        label={`Strip, ${unit}`}
        value={fromMetres(bufferM, unit)}
        least={0}
        most={3000}
        onChange={(value) => setBufferM(toMetres(value, unit))}
      />
    ) : null;

  return (
    <>
      <button type="button" disabled={isBusy} onClick={() => void choose()}>
        Import {noun}…
      </button>
      {outcome?.problem ? (
        <div className="stack inset-form wide">
          <ProblemNotice problem={outcome.problem} />
          <div className="row">
            <label className="field">
              Numbers are in
              <select value={fileUnit} onChange={(event) => setFileUnit(event.target.value as FileUnit)}>
                <option value="">as the file says</option>
                <option value="m">metres</option>
                <option value="cm">centimetres</option>
                <option value="ft">feet</option>
                <option value="ft-us">US survey feet</option>
                <option value="in">inches</option>
                <option value="deg">degrees (longitude, latitude)</option>
              </select>
            </label>
            {strip}
          </div>
          <div className="form-end">
            <button type="button" className="quiet" onClick={() => setOutcome(null)}>
              Give up
            </button>
            <button
              type="button"
              className="primary"
              disabled={isBusy}
              onClick={() => void bring(outcome.path)}
            >
              Try again
            </button>
          </div>
        </div>
      ) : null}
      {outcome?.look ? (
        <FeaturePicker
          {...outcome.look}
          noun={noun}
          strip={strip}
          onTake={(pick) => void take(outcome.path, pick)}
          onGiveUp={() => setOutcome(null)}
        />
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
