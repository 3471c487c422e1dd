import type { PlacementView, SpreadView } from '../../core/contract/planning.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { formatLength, formatPercent, formatRadon, radonUnitLabel, trimNumber } from '../format.ts';
import { toNative, usesFeet } from '../map/project-frame.ts';
import { useApp, useAppState, useView } from '../state/context.ts';

export interface PlacementTableProps {
  readonly name: string;
  readonly placements: readonly PlacementView[];
  /** For comparison, as the first row. */
  readonly asDrawn: PlacementView | null;
  /** Place of the first row in the search's whole list. */
  readonly first: number;
  readonly isChance: boolean;
  readonly stale: boolean;
}

/** The shorter way round, left being anticlockwise. */
function turnText(turnDeg: number): string {
  const turn = ((((turnDeg + 180) % 360) + 360) % 360) - 180;
  if (Math.abs(turn) < 0.05) return '';
  return `turned ${trimNumber(Math.abs(turn))}° ${turn > 0 ? 'left' : 'right'}`;
}

/** Placements with what the model says under each; a row brings its outline out on the map. */
export function PlacementTable({ name, placements, asDrawn, first, isChance, stale }: PlacementTableProps) {
  const app = useApp();
  const view = useView();
  const chosen = useAppState((state) => state.chosenPlacement);
  const unit = view.settings.radonUnit;
  const feet = usesFeet(view.frame);
  const isRanked = placements.every((placement) => placement.why === null);

  const spread = (value: SpreadView | null) =>
    value === null ? (
      '–'
    ) : (
      <>
        <strong>{formatRadon(value.mean, unit)}</strong>
        <span className="interval">
          {formatRadon(value.low, unit)} to {formatRadon(value.high, unit)}
        </span>
      </>
    );
  const moveText = ({ pose, distanceMovedM }: PlacementView) =>
    [
      distanceMovedM < 0.005 ? 'not moved' : formatLength(distanceMovedM, feet, 1),
      turnText(pose.turnDeg),
      pose.mirrored ? 'mirrored' : '',
    ]
      .filter((part) => part !== '')
      .join(', ');
  const cells = (placement: PlacementView) => (
    <>
      {isChance ? (
        <td className="number value">{placement.judged === null ? '–' : formatPercent(placement.judged)}</td>
      ) : null}
      <td className="number">{spread(placement.statistics.blockMeanKBqPerM3)}</td>
      <td className="number">{spread(placement.statistics.upperQuartileKBqPerM3)}</td>
      <td>{moveText(placement)}</td>
      <td className="number">{placement.probesNear}</td>
    </>
  );

  return (
    <ScrollRegion label={`${name}, scrollable`}>
      <table className="data placements" aria-label={name}>
        <thead>
          <tr>
            <th scope="col">Place</th>
            {isChance ? (
              <th scope="col" className="number">
                Chance above
              </th>
            ) : null}
            <th scope="col" className="number">
              Mean under it, {radonUnitLabel(unit)}
            </th>
            <th scope="col" className="number">
              Third quartile
            </th>
            <th scope="col">Moved</th>
            <th scope="col" className="number">
              Probes near
            </th>
            <th scope="col">
              <span className="visually-hidden">Keep</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {asDrawn ? (
            <tr>
              <th scope="row">as it stands</th>
              {cells(asDrawn)}
              <td />
            </tr>
          ) : null}
          {placements.map((placement, index) => {
            const place = first + index;
            const label = isRanked ? `Place ${index + 1}` : `Unranked ${index + 1}`;
            return (
              <tr key={place} className={chosen === place ? 'row-selected' : ''}>
                <th scope="row">
                  <button
                    type="button"
                    className="row-button"
                    aria-pressed={chosen === place}
                    aria-label={`Show ${label.toLowerCase()} on the map`}
                    onClick={() => app.store.update((state) => ({ ...state, chosenPlacement: place }))}
                  >
                    {label}
                  </button>
                </th>
                {cells(placement)}
                <td>
                  <button
                    type="button"
                    className="small"
                    disabled={stale}
                    aria-label={`Keep ${label.toLowerCase()}`}
                    onClick={() =>
                      void app.setFootprint(
                        view.footprint?.label ?? 'Planned building',
                        placement.ring.map((corner) => toNative(view.frame, corner)),
                      )
                    }
                  >
                    Keep
                  </button>
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </ScrollRegion>
  );
}
