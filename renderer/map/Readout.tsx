import type { PositionM, ProjectFrame } from '../../core/contract/model.ts';
import type { ShownSurface } from '../../core/contract/results.ts';
import {
  formatCoordinate,
  formatLevel,
  formatPercent,
  formatRadon,
  radonUnitLabel,
  type ShownRadonUnit,
} from '../format.ts';
import { valueAt } from './field.ts';
import { polygonsContain } from './geometry.ts';
import { coordinateUnit, toNative } from './project-frame.ts';

export interface ReadoutProps {
  readonly frame: ProjectFrame;
  readonly pointerM: PositionM | null;
  readonly centreM: PositionM;
  readonly surface: ShownSurface | null;
  readonly unit: ShownRadonUnit;
}

/** Place under the pointer (else the middle of the map) in native units, and the surface there. */
export function Readout({ frame, pointerM, centreM, surface, unit }: ReadoutProps) {
  const at = pointerM ?? centreM;
  const [x, y] = toNative(frame, at);
  const estimate = surface ? valueAt(surface.grid, surface.estimateKBqPerM3, at) : Number.NaN;
  const error = surface ? valueAt(surface.grid, surface.standardErrorKBqPerM3, at) : Number.NaN;
  const chance = surface?.exceedance ? valueAt(surface.grid, surface.exceedance.probability, at) : Number.NaN;
  const isWeak = Number.isFinite(estimate) && polygonsContain(surface?.weakGround?.polygons ?? [], at);
  return (
    <p className="readout">
      <span className="readout-where">{pointerM ? 'Pointer' : 'Middle'}</span>
      <span>
        E {formatCoordinate(x)} N {formatCoordinate(y)} {coordinateUnit(frame)}
      </span>
      {Number.isFinite(estimate) ? (
        <span>
          surface {formatRadon(estimate, unit)}
          {Number.isFinite(error) ? ` (standard error ${formatRadon(error, unit)})` : ''}{' '}
          {radonUnitLabel(unit)}
        </span>
      ) : null}
      {isWeak ? <strong className="readout-weak">weak ground</strong> : null}
      {surface?.exceedance && Number.isFinite(chance) ? (
        <span>
          chance above {formatLevel(surface.exceedance.limitKBqPerM3, unit)}: {formatPercent(chance)}
        </span>
      ) : null}
      <span className="readout-crs" title={frame.crsName}>
        {frame.crsName}
      </span>
    </p>
  );
}
