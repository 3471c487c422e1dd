import { useState } from 'react';
import type { ExportFormat, ExportOptions } from '../../core/contract/requests.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { useSave } from './use-save.ts';

interface FormatInfo {
  readonly id: ExportFormat;
  readonly name: string;
  readonly extension: string;
  readonly needsSurface?: true;
}

/** The CSV has a button of its own, beside the choice of its rows. */
const FORMATS: readonly FormatInfo[] = [
  { id: 'geojson', name: 'GeoJSON', extension: 'geojson' },
  { id: 'gpkg', name: 'GeoPackage', extension: 'gpkg' },
  { id: 'geotiff', name: 'GeoTIFF', extension: 'tif', needsSurface: true },
  { id: 'dxf', name: 'DXF', extension: 'dxf' },
  { id: 'kml', name: 'KML', extension: 'kml' },
  { id: 'gpx', name: 'GPX', extension: 'gpx' },
];
type CsvRows = NonNullable<ExportOptions['rows']>;
const ROW_NAMES: Record<CsvRows, string> = {
  samples: 'a sample',
  probes: 'a probe',
  'stake-out': 'a place to stake out',
};

/** The project's data in open formats. */
export function ExportForm() {
  const app = useApp();
  const view = useView();
  const save = useSave(view);
  const deliveredPath = useAppState((state) => state.deliveredPath);
  const [rows, setRows] = useState<CsvRows>('samples');
  const [simplifyM, setSimplifyM] = useState(0);
  const feet = usesFeet(view.frame);
  const exportAs = (id: ExportFormat, name: string, extension: string, options?: ExportOptions) =>
    void save({
      doing: 'Exporting data',
      title: `Export data as ${name}`,
      name,
      extension,
      suffix: options?.rows && options.rows !== 'samples' ? `-${options.rows}` : '-samples',
      isFiled: false,
      write: (path, job) =>
        app.client.request('export.save', { path, format: id, ...(options ? { options } : {}) }, job),
    });

  return (
    <section className="block" aria-labelledby="deliver-data">
      <h3 id="deliver-data">Data</h3>
      <p>
        Every sample with value, uncertainty, findings and ruling; lot, probes and surface where the format
        has room.
      </p>
      <div className="row">
        <label className="field">
          A row of the CSV is
          <select value={rows} onChange={(event) => setRows(event.target.value as CsvRows)}>
            {(Object.keys(ROW_NAMES) as CsvRows[]).map((one) => (
              <option key={one} value={one}>
                {ROW_NAMES[one]}
              </option>
            ))}
          </select>
        </label>
        <button type="button" onClick={() => exportAs('csv', 'CSV', 'csv', { rows })}>
          Export CSV…
        </button>
      </div>
      <div className="row">
        <NumberInput
          label={`Fewer points on isolines and bands, within (${feet ? 'ft' : 'm'})`}
          value={feet ? fromMetres(simplifyM, 'ft') : simplifyM}
          least={0}
          most={30}
          onChange={(value) => setSimplifyM(feet ? toMetres(value, 'ft') : value)}
        />
      </div>
      <div className="row">
        {FORMATS.map(({ id, name, extension, needsSurface }) => (
          <button
            key={id}
            type="button"
            disabled={needsSurface && view.samples.length === 0}
            onClick={() => exportAs(id, name, extension, simplifyM > 0 ? { simplifyM } : undefined)}
          >
            Export {name}…
          </button>
        ))}
      </div>
      {deliveredPath ? (
        <p className="hint">
          Saved: <span className="path">{deliveredPath}</span>{' '}
          <button
            type="button"
            className="link"
            onClick={() => void app.attempt('Showing the file', () => app.bridge.reveal(deliveredPath))}
          >
            Show in folder
          </button>
        </p>
      ) : null}
    </section>
  );
}
