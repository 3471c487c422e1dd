import type { ClassSupportView, ComparedPlacement } from '../../core/contract/siting.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { capitalise, formatChance, formatLevel, radonUnitLabel } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { UNMOVED } from '../state/app-state.ts';
import { keptBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { useWords } from '../state/use-words.ts';
import { moveText } from './move-text.ts';
import { Spread } from './UnderTable.tsx';

const chance = (share: number | undefined) => (share === undefined ? '–' : formatChance(share));

/** How many of those that the scheme asks for lie there. */
function pointsText({ enough, inside, around, needed }: ClassSupportView): string {
  return enough || inside + around < needed ? `${inside + around} of ${needed}` : 'not as asked for';
}

/** The places kept for the building, one of them chosen, and what they differ by. */
export function KeptPlacements() {
  const words = useWords();
  const app = useApp();
  const view = useView();
  const kept = useAppState((state) => state.siting.kept);
  const { footprint, settings, frame } = view;
  if (!footprint || footprint.placements.length === 0) return null;
  const unit = settings.radonUnit;
  const feet = usesFeet(frame);
  const compared = kept?.basis === keptBasis(view) ? kept.result : null;
  const of = (id: string | null): ComparedPlacement | undefined =>
    compared?.placements.find((one) => one.id === id);
  const limit = compared?.placements[0]?.statistics.overLimits.at(-1)?.limitKBqPerM3;
  const isDrawnChosen = footprint.placements.every((one) => !one.chosen);
  const places = [
    { id: null, label: 'as drawn', pose: UNMOVED, distanceMovedM: 0, chosen: isDrawnChosen },
    ...footprint.placements,
  ];

  return (
    <section className="block" aria-labelledby="site-kept">
      <h3 id="site-kept">Kept placements</h3>
      <p>The chosen one is the footprint for figure, report and class.</p>
      <ScrollRegion label="Kept placements, scrollable">
        <table className="data placements" aria-label="Kept placements">
          <thead>
            <tr>
              <th scope="col">Chosen</th>
              <th scope="col">Moved</th>
              <th scope="col" className="number">
                Mean under it, {radonUnitLabel(unit)}
              </th>
              <th scope="col" className="number">
                Third quartile
              </th>
              {limit === undefined ? null : (
                <th scope="col" className="number">
                  Mean over {formatLevel(limit, unit)}
                </th>
              )}
              <th scope="col" className="number">
                Points for a class
              </th>
              <th scope="col">
                <span className="visually-hidden">Show or remove</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {places.map(({ id, label, pose, distanceMovedM, chosen }) => {
              const found = of(id);
              const name = id === null ? label : `placement ${label}`;
              return (
                <tr key={id ?? ''} className={chosen ? 'row-selected' : ''}>
                  <th scope="row">
                    <label className="check-line">
                      <input
                        type="radio"
                        name="chosen-placement"
                        checked={chosen}
                        aria-label={`Choose ${name}`}
                        onChange={() => void app.choosePlacement(id)}
                      />
                      {capitalise(label)}
                    </label>
                  </th>
                  <td>{moveText(pose, distanceMovedM, feet)}</td>
                  <td className="number">
                    {found ? <Spread value={found.statistics.blockMeanKBqPerM3} unit={unit} /> : '–'}
                  </td>
                  <td className="number">
                    {found ? <Spread value={found.statistics.upperQuartileKBqPerM3} unit={unit} /> : '–'}
                  </td>
                  {limit === undefined ? null : (
                    <td className="number">{chance(found?.statistics.overLimits.at(-1)?.blockMean)}</td>
                  )}
                  <td className="number">{found ? pointsText(found.support) : '–'}</td>
                  <td>
                    {id === null ? null : (
                      <span className="row-tools">
                        <button
                          type="button"
                          className="small"
                          aria-label={`Show ${name} on the map`}
                          onClick={() => app.store.update((state) => ({ ...state, placement: pose }))}
                        >
                          Show
                        </button>
                        <button
                          type="button"
                          className="small"
                          aria-label={`Remove ${name}`}
                          onClick={() => void app.removePlacement(id)}
                        >
                          Remove
                        </button>
                      </span>
                    )}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </ScrollRegion>
      {compared ? (
        <>
          <ul className="reasons" aria-label="What the kept placements differ by">
            {compared.differences.map((line) => (
              <li key={line}>{words(line)}</li>
            ))}
          </ul>
          <ul className="notice notice-warning" aria-label="Cautions on placements">
            {compared.cautions.map((line) => (
              <li key={line}>{words(line)}</li>
            ))}
          </ul>
        </>
      ) : (
        <p className="hint">They are compared once the ground is drawn.</p>
      )}
    </section>
  );
}
