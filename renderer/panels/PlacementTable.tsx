import type { PlacementView } from '../../core/contract/planning.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { formatChance, radonUnitLabel } from '../format.ts';
import { isSamePose } from '../map/placement.ts';
import { usesFeet } from '../map/project-frame.ts';
import { standingPose } from '../state/app-state.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { moveText } from './move-text.ts';
import { Spread } from './UnderTable.tsx';

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

/** Placements with what the model says under each; a row brings its outline out on the map. */
export function PlacementTable({ name, placements, asDrawn, first, isChance, stale }: PlacementTableProps) {
  const app = useApp();
  const view = useView();
  const chosen = useAppState((state) => state.chosenPlacement);
  const unit = view.settings.radonUnit;
  const feet = usesFeet(view.frame);
  const standing = standingPose(view);
  const isRanked = placements.every((placement) => placement.why === null);

  const cells = (placement: PlacementView) => (
    <>
      {isChance ? (
        <td className="number value">{placement.judged === null ? '–' : formatChance(placement.judged)}</td>
      ) : null}
      <td className="number">
        <Spread value={placement.statistics.blockMeanKBqPerM3} unit={unit} />
      </td>
      <td className="number">
        <Spread value={placement.statistics.upperQuartileKBqPerM3} unit={unit} />
      </td>
      <td>{moveText(placement.pose, placement.distanceMovedM, feet)}</td>
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
              <th scope="row">as drawn</th>
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
                    disabled={stale || isSamePose(placement.pose, standing)}
                    aria-label={`Keep ${label.toLowerCase()}`}
                    onClick={() => void app.keepPlacement(null, placement.pose, true)}
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
