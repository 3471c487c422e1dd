import { type ReactNode, useState } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import type { FeatureLook } from '../../core/contract/outlines.ts';
import { formatArea, formatLength, plural } from '../format.ts';
import { boundsOf } from '../map/geometry.ts';
import { usesFeet } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';

const SKETCH_PX = 34;

export interface FeaturePickerProps {
  readonly file: string;
  readonly features: readonly FeatureLook[];
  readonly total: number;
  /** In the question: 'lot line', 'keep-outs'. */
  readonly noun: string;
  /** Of keep-outs, how wide a strip they get: of them several may be taken at once, all of a layer, or all there are. */
  readonly strip: ReactNode;
  readonly onTake: (pick: { readonly layer?: string; readonly feature?: string }) => void;
  readonly onGiveUp: () => void;
}

/** Which of a file's outlines is meant, told apart by shape, name, layer and size. */
export function FeaturePicker({ file, features, total, noun, strip, onTake, onGiveUp }: FeaturePickerProps) {
  const feet = usesFeet(useView().frame);
  const layers = [...new Set(features.map((feature) => feature.layer))];
  const [layer, setLayer] = useState('');
  const shown = features.filter((feature) => layer === '' || feature.layer === layer);

  return (
    <section className="stack inset-form wide" aria-label={`What ${file} holds`}>
      <p>
        {file} holds {plural(total, 'shape')}
        {layers.length > 1 ? ` in ${layers.length} layers` : ''}.{' '}
        {strip
          ? 'Say how wide a strip is kept free round what says nothing of it itself.'
          : `Which is the ${noun}?`}
      </p>
      <div className="row">
        {layers.length > 1 ? (
          <label className="field">
            Layer
            <select value={layer} onChange={(event) => setLayer(event.target.value)}>
              <option value="">all</option>
              {layers.map((one) => (
                <option key={one} value={one}>
                  {one} ({features.filter((feature) => feature.layer === one).length})
                </option>
              ))}
            </select>
          </label>
        ) : null}
        {strip}
        {strip ? (
          <button type="button" className="primary" onClick={() => onTake(layer === '' ? {} : { layer })}>
            {total === 1
              ? 'Take it'
              : layer === ''
                ? `Take all ${total}`
                : `Take all ${shown.length} of the layer`}
          </button>
        ) : null}
        <button type="button" className="quiet push" onClick={onGiveUp}>
          Give up
        </button>
      </div>
      <div className="course-rows">
        <table className="data" aria-label={`Shapes in ${file}`}>
          <thead>
            <tr>
              <th scope="col">Shape</th>
              <th scope="col">Name</th>
              <th scope="col" className="number">
                Width, height
              </th>
              <th scope="col" className="number">
                Area or length
              </th>
              <th scope="col">
                <span className="visually-hidden">Take</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {shown.map((one) => (
              <tr key={`${one.layer}/${one.feature}`}>
                <td>
                  <Sketch pointsM={one.sketchM} isArea={one.areaM2 !== null} />
                </td>
                <th scope="row">
                  {one.label ?? one.feature}{' '}
                  {layers.length > 1 ? <span className="faint">{one.layer}</span> : null}
                </th>
                <td className="number">
                  {one.shape === 'point'
                    ? '–'
                    : `${formatLength(one.widthM, feet, 1)} × ${formatLength(one.heightM, feet, 1)}`}
                </td>
                <td className="number">
                  {one.areaM2 === null
                    ? one.lengthM === null
                      ? 'a point'
                      : formatLength(one.lengthM, feet, 1)
                    : formatArea(one.areaM2, feet)}
                </td>
                <td className="row-tools">
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`Take ${one.label ?? one.feature}`}
                    onClick={() => onTake({ layer: one.layer, feature: one.feature })}
                  >
                    Take
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {total > features.length ? (
        <p className="hint">
          The {features.length} largest are listed. Cut the file down, or name the layer, to see the others.
        </p>
      ) : null}
    </section>
  );
}

function Sketch({ pointsM, isArea }: { readonly pointsM: readonly PositionM[]; readonly isArea: boolean }) {
  const bounds = boundsOf(pointsM);
  if (!bounds) return null;
  const scale = (SKETCH_PX - 4) / Math.max(bounds.maxX - bounds.minX, bounds.maxY - bounds.minY, 1e-6);
  const points = pointsM
    .map(([x, y]) => `${(2 + x * scale).toFixed(1)},${(SKETCH_PX - 2 - y * scale).toFixed(1)}`)
    .join(' ');
  return (
    <svg className="sketch" width={SKETCH_PX} height={SKETCH_PX} aria-hidden="true">
      {pointsM.length === 1 ? (
        <circle cx={SKETCH_PX / 2} cy={SKETCH_PX / 2} r={2.5} />
      ) : isArea ? (
        <polygon points={points} />
      ) : (
        <polyline points={points} />
      )}
    </svg>
  );
}
