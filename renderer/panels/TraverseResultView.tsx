import type { TraverseResult } from '../../core/contract/outlines.ts';
import { fromMetres } from '../../core/units.ts';
import { formatArea, formatLength } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';

/** Each course as it was read with what the rule added, and how well they close. */
export function TraverseResultView({ result }: { readonly result: TraverseResult }) {
  const feet = usesFeet(useView().frame);
  const unit = feet ? 'ft' : 'm';
  const shown = (valueM: number | null, decimals = 3) =>
    valueM === null ? '–' : fromMetres(valueM, unit).toFixed(decimals).replace('-', '−');
  const { outline } = result;
  const misclosure = outline?.misclosure ?? null;
  return (
    <>
      <div className="course-rows">
        <table className="data" aria-label="Courses as read">
          <thead>
            <tr>
              <th scope="col">Row</th>
              <th scope="col">Direction</th>
              <th scope="col" className="number">
                Length, {unit}
              </th>
              <th scope="col" className="number">
                Correction east, north, {unit}
              </th>
            </tr>
          </thead>
          <tbody>
            {result.rows.map((row) =>
              row.problem === null ? (
                <tr key={row.row}>
                  <th scope="row">{row.row}</th>
                  <td>
                    {row.bearing}
                    {row.radiusM === null ? '' : `, chord; R ${shown(row.radiusM)}`}
                  </td>
                  <td className="number">{shown(row.lengthM)}</td>
                  <td className="number">
                    {row.eastCorrectionM === null
                      ? '–'
                      : `${shown(row.eastCorrectionM, 4)}, ${shown(row.northCorrectionM, 4)}`}
                  </td>
                </tr>
              ) : (
                <tr key={row.row} className="row-problem">
                  <th scope="row">{row.row}</th>
                  <td colSpan={3}>
                    “{row.text}”: {row.problem}.
                  </td>
                </tr>
              ),
            )}
          </tbody>
        </table>
      </div>
      {outline ? (
        <dl className="facts" aria-label="Closing">
          <div>
            <dt>Area</dt>
            <dd>{formatArea(outline.areaM2, feet)}</dd>
          </div>
          <div>
            <dt>Perimeter</dt>
            <dd>{formatLength(outline.perimeterM, feet)}</dd>
          </div>
          <div>
            <dt>Misclosure</dt>
            <dd>
              {misclosure === null
                ? 'not known: the last side is not given'
                : misclosure.ratio === null
                  ? 'none'
                  : `${shown(misclosure.distanceM)} ${unit}, ${misclosure.bearing} from the start, 1:${Math.round(misclosure.ratio).toLocaleString('en')}`}
            </dd>
          </div>
        </dl>
      ) : null}
    </>
  );
}
